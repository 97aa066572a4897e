"""Tags of rule sheets."""

from django import template

from inspection.drawings import pictures
from inspection.models import Characteristic

register = template.Library()


@register.simple_tag
def drawing_of(characteristic: Characteristic) -> pictures.Drawing | None:
    """The drawing of where a characteristic is measured, or None."""
    return pictures.drawing_of(characteristic.drawing)

"""How result rows are read in templates."""

from collections.abc import Sequence
from typing import Any

from django import template

register = template.Library()


@register.filter
def at(items: Sequence[Any], index: int) -> Any:
    """The item at a place, counted from 0."""
    return items[index]

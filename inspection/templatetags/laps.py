"""Template tags of predicted laps."""

from fractions import Fraction

from django import template
from django.template import Context

from inspection.units import format_decimal

register = template.Library()


@register.simple_tag(takes_context=True)
def decimal(context: Context, value: Fraction | float, places: int) -> str:
    """A number with so many decimals, in the club's decimal mark."""
    mark = getattr(context.get("club"), "decimal_mark", ".") or "."
    return format_decimal(Fraction(value), places=places, decimal_mark=mark)

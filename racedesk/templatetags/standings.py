"""How points are written."""

from decimal import Decimal

from django import template

from racedesk.scoring.points import format_points

register = template.Library()


@register.filter
def points(value: Decimal) -> str:
    """25, 8.5, 19.33: no trailing zeros."""
    return format_points(value)

"""Template filters of the tech line."""

from typing import Any

from django import template

register = template.Library()


@register.filter
def still_here(row: Any, station: str) -> int:
    """How many clauses of a card in the line are still to be found at a station."""
    return int(row.stations.get(station, 0))

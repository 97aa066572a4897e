"""Template tags of runs: times and lanes."""

from fractions import Fraction
from typing import Any

from django import template
from django.template import Context

from inspection.models import Run
from inspection.runs.selectors import LaneComparison, lane_in, seconds_words

register = template.Library()


@register.simple_tag(takes_context=True)
def seconds(context: Context, value: Fraction) -> str:
    """A time in s with three decimals, in the club's decimal mark, without its unit."""
    mark = getattr(context.get("club"), "decimal_mark", ".") or "."
    return seconds_words(value, decimal_mark=mark)


@register.inclusion_tag("inspection/runs/_lane.html")
def run_lane(run: Run) -> dict[str, Any]:
    """The lane of a run as its track has it; its number alone where the track is not known."""
    return {"lane": lane_in(run.track_layout, run.lane), "number": run.lane}


@register.inclusion_tag("inspection/runs/_lane.html")
def compared_lane(each: LaneComparison) -> dict[str, Any]:
    """The lane on which two are compared."""
    return {"lane": lane_in(each.layout, each.lane), "number": each.lane}

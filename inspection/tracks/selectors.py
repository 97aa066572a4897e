"""Reads tracks and layouts, and knows the lanes a new track usually has."""

import hashlib
import itertools
from collections.abc import Sequence

from django.db.models import Prefetch, QuerySet

from inspection.models import Club, Track, TrackLayout

# Lane names as most tracks have them, with a color that the name says. The first six are the usual ones, in order.
USUAL_COLORS = {
    "white": "#ffffff",
    "red": "#c8202f",
    "blue": "#1d55b5",
    "green": "#1b8346",
    "yellow": "#f2c500",
    "black": "#111111",
    "orange": "#e8730c",
    "purple": "#6b3fa0",
    "brown": "#6f4522",
    "gray": "#85878b",
    "grey": "#85878b",
    "pink": "#e58cb0",
}
USUAL_NAMES = ("White", "Red", "Blue", "Green", "Yellow", "Black", "Orange", "Purple")


def track_version(track: Track) -> str:
    """A short mark of what the form of a track shows; it differs once anybody has changed it."""
    return hashlib.sha256(f"{track.name}\x1f{track.is_active}".encode()).hexdigest()[:16]


def usual_colors(names: Sequence[str]) -> list[str]:
    """A color for each lane: what its name says, else the next that no other lane has."""
    said = [USUAL_COLORS.get(name.strip().casefold()) for name in names]
    free = itertools.cycle([color for color in USUAL_COLORS.values() if color not in said] or ["#85878b"])
    return [color or next(free) for color in said]


def usual_lane_order(numbers: Sequence[int]) -> list[int]:
    """Out along the odd lanes, back along the even ones: 1 3 5 6 4 2, so that nobody jumps across the track."""
    ascending = sorted(numbers)
    return ascending[::2] + ascending[1::2][::-1]


def layouts_newest_first() -> QuerySet[TrackLayout]:
    """Layouts with their lanes and posts. Three queries, however many."""
    return TrackLayout.objects.order_by("-number").prefetch_related("lanes", "posts")


def tracks_of(club: Club) -> QuerySet[Track]:
    """Tracks with their layouts, newest first, in use before retired. Four queries, however many."""
    layouts = Prefetch("layouts", queryset=layouts_newest_first())
    return Track.objects.of(club).order_by("-is_active", "name").prefetch_related(layouts)


def layouts_of(track: Track) -> list[TrackLayout]:
    """The track's layouts, newest first. Three queries."""
    return list(layouts_newest_first().filter(track=track))


def current_layout(track: Track) -> TrackLayout | None:
    """The newest layout, with lanes and posts. Three queries."""
    return layouts_newest_first().filter(track=track).first()

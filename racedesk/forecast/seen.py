"""What has been seen of nights at a club: the heats as they went. Times are in seconds."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SeenHeat:
    """A heat that is over.

    length_s: what its clock ran. calls_s: how long each stop of the clock took, track calls and any other.
    changeover_s: from its end to the start of the next heat; None after the last, or where a planned break was.
    """

    length_s: int
    calls_s: tuple[int, ...] = ()
    changeover_s: int | None = None


@dataclass(frozen=True, slots=True)
class SeenNight:
    """The heats of one night of one race, in order."""

    heats: tuple[SeenHeat, ...]


@dataclass(frozen=True, slots=True)
class Settings:
    """What a race says of itself: a wish, and all there is to go by where nothing has been seen."""

    heat_length_s: int
    changeover_s: int

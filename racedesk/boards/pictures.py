"""The bar of a heat's time, to scale: what has run, where the track calls were, what is left."""

from dataclasses import dataclass

from racedesk.timing.heat_clock import ClockState, elapsed_ms

WIDTH = 736
LABEL_ROOM = 118  # what the words of a call need on the bar
_STEPS_S = (5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600)
_MOST_TICKS = 7


@dataclass(frozen=True, slots=True)
class Mark:
    """A track call on the bar, at x from 0 to WIDTH.

    held: empty while it lasts. has_room: its words fit before the next call. is_covered: the time gone already
    lies behind all of them.
    """

    x: float
    at: str
    held: str
    ground: str
    has_room: bool
    is_covered: bool


@dataclass(frozen=True, slots=True)
class Tick:
    """A point of the scale. anchor: how its label stands to it."""

    x: float
    label: str
    anchor: str


@dataclass(frozen=True, slots=True)
class TimeBar:
    """Everything in units of the picture, WIDTH wide."""

    width: int
    gone: float
    marks: tuple[Mark, ...]
    ticks: tuple[Tick, ...]


def clock_words(milliseconds: int) -> str:
    """Time as a heat clock shows it, whole seconds: 1:42."""
    seconds = max(0, milliseconds) // 1000
    return f"{seconds // 60}:{seconds % 60:02d}"


def time_bar(state: ClockState, at_ms: int) -> TimeBar:
    """The bar at a moment of the server's clock."""
    length = state.settings.heat_length_ms
    scale = WIDTH / length
    starts = [call.heat_ms * scale for call in state.calls]
    ends = [*starts[1:], float(WIDTH)][: len(starts)]
    gone = elapsed_ms(state, at_ms) * scale
    marks = tuple(
        Mark(
            x=round(start, 1),
            at=clock_words(call.heat_ms),
            held="" if call.until_ms is None else clock_words(call.until_ms - call.at_ms),
            ground=call.ground,
            has_room=end - start > LABEL_ROOM,
            is_covered=gone - start > LABEL_ROOM,
        )
        for call, start, end in zip(state.calls, starts, ends, strict=True)
    )
    return TimeBar(WIDTH, round(gone, 1), marks, _ticks(length))


def _ticks(length_ms: int) -> tuple[Tick, ...]:
    length_s = length_ms / 1000
    step = next((step for step in _STEPS_S if length_s / step < _MOST_TICKS), _STEPS_S[-1])
    inner = [seconds for seconds in range(step, int(length_s), step) if length_s - seconds >= step / 2]
    ticks = [Tick(0, "0:00", "start")]
    ticks += [Tick(round(s * WIDTH / length_s, 1), clock_words(s * 1000), "middle") for s in inner]
    return (*ticks, Tick(WIDTH, clock_words(length_ms), "end"))

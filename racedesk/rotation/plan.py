"""What a draw is: which driver is in which lane in which heat."""

from dataclasses import dataclass
from enum import StrEnum


class Preset(StrEnum):
    """What a draw puts first."""

    USUAL = "usual"
    """The club's own lane order and queue, which a director can call aloud."""
    OPPONENTS = "opponents"
    """Everybody meets everybody as evenly as can be."""
    REST = "rest"
    """Nobody runs in two heats on end where that can be; then short waits."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One rotation. Drivers are numbered from 1, heats and lanes by their place in the tuples.

    heats: one tuple a heat with one entry a lane, the driver's number or None where the lane stays empty.
    seed, steps, lane_order, by_lot: what `draw` was given, so that the same plan can be made again.
    rounds: how many rotations follow each other. lanes_each: how many of the lanes everybody drives in a round,
    None for all of them. empty: the lanes that stay empty by choice.
    """

    drivers: int
    lanes: int
    preset: Preset
    seed: int
    steps: int
    lane_order: tuple[int, ...]
    by_lot: bool
    heats: tuple[tuple[int | None, ...], ...]
    rounds: int = 1
    lanes_each: int | None = None
    empty: tuple[int, ...] = ()

    @property
    def lanes_used(self) -> int:
        """How many lanes are driven on."""
        return self.lanes - len(self.empty)

    @property
    def is_whole(self) -> bool:
        """Is this one rotation in which everybody drives every lane?"""
        return self.rounds == 1 and self.lanes_each is None and not self.empty

    def drivers_in(self, heat: int) -> frozenset[int]:
        """Who drives in a heat (0 is the first)."""
        return frozenset(driver for driver in self.heats[heat] if driver is not None)

    def sitting_out(self, heat: int) -> tuple[int, ...]:
        """Who does not drive in a heat (0 is the first), by number."""
        driving = self.drivers_in(heat)
        return tuple(driver for driver in range(1, self.drivers + 1) if driver not in driving)

"""The shipped table of rotations: for 2 to 60 drivers on 2 to 10 lanes the most even one that our search found.

`data/designs.tsv` has one line a size with at least as many drivers as lanes, columns between tabs:

    drivers, lanes
    bound     the floor/ceil bound on the sum of squared meetings
    reached   the sum of squared meetings of this rotation
    status    optimal | unreachable | open (see `Status`)
    argument  why the bound is unreachable (see `proofs.Argument`), or -
    design    cyclic: the base block, one number a lane, with commas ("heat t, lane l: block[l] + t modulo v");
              else the heats in order, with a space between them: one character a lane, 0-9 a-z A-X for
              drivers 0 to 59
    waits     complete: no cyclic rotation at the bound has better waits, all were looked at; else found
    rest      the base block of the rest preset, as `blocks.best_block` finds it with its usual budget
    made      search: by `blocks` and `cyclic`; symmetric: by `symmetric`, order and seed; thinned: by `thinning`,
              seed and steps; else the recipe of `orbits.walk`

The file is read when a size is first asked for. `manage.py rotation_designs` makes it again.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from importlib import resources
from string import ascii_lowercase, ascii_uppercase, digits
from typing import Final

from racedesk.rotation.proofs import Argument

MOST_DRIVERS: Final = 60
MOST_LANES: Final = 10
_DIGITS: Final = digits + ascii_lowercase + ascii_uppercase


class Status(StrEnum):
    """What is known about how even a rotation of a size can be."""

    OPTIMAL = "optimal"
    """The bound is met: no draw can spread the meetings more evenly."""
    UNREACHABLE = "unreachable"
    """No draw meets the bound, by proof; this is the best one found."""
    OPEN = "open"
    """The best one found lies above the bound, and nobody here knows whether a better one exists."""


@dataclass(frozen=True, slots=True)
class Design:
    """One size of the table; the columns are told in the module. Drivers are numbered from 0.

    block: the base block of a cyclic rotation, by lane; empty where the rotation is not cyclic.
    heats: every heat by lane, whichever it is.
    """

    drivers: int
    lanes: int
    bound: int
    reached: int
    status: Status
    argument: Argument | None
    block: tuple[int, ...]
    heats: tuple[tuple[int, ...], ...]
    is_complete: bool
    rest: tuple[int, ...]
    made: str

    @property
    def excess(self) -> int:
        """How far the sum of squared meetings lies above the bound."""
        return self.reached - self.bound

    def written(self) -> str:
        """The line of the table, without its end."""
        if self.block:
            design = ",".join(map(str, self.block))
        else:
            design = " ".join("".join(_DIGITS[driver] for driver in heat) for heat in self.heats)
        cells = (
            self.drivers, self.lanes, self.bound, self.reached, self.status, self.argument or "-", design,
            "complete" if self.is_complete else "found", ",".join(map(str, self.rest)), self.made,
        )  # fmt: skip
        return "\t".join(map(str, cells))


def read_design(line: str) -> Design:
    """A line of the table. Raises ValueError where it is none."""
    drivers, lanes, bound, reached, status, argument, design, waits, rest, made = line.rstrip("\n").split("\t")
    if "," in design:
        block = tuple(int(number) for number in design.split(","))
        heats = tuple(tuple((number + heat) % int(drivers) for number in block) for heat in range(int(drivers)))
    else:
        block = ()
        heats = tuple(tuple(_DIGITS.index(digit) for digit in heat) for heat in design.split(" "))
    return Design(
        drivers=int(drivers),
        lanes=int(lanes),
        bound=int(bound),
        reached=int(reached),
        status=Status(status),
        argument=None if argument == "-" else Argument(argument),
        block=block,
        heats=heats,
        is_complete=waits == "complete",
        rest=tuple(int(number) for number in rest.split(",")),
        made=made,
    )


@cache
def _lines() -> dict[tuple[int, int], str]:
    text = resources.files("racedesk.rotation").joinpath("data/designs.tsv").read_text(encoding="ascii")
    lines = {}
    for line in text.splitlines():
        drivers, lanes, _ = line.split("\t", 2)
        lines[int(drivers), int(lanes)] = line
    return lines


def sizes() -> tuple[tuple[int, int], ...]:
    """The sizes (drivers, lanes) of the table, by lanes and then drivers."""
    return tuple(sorted(_lines(), key=lambda size: (size[1], size[0])))


@lru_cache(maxsize=512)
def find_design(*, drivers: int, lanes: int) -> Design | None:
    """The shipped rotation of a size, or None where the table has none."""
    line = _lines().get((drivers, lanes))
    return None if line is None else read_design(line)

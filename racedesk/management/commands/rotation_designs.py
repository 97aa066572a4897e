"""Make the shipped table of rotations again, or better: it may be stopped at any time and goes on where it was."""

from argparse import ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from racedesk.rotation.designs import MOST_DRIVERS, MOST_LANES, Design, Status, find_design, read_design
from racedesk.rotation.making import NODES, Search, better_of, make_design


def _size(text: str) -> tuple[int, int]:
    try:
        drivers, lanes = (int(part) for part in text.split(","))
    except ValueError as error:
        raise ArgumentTypeError("a size is drivers and lanes with a comma, such as 24,8") from error
    if not 2 <= lanes <= min(drivers, MOST_LANES) or drivers > MOST_DRIVERS:
        raise ArgumentTypeError(f"2 to {MOST_LANES} lanes, no more than drivers; at most {MOST_DRIVERS} drivers")
    return drivers, lanes


class Command(BaseCommand):
    help = (
        "Make the table of rotations again into a file: each size as it is done, so that it goes on after a stop. "
        "Some hours; with --seeds it also looks for better ones, for as long as you let it."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="where the table goes; sizes that stand there are kept")
        parser.add_argument("--size", type=_size, action="append", help="only this size, such as 24,8; may be repeated")
        parser.add_argument("--nodes", type=int, default=NODES, help="numbers tried in looking at all cyclic blocks")
        parser.add_argument("--seeds", type=int, default=0, help="walks tried for each symmetry beyond the known one")
        parser.add_argument("--first-seed", type=int, default=1, help="the first of them")
        parser.add_argument("--steps", type=int, default=1_000_000, help="steps of each walk")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        done = _read(path)
        wanted = options["size"] or [
            (drivers, lanes) for lanes in range(2, MOST_LANES + 1) for drivers in range(lanes, MOST_DRIVERS + 1)
        ]
        search = Search(
            nodes=options["nodes"], seeds=options["seeds"], first_seed=options["first_seed"], steps=options["steps"]
        )
        missing = [size for size in wanted if size not in done or (search.seeds and done[size].excess)]
        for number, (drivers, lanes) in enumerate(missing, start=1):
            shipped = find_design(drivers=drivers, lanes=lanes)
            made = make_design(drivers=drivers, lanes=lanes, known=shipped.made if shipped else "", search=search)
            best = better_of(done.get((drivers, lanes)), made)
            done[drivers, lanes] = best
            _write(path, done)
            self.stdout.write(
                f"{number} of {len(missing)}: {drivers} drivers, {lanes} lanes: {best.status}, "
                f"{best.excess} above {best.bound}"
            )
            self.stdout.flush()
        counts = {status: sum(design.status is status for design in done.values()) for status in Status}
        self.stdout.write(", ".join(f"{count} {status}" for status, count in counts.items()))


def _read(path: Path) -> dict[tuple[int, int], Design]:
    if not path.exists():
        return {}
    designs = [read_design(line) for line in path.read_text(encoding="ascii").splitlines()]
    return {(design.drivers, design.lanes): design for design in designs}


def _write(path: Path, designs: dict[tuple[int, int], Design]) -> None:
    """All of the table at once, so that a stop in between leaves the one before."""
    rows = sorted(designs.values(), key=lambda design: (design.lanes, design.drivers))
    beside = path.with_name(path.name + ".new")
    beside.write_text("".join(design.written() + "\n" for design in rows), encoding="ascii")
    beside.replace(path)

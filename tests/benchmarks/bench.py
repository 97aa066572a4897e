"""How long the bench takes: its engines, a whole build in full, and a planner over 200,000 combinations.

Run by hand: python tests/benchmarks/bench.py [--repeats 5]. No test reads a clock. Each is also a multiple of a
floor of the same run, the sums of a build's fractions, so that runs on different machines can be compared.
"""

import argparse
import sys
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from inspection.dynamics.lap import best_ratios
from inspection.dynamics.track import Curve, Straight, Turn, lane_of
from inspection.fit.check import check_fit
from inspection.fit.sizes import Size
from inspection.gearing.mesh import mesh_at
from inspection.gearing.spur import assume_gear
from inspection.planning.candidates import Sort
from tests.benchmarks import planner
from tests.inspection.dynamics import oval
from tests.inspection.fit.cars import car

HALF = Fraction(1, 2)
BUILD = car()


def mesh_every_pair() -> int:
    """30 pinions on 40 gears at one distance."""
    pinions = [assume_gear(teeth=teeth, module_mm=HALF).gear for teeth in range(8, 38)]
    driven = [assume_gear(teeth=teeth, module_mm=HALF).gear for teeth in range(20, 60)]
    for one in pinions:
        for other in driven:
            mesh_at(one, other, distance_mm=Fraction(12))
    return len(pinions) * len(driven)


def fit_whole_builds() -> int:
    """One build 200 times over, everything looked at and judged, without cures; nothing is remembered between."""
    for _ in range(200):
        for finding in check_fit(BUILD, cures=False).findings:
            _ = finding.verdict
    return 200


def cure_what_rubs() -> int:
    """A tire on the pinion, 20 times, with all cures tried out."""
    rubbing = replace(BUILD.drive, pinion=replace(BUILD.drive.pinion, length=Size(Fraction(7))))
    for _ in range(20):
        check_fit(replace(BUILD, drive=rubbing))
    return 20


def predict_many_laps() -> int:
    """100 ratios on 8 lanes of a track of 20 straights and curves."""
    sections = [
        section
        for number in range(5)
        for section in (
            Straight(1.0 + 0.3 * number),
            Curve(0.3 + 0.05 * number, 60, Turn.LEFT),
            Curve(0.5, 30, Turn.RIGHT),
            Straight(0.4),
        )
    ]
    lanes = [lane_of(sections, offset_m=0.05 * number - 0.175) for number in range(8)]
    ratios = [2.0 + 0.04 * number for number in range(100)]
    best_ratios(oval.car(), ratios, lanes)
    return len(lanes) * len(ratios)


def add_fractions() -> int:
    """The floor: 10,000 sums of two exact sizes."""
    total, size = Fraction(0), Fraction(127, 100)
    for number in range(10_000):
        total = size + Fraction(number, 50)
    assert total
    return 10_000


BENCHMARKS: dict[str, tuple[Callable[[], int], str]] = {
    "floor": (add_fractions, "sums of two fractions"),
    "mesh": (mesh_every_pair, "pairs of gears"),
    "fit": (fit_whole_builds, "builds"),
    "cures": (cure_what_rubs, "builds with cures"),
    "laps": (predict_many_laps, "laps"),
    "whole": (planner.evaluate_in_full, "builds in full, 40 clauses, nothing to cure"),
    "rollout": (lambda: planner.plan_by(Sort.ROLLOUT), "combinations, best 50"),
    "lap": (lambda: planner.plan_by(Sort.LAP_TIME), "combinations, best 50"),
    "price": (lambda: planner.plan_by(Sort.PRICE), "combinations, best 50"),
    "changes": (lambda: planner.plan_by(Sort.FEWEST_CHANGES), "combinations, best 50"),
    "nothing": (planner.plan_with_none_left, "combinations, none of them legal: every one looked at"),
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--repeats", type=int, default=5)
    repeats = parser.parse_args().repeats
    share = planner.share_that_is_good()
    sys.stdout.write(f"{planner.CANDIDATES.combinations} combinations, of which {share:.0%} fit, mesh and are legal\n")
    floor = 0.0
    for name, (run, what) in BENCHMARKS.items():
        best, count = float("inf"), 0
        for _ in range(repeats):
            begun = process_time()
            count = run()
            best = min(best, process_time() - begun)
        each = best / count * 1e6
        floor = floor or each
        sys.stdout.write(
            f"{name:10} {count:8} {what}: {best * 1000:9.1f} ms, {each:8.1f} us each, {each / floor:9.1f} floors\n"
        )


if __name__ == "__main__":
    main()

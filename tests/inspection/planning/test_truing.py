"""Gears that bring the rollout back on trued tires."""

from fractions import Fraction

import pytest

from inspection.gearing.ratio import PI
from inspection.planning.errors import PlanningError
from inspection.planning.truing import gears_that_restore, ratio_after
from tests.inspection.planning.test_chart import parts_of
from tests.inspection.planning.test_search import gear, pinion

PINIONS = parts_of(pinion(9), pinion(10), pinion(11))
GEARS = parts_of(gear(27, "14.5 mm"), gear(28, "15 mm"))


def test_the_ratio_falls_with_the_tire():
    assert ratio_after(Fraction(3), before=Fraction(20), after=Fraction(19)) == Fraction(57, 20)


def test_pairs_come_by_how_near_they_are_to_the_rollout():
    # trade arithmetic: 9/27, 10/27 and 11/27 on 20.0 mm roll 20.94, 23.27 and 25.60 mm
    wanted = PI * 20 * 9 / 27
    found = gears_that_restore(rollout=wanted, diameter=Fraction(20), pinions=PINIONS, driven_gears=GEARS)
    assert (found[0].ratio, found[0].off) == (3, 0)
    rolls = {one.ratio: round(float(one.rollout), 2) for one in found}
    assert [rolls[Fraction(27, teeth)] for teeth in (9, 10, 11)] == [20.94, 23.27, 25.6]
    trued = gears_that_restore(rollout=wanted, diameter=Fraction(18), pinions=PINIONS, driven_gears=GEARS)
    assert trued[0].ratio == Fraction(27, 10)
    assert trued[0].off == 0
    assert [abs(one.off) for one in trued] == sorted(abs(one.off) for one in trued)


def test_sizes_that_no_tire_has_are_refused():
    for call in (
        lambda: ratio_after(Fraction(3), before=Fraction(20), after=Fraction(0)),
        lambda: gears_that_restore(rollout=Fraction(20), diameter=Fraction(0), pinions=PINIONS, driven_gears=GEARS),
    ):
        with pytest.raises(PlanningError):
            call()

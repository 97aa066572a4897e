"""The chart of pinion, driven gear and tire agrees with a full evaluation of every cell."""

from fractions import Fraction

import pytest

from inspection.gearing.mesh import MeshVerdict
from inspection.planning.chart import STATES, CellState, chart_of
from inspection.planning.document import read_bench
from inspection.planning.errors import PlanningError
from tests.inspection.planning.benches import document
from tests.inspection.planning.rules import AT_MOST, clause, sheet
from tests.inspection.planning.test_search import GEARS, PINIONS, TIRES, pinion


def parts_of(*plain):
    return read_bench({"on_hand": list(plain)}).on_hand


def chart(**more):
    plain = document()
    plain["parts"]["pinion"]["sizes"]["length"] = "6 mm"
    cells = chart_of(
        read_bench(plain),
        pinions=parts_of(pinion(11), PINIONS[2]),
        driven_gears=parts_of(*GEARS[:3]),
        tires=parts_of(TIRES[1], TIRES[2]),
        **more,
    )
    return {(one.pinion.name, one.driven_gear.name, one.rear_tires.name): one for one in cells}


def test_every_cell_says_what_stands_in_its_way():
    cells = chart(sheet=sheet(clause(1, "driven-gear-teeth", AT_MOST, upper="36")))
    assert len(cells) == 12
    states = {one.state for one in cells.values()}
    assert states == set(CellState) - {CellState.UNKNOWN}
    for one in cells.values():
        assert one.ratio * one.rollout > 0
        assert (one.state is CellState.ILLEGAL) <= bool(one.clauses)
        assert (one.state is CellState.DOES_NOT_FIT) <= bool(one.unfit)
    assert cells["p11 7 mm", "g33 17.5 mm", "t19.6 mm 10 mm"].mesh is MeshVerdict.DOES_NOT_REACH


def test_ratio_and_rollout_are_exact():
    one = chart()["p11 7 mm", "g37 19.5 mm", "t19.6 mm 10 mm"]
    assert one.ratio == Fraction(37, 11)


def test_what_cannot_be_told_is_unknown():
    bare = parts_of({"name": "bare", "kind": "spur_gear", "sizes": {"teeth": "36"}})
    cells = chart_of(read_bench(document()), pinions=parts_of(PINIONS[0]), driven_gears=bare, tires=parts_of(TIRES[0]))
    assert cells[0].state in {CellState.UNKNOWN, CellState.DOES_NOT_MESH}
    assert set(STATES) == set(CellState)


def test_a_chart_has_an_end():
    with pytest.raises(PlanningError):
        chart_of(
            read_bench(document()),
            pinions=parts_of(*PINIONS) * 10,
            driven_gears=parts_of(*GEARS) * 10,
            tires=parts_of(TIRES[0]),
        )

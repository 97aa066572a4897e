"""A bench document worked out without rules."""

from fractions import Fraction

from inspection.benchbuilds.selectors import bench_of, center_distance_of, number, ratio_of, sizes_at
from inspection.fit.findings import FitCode, Place
from inspection.gearing.mesh import Basis, MeshVerdict
from inspection.units import Kind
from tests.bench_factories import CHASSIS, MOUNTING, PARTS, PLACED, SPACERS


def document(spur="SPUR-35-19.5", *, sizes=CHASSIS, runs_free=(), parts=None, without=(), **more):
    placed = PLACED | {"driven_gear": spur}
    told = {place: {"name": code, "kind": PARTS[code][0], "sizes": PARTS[code][2]} for place, code in placed.items()}
    kept = {place: part for place, part in (told | (parts or {})).items() if place not in without}
    return {
        "chassis": {"name": "frame", "sizes": sizes, "runs_free": list(runs_free), "corners": [], "zones": []},
        "parts": kept, "mounting": MOUNTING, "spacers": SPACERS, "ballast": [], "targets": {},
        "track": {"slot_depth_mm": "7 mm", "slot_width_mm": "3.1 mm"},
    } | more  # fmt: skip


def test_the_worked_case_comes_out_as_the_engine_works_it():
    bench = bench_of(document())

    assert bench.gears.mesh.verdict is MeshVerdict.RUNS
    assert bench.report.find(FitCode.UNDER_SPUR).value == Fraction("0.25")
    assert bench.report.find(FitCode.TIRE_TO_PINION, Place.REAR_RIGHT).value == Fraction("-0.6")
    assert bench_of(document("SPUR-33-17.5")).gears.mesh.verdict is MeshVerdict.DOES_NOT_REACH


def test_a_pair_seen_running_free_outranks_theory():
    pair = {"pinion": PARTS["PIN-11-6.5"][2], "driven_gear": PARTS["SPUR-33-17.5"][2]}

    seen = bench_of(document("SPUR-33-17.5", runs_free=[pair])).gears.mesh

    assert (seen.basis, seen.verdict) == (Basis.RECORD, MeshVerdict.RUNS)


def test_what_is_missing_makes_nothing_up():
    bare = bench_of(document(without=("rear_tires", "pinion")))

    assert bare.report is None
    assert bare.gears is None
    assert ratio_of(document(without=("pinion",))) is None
    sizes = {code: text for code, text in CHASSIS.items() if code != "across_shafts"}
    assert center_distance_of(document(sizes=sizes)) is None


def test_what_cannot_be_read_is_said_and_does_not_break_the_page():
    wrong = document(sizes=CHASSIS | {"end_bell": "long"})

    assert "end_bell" in bench_of(wrong).wrong
    assert center_distance_of(wrong) is None


def test_single_figures_come_out_exact():
    assert ratio_of(document()) == Fraction(35, 11)
    assert center_distance_of(document()).value == Fraction("12.05")
    assert number({"mass": "2.5 g"}, "mass", Kind.MASS) == Fraction("2.5")
    assert number({"wear": "many"}, "wear") is None
    assert sizes_at(document(), "body") == {}

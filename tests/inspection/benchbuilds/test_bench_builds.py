"""A bench document as the engines read it."""

from fractions import Fraction

from inspection.benchbuilds.selectors import bench_of, build_of, center_distance_of, found_of, ratio_of
from inspection.fit.findings import FitCode, Place
from inspection.fit.parts import Layout, Side
from inspection.gearing.mesh import Basis, MeshVerdict
from tests.bench_factories import CHASSIS, MOUNTING, PARTS, PLACED, SPACERS


def document(spur="SPUR-35-19.5", *, sizes=CHASSIS, runs_free=(), parts=None, **more):
    placed = PLACED | {"driven_gear": spur}
    told = {place: {"name": code, "kind": PARTS[code][0], "sizes": PARTS[code][2]} for place, code in placed.items()}
    return {
        "chassis": {"name": "frame", "sizes": sizes, "runs_free": runs_free, "corners": [], "zones": []},
        "parts": told | (parts or {}), "mounting": MOUNTING, "spacers": SPACERS, "ballast": [], "targets": {},
        "track": {"slot_depth": "7 mm", "slot_width": "3.1 mm"},
    } | more  # fmt: skip


def without(*codes):
    return {code: text for code, text in CHASSIS.items() if code not in codes}


def test_the_worked_case_comes_out_as_the_engine_works_it():
    bench = bench_of(document())

    assert bench.gears.mesh.verdict is MeshVerdict.RUNS
    assert bench.report.find(FitCode.UNDER_SPUR).value == Fraction("0.25")
    assert bench.report.find(FitCode.TIRE_TO_PINION, Place.REAR_RIGHT).value == Fraction("-0.6")
    assert bench_of(document("SPUR-33-17.5")).gears.mesh.verdict is MeshVerdict.DOES_NOT_REACH


def test_inches_and_millimeters_come_out_alike():
    metric, inches = (
        CHASSIS | {"axle_diameter": axle, "end_bell": end}
        for axle, end in (("2.38125 mm", "12.7 mm"), ("3/32 in", ".5 in"))
    )

    assert build_of(document(sizes=metric)) == build_of(document(sizes=inches))


def test_the_distance_is_typed_or_across_both_shafts_or_told_by_a_pair():
    pair = {"pinion": PARTS["PIN-11-6.5"][2], "driven_gear": PARTS["SPUR-37-19.5"][2]}
    typed = center_distance_of(document(sizes=CHASSIS | {"center_distance": "12.10 mm"}))
    by_pair = center_distance_of(document(sizes=without("across_shafts"), runs_free=[pair]))

    assert typed.value == Fraction("12.1")
    assert center_distance_of(document()).value == Fraction("12.05")
    assert 12 < by_pair.value < Fraction("12.2")
    assert center_distance_of(document(sizes=without("across_shafts"))) is None


def test_a_pair_seen_running_free_outranks_theory():
    pair = {"pinion": PARTS["PIN-11-6.5"][2], "driven_gear": PARTS["SPUR-33-17.5"][2]}

    seen = bench_of(document("SPUR-33-17.5", runs_free=[pair])).gears.mesh
    other = bench_of(document("SPUR-35-19.5", runs_free=[pair])).gears.mesh

    assert (seen.basis, seen.verdict) == (Basis.RECORD, MeshVerdict.RUNS)
    assert other.basis is Basis.THEORY


def test_what_is_missing_makes_nothing_up():
    assert build_of(document(sizes=without("rear_bushing_span"))) is None
    assert bench_of(document(parts={"rear_tires": None})).report is None
    bench = bench_of(document(parts={"driven_gear": None, "pinion": None}))
    assert bench.gears is None
    assert bench.report.missing


def test_gears_that_cannot_be_are_said_to_be_wrong():
    bench = bench_of(document(parts={"pinion": {"kind": "pinion", "sizes": {"teeth": "11"}},
                                     "driven_gear": {"kind": "spur_gear", "sizes": {"teeth": "33"}}}))  # fmt: skip

    assert bench.gears is None
    assert bench.gears_wrong


def test_side_layout_and_hub_are_as_told():
    build = build_of(document(sizes=CHASSIS | {"gear_side": "left", "layout": "anglewinder"}))

    assert (build.drive.side, build.drive.layout) == (Side.LEFT, Layout.ANGLEWINDER)
    assert build.rear.left.gear is not None
    assert build.rear.left.gear.hub_in is False
    assert build.rear.right.gear is None


def test_what_tech_would_find_is_told_with_its_doubt():
    told = document(declared={"windows-clear": "yes"})
    bench = bench_of(told)
    found = found_of(told, bench.build, bench.report)

    assert found["pinion-teeth"].readings[0].value == 11
    assert found["rear-tire-diameter"].readings[0].value == 20
    assert found["width-over-rear-tires"].readings[0].value == Fraction("60.3")
    assert found["width-over-rear-tires"].readings[0].variance > 0
    assert found["ground-clearance"].readings[0].value == Fraction("0.25")
    assert found["windows-clear"].answers == ("yes",)
    assert "ground-clearance" not in found_of(
        document(sizes=without("motor_below_axle")), *_known(without("motor_below_axle"))
    )


def _known(sizes):
    bench = bench_of(document(sizes=sizes))
    return bench.build, bench.report


def test_weight_needs_a_place_for_each_piece_and_else_is_a_sum():
    sizes = CHASSIS | {"mass": "20 g", "mass_ahead": "40 mm", "guide_ahead": "100 mm"}
    tires = {"kind": "tire", "sizes": {"diameter": "20 mm", "width": "10 mm", "mass": "3 g"}}
    ballast = [{"name": "nose", "mass": "4 g", "ahead": "100 mm"}]
    bench = bench_of(document(sizes=sizes, parts={"rear_tires": tires}, ballast=ballast))
    body = {"body": {"kind": "body", "sizes": {"mass": "15 g"}}}

    assert bench.weight.total.value == 30
    assert bench.weight.on_guide.value == 12  # 20 g at 40 of 100 mm, and 4 g on the guide
    assert bench_of(document(sizes=sizes, parts=body)).weight is None
    assert bench_of(document(sizes=sizes, parts=body)).total_mass == 35


def test_the_ratio_is_of_teeth_alone():
    assert ratio_of(document()) == Fraction(35, 11)
    assert ratio_of(document(parts={"pinion": None})) is None

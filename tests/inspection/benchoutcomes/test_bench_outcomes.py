"""What comes of a bench sheet: legality, what wear breaks first, what cannot be so, and what the sheet declares."""

import datetime as dt

import pytest

from inspection.benchoutcomes.selectors import (
    declared_by,
    document_of,
    judged,
    outcome_of,
    revision_for,
    state_in_short,
)
from inspection.chassis.selectors import shown_mm
from inspection.gauges.services import install_register
from inspection.models import Characteristic, Clause, Part
from inspection.planning.wear import wear_limits
from tests import bench_factories, factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def car(db):
    return factories.car(factories.club())


def sheet_of(car, *, most="61 mm", **changes):
    limited = bench_factories.class_with_width(car.club, most)
    return bench_factories.sheet(car, racing_class=limited, **changes)


def test_clauses_stand_with_what_is_left_and_what_must_be_looked_at(car):
    legality = outcome_of(sheet_of(car)).legality

    assert [(line.number, line.outcome, line.found) for line in legality.decided] == [
        ("1", "pass", "60.30 mm"), ("2", "pass", "20.00 mm"),
    ]  # fmt: skip
    assert "0.7" in legality.decided[0].margin
    assert [(line.number, line.missing) for line in legality.unknown] == [("3", "Windows clear")]
    assert legality.words == "All 2 clauses that can be decided now pass."


def test_the_clause_that_wear_breaks_first_is_named_with_the_diameter(car):
    limited = bench_factories.class_with_width(car.club, "61 mm")
    Clause.objects.create(
        revision=limited.rule_sheets.get().revisions.get(), position=9, number="9", text="Clearance, the gear counts.",
        characteristic=factories.characteristic(car.club, code="ground-clearance", name="Ground clearance"),
        measuring_point="lowest point, gear included", comparator="at_least", lower="0.1 mm", phases=["before"],
    )  # fmt: skip

    legality = outcome_of(bench_factories.sheet(car, racing_class=limited)).legality

    # 0.15 mm of clearance to go is 0.30 mm of diameter; the smallest tire of clause 2 is 19.70 mm, as it happens
    found = {line.number: line for line in legality.decided}
    assert found["9"].found == "0.25 mm"
    assert found["9"].gears == "the gear counts"
    assert "19.70 mm" in found["9"].wears
    assert "19.70 mm" in found["2"].wears
    assert "fails first: below 19.70 mm" in legality.first_to_go


def test_a_page_that_is_opened_tells_the_very_diameter_that_the_engine_finds(car):
    limited = bench_factories.class_with_width(car.club, "61 mm")
    rollout = factories.characteristic(
        car.club, code="rollout-x", name="Way for one turn", measuring_point="",
        derivation={"form": "rollout", "of": ["rear-tire-diameter", "pinion-teeth", "driven-gear-teeth"]},
    )  # fmt: skip
    for code in ("pinion-teeth", "driven-gear-teeth"):
        factories.characteristic(car.club, code=code, name=code, kind="count", unit="")
    Clause.objects.create(
        revision=limited.rule_sheets.get().revisions.get(), position=9, number="9", text="Rollout.",
        characteristic=rollout, comparator="at_least", lower="19.6 mm", phases=["before"],
    )  # fmt: skip
    sheet = bench_factories.sheet(car, racing_class=limited)
    told = judged(sheet, {})
    limits = {one.clause: one.diameter for one in wear_limits(told.found.bench, **told.asked) if one.clause}

    page, typing = outcome_of(sheet).legality, outcome_of(sheet, typing=True).legality

    # 19.6 mm of way at 35/11 is a tire of 19.851 mm; the slope of a size that is no tire is not known
    assert shown_mm(limits["9"]) in {line.number: line.wears for line in page.decided}["9"]
    assert "fails first: below 19.85 mm" in page.first_to_go
    assert {line.number: line.wears for line in typing.decided}["9"] == ""
    assert {line.number for line in page.decided if line.wears} == set(limits) == {"2", "9"}


def declared(car, **texts):
    """The next build of the car, which declares these, by the code of the characteristic."""
    build = factories.build(car)
    for code, text in texts.items():
        subject = Characteristic.objects.get(club=car.club, code=code.replace("_", "-"))
        build.declared.create(characteristic=subject, text=text)


def test_what_the_latest_build_declares_decides_what_the_sheet_does_not_tell(car):
    sheet = sheet_of(car)
    declared(car, windows_clear="no")
    assert clauses_of(sheet)["3"] == ("fail", "no (declared)")

    declared(car, windows_clear="yes")

    assert clauses_of(sheet)["3"] == ("pass", "yes (declared)")
    assert outcome_of(sheet).legality.unknown == ()
    assert clauses_of(bench_factories.sheet(factories.car(car.club, number=77), racing_class=sheet.racing_class))[
        "3"
    ] == ("not_checked", "")


def test_the_sizes_of_the_sheet_outrank_what_is_declared(car):
    sheet = sheet_of(car)
    declared(car, width_over_rear_tires="70 mm", rear_tire_diameter="12 mm")
    assert [clauses_of(sheet)[number] for number in "12"] == [("pass", "60.30 mm"), ("pass", "20.00 mm")]

    del sheet.parts["rear_tires"]["sizes"]["diameter"]

    assert clauses_of(sheet)["2"] == ("fail", "12.00 mm (declared)")


def test_a_declared_width_stands_unless_the_tires_alone_are_wider(car):
    limited = bench_factories.class_with_width(car.club, "61 mm")
    Clause.objects.create(
        revision=limited.rule_sheets.get().revisions.get(), position=9, number="9", text="Width overall.",
        characteristic=factories.characteristic(car.club, code="overall-width", name="Width overall"),
        measuring_point="at its widest", comparator="at_most", upper="64 mm", phases=["before"],
    )  # fmt: skip
    sheet = bench_factories.sheet(car, racing_class=limited)
    declared(car, overall_width="63 mm")
    assert clauses_of(sheet)["9"] == ("pass", "63.00 mm (declared)")

    declared(car, overall_width="60 mm")  # the tires alone are 60.30 mm wide

    assert clauses_of(sheet)["9"][0] == "not_checked"


def clauses_of(sheet):
    legality = outcome_of(sheet).legality
    return {line.number: (line.outcome, line.found) for line in (*legality.decided, *legality.unknown)}


def test_a_clause_that_fails_stands_first_and_in_the_state(car):
    outcome = outcome_of(sheet_of(car, most="60 mm"))

    assert outcome.legality.decided[0].outcome == "fail"
    assert outcome.legality.words == "Clause 1 fails."
    assert outcome.state.words == "Does not go: 2 things do not fit, 1 clause fails"


def test_a_cure_is_told_by_what_it_changes_of_legality(car):
    cures = {cure.code: cure for cure in outcome_of(sheet_of(car)).failing[0].cures}
    broken = {cure.code: cure for cure in outcome_of(sheet_of(car, most="60 mm")).failing[0].cures}

    assert cures["move_wheel_out"].legality == "Not legal: clause 1"
    assert cures["shorten_pinion"].legality == "Legal, as far as it is known"
    assert broken["shorten_pinion"].legality == "Legal itself; fails with it and without: clause 1"
    assert broken["shorten_pinion"].is_legal


def test_gears_are_told_in_words_with_ratio_and_rollout(car):
    outcome = outcome_of(bench_factories.sheet(car))

    assert dict(outcome.gears) == {"Ratio": "3.182", "Rollout": "19.75 mm (0.777 in)"}
    assert outcome.mesh.verdict == "Runs."
    assert "The module is taken to be that of the other gear." in outcome.assumed


def test_a_sheet_without_tires_says_what_to_choose_and_breaks_nothing(car):
    sheet = bench_factories.sheet(car)
    del sheet.parts["rear_tires"]

    outcome = outcome_of(sheet)

    assert any("Rear tires" in size for line in outcome.missing for size in line.sizes)
    assert outcome.pictures
    assert not outcome.failing


def test_what_cannot_be_so_is_said_by_its_field(car):
    sheet = bench_factories.sheet(car)
    sheet.parts["pinion"]["sizes"] = sheet.parts["pinion"]["sizes"] | {"teeth": "0"}

    outcome = outcome_of(sheet)

    assert outcome.state.words == "Cannot be worked out"
    assert outcome.state.more.startswith("Pinion: Teeth")
    assert state_in_short(sheet, {}).kind == "bad"


def test_the_rules_that_hold_today_are_those_of_the_class(car):
    sheet = sheet_of(car)
    today = dt.date(2026, 11, 25)

    assert revision_for(sheet, today).rule_sheet.racing_class == sheet.racing_class
    assert revision_for(sheet, today.replace(year=2020)) is None
    assert revision_for(bench_factories.sheet(car), today) is None


def test_the_track_of_the_sheet_goes_with_it(car):
    layout = factories.track_layout(car.club, slot_depth_mm="7", slot_width_mm="3.1")

    track = document_of(bench_factories.sheet(car, track_layout=layout))["track"]

    assert track["slot_depth_mm"] == "7 mm"
    assert track["name"] == layout.track.name


def test_a_sheet_declares_what_its_sizes_tell_by_the_codes_of_the_register(car):
    install_register(club=car.club, by=None)

    told = declared_by(bench_factories.sheet(car))

    assert told["words"]["drive_layout"] == "sidewinder"
    assert told["declared"]["pinion-teeth"] == "11"
    assert told["declared"]["rear-tire-diameter"] == "20 mm"
    assert told["declared"]["width-over-rear-tires"] == "60.3 mm"


def test_queries_do_not_grow_with_the_sheet(car, django_assert_max_num_queries):
    sheet = sheet_of(car)

    with django_assert_max_num_queries(6):
        outcome_of(sheet)


def weighed(car, **changes):
    """A sheet of which every mass and place is told: 20 g of chassis at 40 of 100 mm, the rest on the rear axle."""
    frame = bench_factories.chassis(
        car.club,
        sizes=bench_factories.CHASSIS | {"mass": "20 g", "mass_ahead": "40 mm", "guide_ahead": "100 mm"},
        zones=[{"name": "nose", "begin": "80 mm", "end": "90 mm", "most": "6 g"}],
    )
    sheet = bench_factories.sheet(car, chassis=frame, **changes)
    for place, mass in (("pinion", "1 g"), ("driven_gear", "1 g"), ("rear_tires", "4 g"), ("rear_wheels", "3 g"),
                        ("rear_axle", "2 g"), ("guide", "1 g")):  # fmt: skip
        sheet.parts[place]["sizes"] = sheet.parts[place]["sizes"] | {"mass": mass}
    sheet.parts["motor"] = {"name": "m", "kind": "motor", "sizes": {"mass": "18 g"}}
    sheet.parts["body"] = {"name": "b", "kind": "body", "sizes": {"mass": "15 g"}, "ahead": "50 mm"}
    return sheet


def test_ballast_is_told_with_its_place_for_the_weight_that_is_wanted(car):
    facts = dict(outcome_of(weighed(car, targets={"total_mass": "70 g", "guide_share": "33 %"})).weight)

    assert facts["Total"] == "65.00 g"
    # 33 % of 70 g on a guide 100 mm ahead is 2310 g mm, of which the car has 1878.95: 431.05 over 5 g is 86.21 mm
    assert facts["Ballast to add"] == "5.00 g 86.21 mm ahead of the rear axle (nose)"


def test_without_a_wish_nothing_is_added_and_too_little_room_is_said(car):
    nothing = dict(outcome_of(weighed(car)).weight)

    assert nothing["Ballast to add"] == "none is needed"


def test_ballast_that_no_place_takes_is_said_to_have_no_room(car):
    facts = dict(outcome_of(weighed(car, targets={"total_mass": "90 g"})).weight)

    assert facts["Ballast to add"].startswith("The zones do not take so much ballast.")


SHORT = {"teeth": "11", "outside_diameter": "6.5 mm", "module": "0.5 mm", "length": "6 mm", "bore": "2 mm"}


def on_hand(club, code, kind, name, stock=1, **sizes):
    return Part.objects.create(club=club, code=code, kind=kind, name=name, sizes=sizes, stock=stock)


def cures_of(outcome):
    return {(line.code, cure.code): cure for line in outcome.failing for cure in line.cures}


def test_a_cure_lists_the_parts_on_hand_that_do_it_and_nothing_that_does_not(car):
    sheet = sheet_of(car)
    short = on_hand(car.club, "SHORT", "pinion", "Short pinion", **SHORT)
    on_hand(car.club, "LONG", "pinion", "As long a pinion", **(SHORT | {"length": "7 mm"}))
    on_hand(car.club, "GONE", "pinion", "Sold out", stock=0, **SHORT)
    on_hand(car.club, "OTHER", "pinion", "Wrong pitch", **(SHORT | {"module": "0.8 mm", "outside_diameter": "10 mm"}))
    tall = on_hand(car.club, "TALL", "tire", "Tire 21 x 10", diameter="21 mm", width="10 mm")
    on_hand(car.club, "WIDE", "tire", "Tire 21 x 14", diameter="21 mm", width="14 mm")

    cures = cures_of(outcome_of(sheet))

    assert [(part.name, part.key) for part in cures["tire_to_pinion", "shorten_pinion"].parts] == [
        ("Short pinion", f"part:pinion:{short.public_id}")
    ]
    assert [part.key for part in cures["under_spur", "larger_tire"].parts] == [f"part:rear_tires:{tall.public_id}"]
    assert cures["under_spur", "smaller_gear"].parts == ()
    assert cures["under_spur", "smaller_gear"].needs_part
    assert not cures["tire_to_pinion", "shorten_pinion"].needs_part


def test_a_part_that_breaks_a_clause_is_not_offered(car):
    limited = bench_factories.class_with_width(car.club, "61 mm")
    Clause.objects.create(
        revision=limited.rule_sheets.get().revisions.get(), position=9, number="9", text="Rear tire at most.",
        characteristic=Characteristic.objects.get(code="rear-tire-diameter"), measuring_point="over the tread",
        comparator="at_most", upper="20.5 mm", phases=["before"],
    )  # fmt: skip
    free = bench_factories.sheet(car)
    bound = bench_factories.sheet(car, racing_class=limited)
    on_hand(car.club, "TALL", "tire", "Tire 21 x 10", diameter="21 mm", width="10 mm")

    assert cures_of(outcome_of(free))["under_spur", "larger_tire"].parts
    assert cures_of(outcome_of(bound))["under_spur", "larger_tire"].parts == ()


def test_gears_that_do_not_reach_are_told_those_on_hand_that_run(car):
    sheet = bench_factories.sheet(car, spur="SPUR-33-17.5")
    assert outcome_of(sheet).other_gears == ()

    Part.objects.filter(kind="spur_gear").update(stock=1)

    assert [(part.name, part.words) for part in outcome_of(sheet).other_gears] == [
        (
            "Spur 35, 19.5 mm",
            "the ratio is then 3.182, to be settled then: Clearance under the gear, with worn tires",
        ),
        (
            "Spur 37, 19.5 mm",
            "the ratio is then 3.364, to be settled then: Clearance under the gear, with worn tires",
        ),
    ]
    assert outcome_of(bench_factories.sheet(car)).other_gears is None

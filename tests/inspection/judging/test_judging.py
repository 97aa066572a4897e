"""One reading serves every clause that needs it; clauses of every kind are decided from what was found, once."""

import pytest

from inspection.inspections import services
from inspection.judging.errors import ClauseAsksNothing
from inspection.models import Characteristic, DeclaredValue, Finding, Reading, Role
from inspection.techcards.selectors import blank_card, card
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db

YES_NO = {"kind": "yes_no", "unit": "", "plausible_low": "", "plausible_high": ""}
CHOICE = YES_NO | {"kind": "choice"}


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


@pytest.fixture
def make(club):
    """Make a characteristic by its code."""

    def make(code, **fields):
        return factories.characteristic(club, code=code, **({"name": code.replace("-", " ").capitalize()} | fields))

    return make


@pytest.fixture
def opened(club, inspector):
    """A card for these clauses, each with its characteristic ("" for none)."""

    def open_card(*specs, declared=(), **fields):
        occasion = worlds.occasion(club, **fields)
        for place, spec in enumerate(specs, start=1):
            worlds.clause(occasion.revision, place, **({"characteristic": None} | spec))
        car = factories.car(club)
        if declared:
            build = factories.build(car)
            for one, text in declared:
                DeclaredValue.objects.create(build=build, characteristic=one, text=text)
        return services.open_inspection(occasion=occasion, car=car, by=inspector)

    return open_card


def clause(inspection, number):
    return inspection.occasion.revision.clauses.get(number=str(number))


def say(inspection, number, text, by, **more):
    return services.record_measurement(
        inspection=inspection, clause=clause(inspection, number), text=text, by=by, **more
    )


def stands(inspection):
    return {line.clause.number: line.state for line in card(inspection).clauses}


def test_one_reading_decides_every_clause_that_needs_it(opened, make, inspector):
    clearance = make("clearance", group="plate")
    limits = [{"comparator": "at_least", "lower": lower, "characteristic": clearance} for lower in ("1 mm", "2 mm")]
    inspection = opened(*limits)
    say(inspection, 1, "1.5", inspector, confirmed=True)
    assert stands(inspection) == {"1": "pass", "2": "fail"}
    assert Reading.objects.count() == 1
    assert card(inspection).next_to_find is None
    found = Finding.objects.get(clause__number="2")
    assert (found.reading, found.inputs[0]["readings"], found.inputs[0]["source"]) == ("1.5 mm", ["1.5"], "found")


def test_a_correction_decides_all_of_them_anew_and_keeps_what_stood(opened, make, inspector):
    width = make("width")
    inspection = opened(
        *[{"comparator": "at_most", "upper": upper, "characteristic": width} for upper in ("64 mm", "66 mm")]
    )
    say(inspection, 1, "65", inspector)
    say(inspection, 2, "63", inspector)
    assert stands(inspection) == {"1": "pass", "2": "pass"}
    assert [line.struck[0].outcome for line in card(inspection).clauses] == ["fail", "pass"]
    assert Reading.objects.filter(superseded_at__isnull=True).count() == 1


def test_several_readings_are_asked_for_one_by_one_and_the_worst_counts(opened, make, inspector):
    tire = make("tire", plausible_low="5 mm", plausible_high="40 mm")
    inspection = opened({"comparator": "at_least", "lower": "19 mm", "characteristic": tire, "readings_wanted": 3})
    for number, text in enumerate(("19.4", "19.2"), start=1):
        assert card(inspection).clauses[0].asked.number == number
        assert say(inspection, 1, text, inspector).finding is None
    assert stands(inspection) == {"1": "not_checked"}
    assert card(inspection).clauses[0].asked.number == 3
    assert say(inspection, 1, "19.9", inspector).finding.reading == "19.2 mm"
    assert card(inspection).clauses[0].notes == ["The worst of the readings counts."]


def test_the_mean_counts_where_the_clause_says_so(opened, make, inspector):
    tire = make("tire", plausible_low="5 mm", plausible_high="40 mm")
    rule = {"comparator": "at_least", "lower": "19 mm", "characteristic": tire, "readings_wanted": 2, "counts": "mean"}
    inspection = opened(rule)
    say(inspection, 1, "18.9", inspector)
    found = say(inspection, 1, "19.2", inspector).finding
    assert (found.outcome, found.reading) == ("pass", "19.05 mm")


def test_a_comparison_asks_for_both_sides_once_and_says_what_the_limit_comes_to(opened, make, inspector):
    front, rear = make("front-width"), make("rear-width")
    rule = {"comparator": "at_most", "characteristic": front, "other": rear, "offset": "2 mm"}
    inspection = opened(rule, {"comparator": "at_most", "upper": "64 mm", "characteristic": rear})
    say(inspection, 1, "63.5", inspector)
    assert card(inspection).clauses[0].asked.input.characteristic == rear
    say(inspection, 2, "62", inspector)
    assert stands(inspection) == {"1": "pass", "2": "pass"}
    assert card(inspection).clauses[0].here == "here at most 64.00 mm"
    say(inspection, 2, "61", inspector)
    assert stands(inspection) == {"1": "fail", "2": "pass"}


def test_a_ratio_is_worked_out_from_the_teeth_that_were_counted(opened, make, inspector):
    counted = {"kind": "count", "unit": "", "plausible_low": "5", "plausible_high": "60"}
    make("spur", **counted)
    make("pinion", **counted)
    ratio = make(
        "ratio", kind="ratio", unit="", plausible_low="", plausible_high="",
        derivation={"form": "ratio", "of": ["spur", "pinion"]},
    )  # fmt: skip
    inspection = opened({"comparator": "at_least", "lower": "3", "characteristic": ratio})
    assert [one.input.characteristic.code for one in card(inspection).clauses[0].inputs] == ["spur", "pinion"]
    say(inspection, 1, "25", inspector)
    found = say(inspection, 1, "7", inspector).finding
    assert (found.outcome, found.answer[:4]) == ("pass", "3.57")
    assert [each["code"] for each in found.inputs] == ["spur", "pinion"]


def test_either_or_is_settled_by_the_half_that_holds(opened, make, inspector):
    make("motor", **CHOICE)
    make("speed", kind="rotation_speed", unit="rpm", plausible_low="", plausible_high="")
    parts = [
        {"characteristic": "motor", "comparator": "one_of", "choices": ["Long can"]},
        {"characteristic": "speed", "comparator": "at_most", "upper": "20000 rpm"},
    ]
    inspection = opened({"comparator": "any_of", "parts": parts})
    say(inspection, 1, "Short can", inspector)
    assert stands(inspection) == {"1": "not_checked"}
    say(inspection, 1, "19500", inspector)
    assert stands(inspection) == {"1": "pass"}


def test_a_condition_that_is_not_known_names_what_is_asked_and_then_decides(opened, make, inspector):
    make("open-cockpit", **YES_NO)
    shelf = make("shelf", **YES_NO)
    when = {"about": "characteristic", "name": "open-cockpit", "is": "yes"}
    inspection = opened({"comparator": "yes_no", "characteristic": shelf, "applies_when": when})
    assert card(inspection).clauses[0].lacks == ("say what holds of: Open cockpit",)
    one = Characteristic.objects.get(code="open-cockpit")
    say(inspection, 1, "no", inspector, characteristic=one)
    assert stands(inspection) == {"1": "not_applicable"}
    assert card(inspection).to_go == 0
    say(inspection, 1, "yes", inspector, characteristic=one)
    assert stands(inspection) == {"1": "not_checked"}
    say(inspection, 1, "yes", inspector)
    assert stands(inspection) == {"1": "pass"}


def test_what_the_night_says_decides_before_anybody_measures(opened, make):
    width = make("width")
    rule = {"comparator": "at_most", "upper": "64 mm", "characteristic": width}
    when = {"about": "flag", "name": "new tires", "is": "yes"}
    inspection = opened(rule | {"applies_when": when}, flags=[])
    assert stands(inspection) == {"1": "not_applicable"}
    assert stands(opened(rule | {"applies_when": when}, flags=["new tires"])) == {"1": "not_checked"}


def test_a_declared_body_picks_its_own_limit_and_is_not_measured_by_it(opened, make, inspector):
    body, width = make("body", **CHOICE), make("axle-width")
    rows = [
        {"when": {"about": "characteristic", "name": "body", "is": "one_of", "values": ["Coupe"]}, "upper": "60 mm"}
    ]
    rule = {"comparator": "at_most", "upper": "64 mm", "characteristic": width, "limit_rows": rows}
    inspection = opened(rule, declared=[(body, "Coupe"), (width, "59 mm")])
    assert say(inspection, 1, "61", inspector).finding.outcome == "fail"
    line = card(inspection).clauses[0]
    assert (line.declared, line.declared_differs, line.here) == ("59 mm", True, "here at most 60.00 mm")


def test_changes_found_are_named_or_there_are_none(opened, make, inspector):
    changes = make("changes", kind="text", unit="", plausible_low="", plausible_high="")
    rule = {"comparator": "as_supplied", "characteristic": changes, "choices": ["braid", "tires"]}
    for text, outcome in (("none", "pass"), ("tires; braid", "pass"), ("braid; magnet", "fail")):
        assert say(opened(rule), 1, text, inspector).finding.outcome == outcome


def test_a_resistance_is_referred_to_20_degrees_when_its_temperature_is_given(opened, make, inspector):
    coil = make("coil", kind="resistance", unit="Ω", plausible_low="", plausible_high="")
    inspection = opened({"comparator": "at_least", "lower": "1.00 Ω", "characteristic": coil})
    assert say(inspection, 1, "1.02", inspector).finding.outcome == "pass"
    # 1.02 / (1 + 0.00393 * 10) = 0.9814...
    assert say(inspection, 1, "1.02", inspector, temperature="30").finding.outcome == "fail"


def test_a_gauge_or_a_judge_decides_one_clause_and_no_other(club, opened, make, inspector):
    block = worlds.caliper(club, kind="go_no_go", unit="", resolution="", max_permissible_error="")
    height = make("height", group="plate")
    rule = {"comparator": "at_least", "lower": "1 mm", "characteristic": height}
    inspection = opened(rule | {"gauge": block}, rule | {"lower": "2 mm"})
    say(inspection, 1, "go", inspector)
    assert stands(inspection) == {"1": "pass", "2": "not_checked"}
    services.record_ruling(
        inspection=inspection, clause=clause(inspection, 2), passes=True, reason="It clears the plate.", by=inspector
    )
    assert stands(inspection) == {"1": "pass", "2": "pass"}
    assert not Reading.objects.exists()


def test_a_reading_that_is_struck_with_a_fail_is_taken_again_for_all_that_rest_on_it(opened, make, inspector):
    width = make("width")
    rules = [{"comparator": "at_most", "upper": upper, "characteristic": width} for upper in ("64 mm", "66 mm")]
    inspection = opened(*rules)
    say(inspection, 1, "65", inspector)
    services.inspect_again(inspection=inspection, by=inspector)
    assert stands(inspection) == {"1": "not_checked", "2": "not_checked"}
    say(inspection, 1, "63", inspector)
    assert stands(inspection) == {"1": "pass", "2": "pass"}


def test_the_same_sending_counts_once_though_it_decides_nothing_yet(opened, make, inspector):
    tire = make("tire", plausible_low="5 mm", plausible_high="40 mm")
    inspection = opened({"comparator": "at_least", "lower": "19 mm", "characteristic": tire, "readings_wanted": 2})
    for _ in range(2):
        say(inspection, 1, "19.4", inspector, client_key="one")
    assert Reading.objects.count() == 1


def test_a_clause_is_not_answered_with_what_it_does_not_ask(opened, make, inspector):
    inspection = opened({"comparator": "at_most", "upper": "64 mm", "characteristic": make("width")})
    with pytest.raises(ClauseAsksNothing):
        say(inspection, 1, "10", inspector, characteristic=make("weight", kind="mass", unit="g"))


def test_a_blank_card_asks_for_every_input(opened, make):
    rule = {"comparator": "at_most", "characteristic": make("front-width"), "other": make("rear-width")}
    shown = blank_card(opened(rule).occasion)
    assert [one.input.characteristic.code for one in shown.clauses[0].inputs] == ["front-width", "rear-width"]


def test_too_close_says_which_gauge_would_settle_it(club, opened, make, inspector):
    coarse = worlds.caliper(club, name="Caliper")
    worlds.caliper(club, name="Micrometer", resolution="0.001 mm", max_permissible_error="0.002 mm")
    tire = make("tire", plausible_low="5 mm", plausible_high="40 mm", default_gauge=coarse)
    inspection = opened({"comparator": "at_least", "lower": "19 mm", "characteristic": tire})
    say(inspection, 1, "19.02", inspector)
    assert "Micrometer would settle it." in card(inspection).clauses[0].advice
    say(inspection, 1, "19.00", inspector)
    assert "the judge rules on the spot" in card(inspection).clauses[0].advice


def test_a_declared_count_and_a_declared_motor_are_confirmed_by_one_tap(client, opened, make, inspector):
    motor = make("motor", **CHOICE)
    teeth = make("teeth", kind="count", unit="", plausible_low="5", plausible_high="20")
    rules = [
        {"comparator": "one_of", "characteristic": motor, "choices": ["Long can"]},
        {"comparator": "equal_within", "characteristic": teeth, "nominal": "12"},
    ]
    inspection = opened(*rules, declared=[(motor, "Long can"), (teeth, "12")])
    client.force_login(inspector)
    page = client.get(f"/{inspection.occasion.club.slug}/cards/{inspection.public_id}/").content.decode()
    assert page.count("As declared") == 2
    say(inspection, 2, "12", inspector)
    assert card(inspection).clauses[1].declared_differs is False


def test_a_card_asks_no_more_queries_for_more_clauses_of_every_kind(
    opened, make, inspector, django_assert_max_num_queries
):
    make("open-cockpit", **YES_NO)
    front, rear = make("front-width"), make("rear-width")
    when = {"about": "characteristic", "name": "open-cockpit", "is": "yes"}
    kinds = [
        {"comparator": "at_most", "characteristic": front, "other": rear, "offset": "2 mm"},
        {"comparator": "at_most", "upper": "64 mm", "characteristic": front, "readings_wanted": 2},
        {"comparator": "at_most", "upper": "64 mm", "characteristic": rear, "applies_when": when},
        {"comparator": "any_of", "parts": [{"characteristic": "open-cockpit", "comparator": "yes_no"}]},
    ]
    inspection = opened(*kinds * 15)
    say(inspection, 1, "61", inspector)
    with django_assert_max_num_queries(13):  # ten for six plain clauses, and three more at the most
        shown = card(inspection)
        assert [(line.state, line.inputs, line.picture, line.why, line.advice) for line in shown.clauses]
    assert len(shown.clauses) == 60

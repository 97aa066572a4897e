"""A whole sheet against one car: every kind of rule, both ways, and what is missing named."""

import datetime as dt
from fractions import Fraction
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS
from inspection.conformity.clauses import ListEntry, ToleranceStyle
from inspection.conformity.conditions import Lacking
from inspection.conformity.facts import Facts
from inspection.conformity.observations import Observation, Reading, make_reading, measured, named, said
from inspection.conformity.parse import NamedList, parse_clause
from inspection.conformity.results import ClauseResult, Note
from inspection.conformity.sheet import CLOSING_CODE, Sheet, judge_one, judge_sheet
from inspection.conformity.subjects import CharacteristicKind, Derivation, DerivationForm, Subject
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import Outcome, Ruling
from inspection.units import Kind, as_unit, parse_quantity

K = CharacteristicKind
PASS, FAIL, OPEN = Outcome.PASS, Outcome.FAIL, Outcome.NOT_CHECKED
CALIPER = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction("0.01"), max_permissible_error=Fraction("0.02"))


def subject(code: str, kind: CharacteristicKind, derivation: Derivation | None = None) -> Subject:
    unit = {K.LENGTH: "mm", K.MASS: "g", K.ROTATION_SPEED: "rpm", K.RESISTANCE: "Ω"}.get(kind)
    return Subject(
        code=code, name=code.replace("-", " "), kind=kind, measuring_point="as drawn", derivation=derivation,
        unit=as_unit(unit, kind.quantity_kind) if unit else None,
    )  # fmt: skip


REGISTER = {
    one.code: one
    for one in [
        subject("width", K.LENGTH), subject("rear-width", K.LENGTH), subject("height", K.LENGTH),
        subject("roof", K.LENGTH), subject("diameter", K.LENGTH), subject("clearance", K.LENGTH),
        subject("weight", K.MASS), subject("speed", K.ROTATION_SPEED), subject("arm", K.RESISTANCE),
        subject("pinion", K.COUNT), subject("gear", K.COUNT), subject("wheels", K.COUNT),
        subject("motor", K.CHOICE), subject("body", K.CHOICE), subject("material", K.CHOICE),
        subject("changes", K.TEXT), subject("open-cockpit", K.YES_NO), subject("windows", K.YES_NO),
        subject("label", K.YES_NO), subject(CLOSING_CODE, K.YES_NO),
        subject("teeth-in-all", K.COUNT, Derivation(DerivationForm.SUM, ("gear", "pinion"))),
        subject("ratio", K.RATIO, Derivation(DerivationForm.RATIO, ("gear", "pinion"))),
        subject("rollout", K.LENGTH, Derivation(DerivationForm.ROLLOUT, ("diameter", "pinion", "gear"))),
        subject("spacing", K.LENGTH, Derivation(DerivationForm.TRACK, (), "lane_spacing_mm")),
        subject("room-left", K.LENGTH, Derivation(DerivationForm.DIFFERENCE, ("spacing", "width"))),
    ]
}  # fmt: skip
LISTS = {
    "motors": NamedList(
        entries=(
            ListEntry(value="Long can"),
            ListEntry(value="Sealed", allowed_from=dt.date(2026, 3, 1)),
            ListEntry(value="Old", allowed_until=dt.date(2026, 2, 28)),
        )
    ),
    "widths": NamedList(
        keyed_by="body",
        entries=(ListEntry(value="63 mm", key="Coupe"), ListEntry(value="2.5 in", key="Spyder")),
    ),
    "colors by body": NamedList(
        keyed_by="body", entries=(ListEntry(value="Red", key="Coupe"), ListEntry(value="White"))
    ),
}


def at(text: str, code: str, gauge: GaugeSpec | None = None, **more: Any) -> Reading:
    kind = REGISTER[code].kind.quantity_kind
    return make_reading(
        parse_quantity(text, kind, default_unit=REGISTER[code].unit, allow_negative=True), gauge, **more
    )


def car(**found: Any) -> dict[str, Observation]:
    """Text is a reading where the register has a quantity, else an answer; a list is several; a bool says yes or no."""
    observed = {}
    for name, value in found.items():
        code = name.replace("_", "-")
        if isinstance(value, bool):
            observed[code] = said(value)
            continue
        values = value if isinstance(value, list) else [value]
        is_quantity = REGISTER[code].kind.quantity_kind is not None
        observed[code] = measured(*(at(one, code) for one in values)) if is_quantity else named(*values)
    return observed


def sheet(*rules: dict[str, Any], **more: Any) -> Sheet:
    clauses = [
        parse_clause({"number": str(place), "text": "As said.", **rule}, REGISTER, lists=LISTS)
        for place, rule in enumerate(rules, start=1)
    ]
    return Sheet(clauses=tuple(clauses), register=REGISTER, **more)


def judged(
    rule: dict[str, Any], found: dict[str, Observation], facts: Facts | None = None, **more: Any
) -> ClauseResult:
    (result,) = judge_sheet(sheet(rule, **more), found, facts)
    return result


def lacks(result: ClauseResult) -> list[tuple[str, str]]:
    return [(missing.lacking.value, missing.name) for missing in result.missing]


AT_MOST_63 = {"characteristic": "width", "comparator": "at_most", "upper": "63 mm"}
LISTED_MOTOR = {"characteristic": "motor", "comparator": "one_of", "choice_list": "motors"}
OPEN_COCKPIT = {"about": "characteristic", "name": "open-cockpit", "is": "yes"}
MARCH = Facts(date=dt.date(2026, 3, 15))


@pytest.mark.parametrize(
    ("rule", "passing", "failing"),
    [
        ({"characteristic": "clearance", "comparator": "at_least", "lower": "1/16 in"},
         car(clearance="1.5875"), car(clearance="1.5874")),
        (AT_MOST_63, car(width="63"), car(width="63.001")),
        ({"characteristic": "weight", "comparator": "between", "lower": "95 g", "upper": "100 g"},
         car(weight="95"), car(weight="100.1")),
        ({"characteristic": "height", "comparator": "equal_within", "nominal": "16.5 mm", "tolerance": ".1 mm"},
         car(height="16.6"), car(height="16.39")),
        ({"characteristic": "wheels", "comparator": "equal_within", "nominal": "4"}, car(wheels="4"), car(wheels="3")),
        ({"characteristic": "motor", "comparator": "one_of", "choices": ["Long can"]},
         car(motor="long  CAN"), car(motor="Short can")),
        ({"characteristic": "pinion", "comparator": "one_of", "choices": ["8", "9"]},
         car(pinion="9"), car(pinion="10")),
        ({"characteristic": "material", "comparator": "one_of", "choices": ["Brass", "Steel wire"]},
         car(material=["brass", "steel wire"]), car(material=["brass", "board"])),
        ({"characteristic": "windows", "comparator": "yes_no"}, car(windows=True), car(windows=False)),
        ({"characteristic": "windows", "comparator": "yes_no", "expected_answer": False},
         car(windows=False), car(windows=True)),
        # comparisons, both ways, with factor and offset
        ({"characteristic": "width", "comparator": "at_most", "other": "rear-width", "offset": "2 mm"},
         car(width="64", rear_width="62"), car(width="64.01", rear_width="62")),
        ({"characteristic": "height", "comparator": "at_least", "other": "roof", "factor": "4/5"},
         car(height="32", roof="40"), car(height="31.99", roof="40")),
        ({"characteristic": "width", "comparator": "at_most", "other": "height", "factor": "-.5", "offset": "1 mm"},
         car(width=".5", height="1"), car(width=".51", height="1")),
        ({"characteristic": "width", "comparator": "equal_within", "other": "rear-width", "tolerance": "1/8 in"},
         car(width="60", rear_width="63.175"), car(width="60", rear_width="63.176")),
        # worked out
        ({"characteristic": "ratio", "comparator": "at_least", "lower": "3.40"},
         car(gear="34", pinion="10"), car(gear="34", pinion="12")),
        ({"characteristic": "rollout", "comparator": "between", "lower": "22 mm", "upper": "23 mm"},
         car(diameter="20", pinion="12", gear="34"), car(diameter="21", pinion="12", gear="34")),
        # the worst of several
        ({"characteristic": "diameter", "comparator": "at_least", "lower": ".8125 in", "readings_wanted": 3},
         car(diameter=["20.7", "20.65", "20.6375"]), car(diameter=["20.7", "20.65", "20.637"])),
        # their mean
        ({"characteristic": "diameter", "comparator": "at_least", "lower": "20 mm", "counts": "mean",
          "readings_wanted": 2}, car(diameter=["19.9", "20.1"]), car(diameter=["19.9", "20.09"])),
        # either, or; and all of several
        ({"comparator": "any_of", "parts": [
            {"characteristic": "motor", "comparator": "one_of", "choices": ["Long can"]},
            {"comparator": "all_of", "parts": [
                {"characteristic": "label", "comparator": "yes_no"},
                {"characteristic": "speed", "comparator": "at_most", "upper": "26000 rpm"}]}]},
         car(motor="Other", label=True, speed="26000"), car(motor="Other", label=True, speed="26001")),
        ({"comparator": "all_of", "parts": [AT_MOST_63, {"characteristic": "windows", "comparator": "yes_no"}]},
         car(width="63", windows=True), car(width="63", windows=False)),
        # as supplied, but for
        ({"characteristic": "changes", "comparator": "as_supplied", "choices": ["Glue", "Braid"]},
         car(changes=["braid"]), car(changes=["braid", "Lightened"])),
        ({"characteristic": "changes", "comparator": "as_supplied"}, {"changes": named()}, car(changes=["Glue"])),
        # a tolerance in the rule
        ({"characteristic": "speed", "comparator": "at_most", "upper": "20000 rpm", "tolerance_style": "in_rule",
          "allowance": "10 %"}, car(speed="22000"), car(speed="22001")),
        ({"characteristic": "weight", "comparator": "at_least", "lower": "100 g", "tolerance_style": "in_rule",
          "allowance": "± 0.5 g"}, car(weight="99.5"), car(weight="99.4")),
        # a list of sizes picked by the body
        ({"characteristic": "width", "comparator": "at_most", "choice_list": "widths"},
         car(width="63.5", body="Spyder"), car(width="63.5", body="Coupe")),
        ({"characteristic": "material", "comparator": "one_of", "choice_list": "colors by body"},
         car(material="Red", body="coupe"), car(material="Red", body="Spyder")),
        # resistance at 20 degC, which is what "room temperature" is referred to
        ({"characteristic": "arm", "comparator": "at_least", "lower": "5.8 Ω"},
         {"arm": measured(Reading(kind=Kind.RESISTANCE, value=Fraction("5.7"), temperature=Fraction(10)))},
         {"arm": measured(Reading(kind=Kind.RESISTANCE, value=Fraction("5.9"), temperature=Fraction(30)))}),
    ],
)  # fmt: skip
def test_each_kind_of_rule_passes_and_fails(rule, passing, failing):
    good, bad = judged(rule, passing), judged(rule, failing)
    assert (good.outcome, good.clears, good.missing) == (PASS, True, ())
    assert (bad.outcome, bad.clears, bad.missing) == (FAIL, False, ())
    empty = judged(rule, {})
    assert (empty.outcome, empty.clears) == (OPEN, False)
    assert empty.missing


@pytest.mark.parametrize(
    ("printed", "car_in_mm", "passes"),
    [
        ("3.25 in", "82.55", True), ("3.25 in", "82.551", False), ("82.5 mm", "82.53", False),
        ("3.25 in", "82.53", True),
        (".060 in", "1.524", True), ("1.5 mm", "1.524", False), ("2.5 in", "63.5", True), ("64 mm", "63.5", True),
        ("5 in", "127", True), ("5 in", "127.001", False), ("9/16 in", "14.2875", True), ("9/16 in", "14.288", False),
        ("1 5/16 in", "33.3375", True), ("1 5/16 in", "33.338", False), (".8125 in", "20.6375", True),
    ],
)  # fmt: skip
def test_unit_traps_are_decided_by_the_exact_figure(printed, car_in_mm, passes):
    rule = {"characteristic": "width", "comparator": "at_most", "upper": printed}
    assert judged(rule, car(width=car_in_mm)).clears is passes


class TestComparisons:
    rule = {"characteristic": "width", "comparator": "at_most", "other": "rear-width", "factor": "2", "offset": "1 mm"}

    def test_variances_add_by_the_square_of_the_factor(self):
        found = {code: measured(at("20", code, CALIPER)) for code in ("width", "rear-width")}
        result = judged(self.rule, found)
        assert result.assessment.measurement.variance == 5 * CALIPER.variance
        assert result.assessment.limits.upper == 41
        assert result.inputs == ("width", "rear-width")

    def test_both_must_be_found(self):
        assert lacks(judged(self.rule, car(width="20"))) == [("characteristic", "rear-width")]
        assert lacks(judged(self.rule, car(rear_width="20"))) == [("characteristic", "width")]

    def test_with_a_value_of_the_track_record(self):
        """The car keeps 0.1 in from the middle line between lanes: width at most the spacing less 0.2 in."""
        rule = {"characteristic": "width", "comparator": "at_most", "other": "spacing", "offset": "-.2 in"}
        facts = Facts(track_values={"lane_spacing_mm": Fraction("76.2")})
        assert judged(rule, car(width="71.12"), facts).outcome is PASS
        assert judged(rule, car(width="71.13"), facts).outcome is FAIL
        assert lacks(judged(rule, car(width="71"))) == [("track_value", "lane_spacing_mm")]

    def test_a_reading_compared_with_what_is_worked_out_of_it_counts_once(self):
        """Width at most the spacing less the width is twice the width at most the spacing: (2 u)2, not u2 + u2."""
        rule = {"characteristic": "width", "comparator": "at_most", "other": "room-left"}
        facts = Facts(track_values={"lane_spacing_mm": Fraction(100)})
        result = judged(rule, {"width": measured(at("49", "width", CALIPER))}, facts)
        assert (result.outcome, result.assessment.margin) == (PASS, 2)
        assert result.assessment.measurement.variance == 4 * CALIPER.variance

    def test_what_both_sides_are_worked_out_of_is_counted_once(self):
        """A rollout against pi * diameter times a factor: one reading of the tire, one doubt."""
        rule = {"characteristic": "rollout", "comparator": "at_most", "other": "diameter", "factor": "2"}
        found = car(pinion="1", gear="1") | {"diameter": measured(at("20", "diameter", CALIPER))}
        variance = judged(rule, found).assessment.measurement.variance
        assert 1.14**2 < float(variance / CALIPER.variance) < 1.15**2


class TestSeveralReadings:
    rule = {"characteristic": "diameter", "comparator": "at_least", "lower": "20 mm", "readings_wanted": 3}

    def test_the_worst_is_shown(self):
        result = judged(self.rule, car(diameter=["20.3", "20.1", "20.2"]))
        assert (result.outcome, result.reading, result.assessment.margin) == (PASS, 1, Fraction("0.1"))
        assert result.notes == (Note.WORST_OF_SEVERAL,)

    def test_too_few_do_not_pass_but_one_may_fail(self):
        few = judged(self.rule, car(diameter=["20.3", "20.1"]))
        assert (few.outcome, lacks(few)) == (OPEN, [("readings", "diameter")])
        assert judged(self.rule, car(diameter=["19.9"])).outcome is FAIL

    def test_a_mean_waits_for_all_of_them(self):
        rule = self.rule | {"counts": "mean"}
        few = judged(rule, car(diameter=["19.9", "19.8"]))
        assert (few.outcome, lacks(few)) == (OPEN, [("readings", "diameter")])
        whole = judged(rule, car(diameter=["19.9", "20.0", "20.1"]))
        assert (whole.outcome, whole.reading, whole.notes) == (PASS, None, (Note.MEAN_OF_SEVERAL,))

    def test_of_one_failing_and_one_in_doubt_the_failing_one_counts(self):
        found = {"diameter": measured(at("19.995", "diameter", CALIPER), at("19.9", "diameter", CALIPER),
                                      at("20.5", "diameter", CALIPER))}  # fmt: skip
        result = judged(self.rule, found, decision=BENEFIT_OF_DOUBT)
        assert (result.outcome, result.reading) == (FAIL, 1)


class TestGroups:
    def any_of(self, *parts: dict[str, Any]) -> dict[str, Any]:
        return {"comparator": "any_of", "parts": list(parts)}

    motor = {"characteristic": "motor", "comparator": "one_of", "choices": ["Long can"]}
    speed = {"characteristic": "speed", "comparator": "at_most", "upper": "26000 rpm"}
    judge = {"comparator": "judge_decides", "judge": "chief inspector"}

    @pytest.mark.parametrize(
        ("found", "either", "both"),
        [
            (car(motor="Long can", speed="1"), PASS, PASS),
            (car(motor="Long can", speed="30000"), PASS, FAIL),
            (car(motor="Long can"), PASS, OPEN),
            (car(motor="Other", speed="1"), PASS, FAIL),
            (car(motor="Other", speed="30000"), FAIL, FAIL),
            (car(motor="Other"), OPEN, FAIL),
            (car(speed="1"), PASS, OPEN),
            (car(speed="30000"), OPEN, FAIL),
            ({}, OPEN, OPEN),
        ],
    )
    def test_either_passes_with_one_and_fails_with_all_and_both_the_other_way_round(self, found, either, both):
        assert judged(self.any_of(self.motor, self.speed), found).outcome is either
        assert judged({"comparator": "all_of", "parts": [self.motor, self.speed]}, found).outcome is both

    def test_what_is_missing_is_that_of_the_parts(self):
        result = judged(self.any_of(self.motor, self.speed), car(motor="Other"))
        assert lacks(result) == [("characteristic", "speed")]
        assert [part.outcome for part in result.parts] == [FAIL, OPEN]
        assert [part.clause.number for part in result.parts] == ["1/1", "1/2"]

    def test_a_judge_decides_what_is_left_of_it(self):
        rule = self.any_of(self.motor, self.judge)
        assert judged(rule, car(motor="Long can")).outcome is PASS
        assert judged(rule, car(motor="Other")).outcome is Outcome.JUDGE_DECIDES
        (ruled,) = judge_sheet(sheet(rule), car(motor="Other"), None, {"1/2": Ruling(True, "A. Judge", "Seen.")})
        assert (ruled.outcome, ruled.clears) == (PASS, True)

    def test_a_part_that_does_not_apply_does_not_count(self):
        part = self.speed | {"applies_when": OPEN_COCKPIT}
        found = car(motor="Other", open_cockpit=False)
        assert judged(self.any_of(self.motor, part), found).outcome is FAIL
        assert judged({"comparator": "all_of", "parts": [part]}, found).outcome is Outcome.NOT_APPLICABLE
        assert judged({"comparator": "all_of", "parts": [part]}, found).clears

    def test_doubt_in_one_part_is_kept_unless_another_settles_it(self):
        near = {"width": measured(at("63", "width", CALIPER))}
        rule = self.any_of(AT_MOST_63, self.motor)
        assert judged(rule, near).too_close
        assert not judged(rule, near | car(motor="Long can")).too_close
        both = {"comparator": "all_of", "parts": [AT_MOST_63, self.motor]}
        assert judged(both, near | car(motor="Long can")).too_close
        assert not judged(both, near | car(motor="Other")).too_close

    @pytest.mark.parametrize(("decision", "clears"), [(BENEFIT_OF_DOUBT, True), (CERTAIN_PASS, False)])
    def test_too_close_clears_a_group_as_its_rule_says(self, decision, clears):
        near = {"width": measured(at("63", "width", CALIPER))} | car(motor="Other")
        for comparator, others in (("any_of", [self.motor]), ("all_of", [])):
            result = judged({"comparator": comparator, "parts": [AT_MOST_63, *others]}, near, decision=decision)
            assert (result.outcome, result.clears, result.too_close) == (Outcome.TOO_CLOSE, clears, True)

    @settings(max_examples=100, deadline=None)
    @given(st.data())
    def test_a_group_says_what_holds_however_its_missing_answers_turn_out(self, data):
        """Against every way to fill them in: pass or fail only where all ways agree."""
        codes = ["windows", "label", "open-cockpit", CLOSING_CODE]

        def parts(taken: list[str]) -> list[dict[str, Any]]:
            return [{"characteristic": code, "comparator": "yes_no"} for code in taken]

        join, inner = (data.draw(st.sampled_from(["all_of", "any_of"])) for _ in range(2))
        cut = data.draw(st.integers(0, 3))
        rule = {"comparator": join, "parts": [*parts(codes[:cut]), {"comparator": inner, "parts": parts(codes[cut:])}]}
        answers = {code: data.draw(st.sampled_from([None, True, False])) for code in codes}
        missing = [code for code, answer in answers.items() if answer is None]

        def passes(filled: dict[str, bool]) -> bool:
            combine = {"all_of": all, "any_of": any}
            return combine[join]([*(filled[c] for c in codes[:cut]), combine[inner](filled[c] for c in codes[cut:])])

        fillings = product([True, False], repeat=len(missing))
        ways = {passes(answers | dict(zip(missing, way, strict=True))) for way in fillings}
        result = judged(rule, {code: said(answer) for code, answer in answers.items() if answer is not None})
        assert result.outcome is {(True,): PASS, (False,): FAIL}.get(tuple(ways), OPEN)
        assert (result.missing != ()) is (len(ways) == 2)

    def test_a_group_without_parts_is_not_checked(self):
        assert judged(self.any_of(), {}).outcome is OPEN


class TestConditions:
    rule = AT_MOST_63 | {"applies_when": OPEN_COCKPIT}

    def test_a_clause_that_does_not_apply_clears(self):
        result = judged(self.rule, car(width="70", open_cockpit=False))
        assert (result.outcome, result.clears, result.missing) == (Outcome.NOT_APPLICABLE, True, ())
        assert judged(self.rule, car(width="70", open_cockpit=True)).outcome is FAIL

    def test_an_unknown_condition_leaves_it_open_and_is_named(self):
        result = judged(self.rule, car(width="60"))
        assert (result.outcome, result.clears) == (OPEN, False)
        assert lacks(result) == [("characteristic", "open-cockpit")]

    def test_unless_is_the_other_way_round(self):
        rule = AT_MOST_63 | {"unless": OPEN_COCKPIT}
        assert judged(rule, car(width="70", open_cockpit=True)).outcome is Outcome.NOT_APPLICABLE
        assert judged(rule, car(width="70", open_cockpit=False)).outcome is FAIL
        assert judged(rule, car(width="70")).outcome is OPEN

    def test_what_is_declared_answers_a_condition_but_never_a_limit(self):
        facts = Facts(declared=car(open_cockpit=True, width="60"))
        assert lacks(judged(self.rule, {}, facts)) == [("characteristic", "width")]
        assert judged(self.rule, car(width="60"), facts).outcome is PASS
        assert judged(self.rule, car(width="70", open_cockpit=False), facts).outcome is Outcome.NOT_APPLICABLE

    @pytest.mark.parametrize(
        ("condition", "facts", "holds"),
        [
            ({"about": "class", "is": "one_of", "values": ["Retro"]}, Facts(racing_class="retro"), True),
            ({"about": "class", "is": "none_of", "values": ["Retro"]}, Facts(racing_class="Retro"), False),
            ({"about": "class", "is": "one_of", "values": ["Retro"]}, Facts(), None),
            ({"about": "scale", "is": "one_of", "values": ["1:24", "1:25"]}, Facts(scale="1:25"), True),
            ({"about": "scale", "is": "one_of", "values": ["1:24"]}, Facts(), None),
            ({"about": "grade", "is": "one_of", "values": ["Novice"]}, Facts(grade="Expert"), False),
            ({"about": "grade", "is": "one_of", "values": ["Novice"]}, Facts(), None),
            ({"about": "junior", "is": "yes"}, Facts(junior=True), True),
            ({"about": "junior", "is": "no"}, Facts(junior=True), False),
            ({"about": "junior", "is": "no"}, Facts(), None),
            ({"about": "track", "is": "one_of", "values": ["Hall"]}, Facts(track="Hall"), True),
            ({"about": "track", "is": "one_of", "values": ["Hall"]}, Facts(), None),
            ({"about": "date", "is": "at_least", "values": ["2026-03-01"]}, MARCH, True),
            ({"about": "date", "is": "below", "values": ["2026-03-15"]}, MARCH, False),
            ({"about": "date", "is": "between", "values": ["2026-03-01", "2026-03-15"]}, MARCH, True),
            ({"about": "date", "is": "one_of", "values": ["2026-03-15"]}, MARCH, True),
            ({"about": "date", "is": "below", "values": ["2026-03-15"]}, Facts(), None),
            ({"about": "flag", "name": "sealed motors", "is": "yes"}, Facts(flags=frozenset({"Sealed motors"})), True),
            ({"about": "flag", "name": "sealed motors", "is": "no"}, Facts(flags=frozenset()), True),
            ({"about": "flag", "name": "sealed motors", "is": "yes"}, Facts(), None),
            ({"about": "phase", "is": "one_of", "values": ["before"]}, Facts(), True),
            ({"about": "phase", "is": "none_of", "values": ["before"]}, Facts(), False),
        ],
    )
    def test_what_a_night_is_asked(self, condition, facts, holds):
        result = judged(AT_MOST_63 | {"applies_when": condition}, car(width="60"), facts)
        expected = {True: PASS, False: Outcome.NOT_APPLICABLE, None: OPEN}[holds]
        assert result.outcome is expected
        if holds is None:
            assert [lacking for lacking, _ in lacks(result)] == [condition["about"]]

    @pytest.mark.parametrize(
        ("condition", "found", "holds"),
        [
            ({"name": "height", "is": "below", "values": ["47.5 mm"]}, car(height="47.49"), True),
            ({"name": "height", "is": "below", "values": ["47.5 mm"]}, car(height="47.5"), False),
            ({"name": "height", "is": "below", "values": ["1 in"]}, car(height=["25", "25.7"]), True),
            ({"name": "pinion", "is": "one_of", "values": ["8", "9"]}, car(pinion="9"), True),
            ({"name": "pinion", "is": "none_of", "values": ["8", "9"]}, car(pinion="9"), False),
            ({"name": "ratio", "is": "at_least", "values": ["3"]}, car(gear="27", pinion="9"), True),
            ({"name": "ratio", "is": "above", "values": ["3"]}, car(gear="27", pinion="9"), False),
            ({"name": "ratio", "is": "above", "values": ["3"]}, car(gear="27"), None),
            ({"name": "material", "is": "one_of", "values": ["Board"]}, car(material=["Brass", "board"]), True),
            ({"name": "material", "is": "none_of", "values": ["Board"]}, car(material=["Brass", "board"]), False),
            ({"name": "motor", "is": "one_of", "values": ["Long can"]}, {}, None),
            ({"name": "changes", "is": "one_of", "values": ["Glue"]}, {"changes": named()}, False),
            ({"name": "changes", "is": "none_of", "values": ["Glue"]}, {"changes": named()}, True),
            ({"name": "windows", "is": "no"}, car(windows=False), True),
            ({"name": "windows", "is": "no"}, {"windows": named("no")}, None),
            ({"name": "never-heard-of", "is": "yes"}, {}, None),
        ],
    )
    def test_what_a_car_is_asked(self, condition, found, holds):
        rule = {"characteristic": "label", "comparator": "yes_no"}
        rule["applies_when"] = {"about": "characteristic", **condition}
        result = judged(rule, found | car(label=True))
        assert result.outcome is {True: PASS, False: Outcome.NOT_APPLICABLE, None: OPEN}[holds]

    def test_of_a_clause_that_asks_whether_another_passed(self):
        def after(outcome: str, width: dict[str, Observation]) -> Outcome:
            asks = {"about": "clause", "name": "1", "is": outcome}
            rule = {"characteristic": "label", "comparator": "yes_no", "applies_when": asks}
            first = AT_MOST_63 | {"applies_when": OPEN_COCKPIT}
            return judge_sheet(sheet(first, rule), width | car(label=True))[1].outcome

        assert after("passed", car(width="60", open_cockpit=True)) is PASS
        assert after("failed", car(width="60", open_cockpit=True)) is Outcome.NOT_APPLICABLE
        assert after("passed", car(width="70", open_cockpit=True)) is Outcome.NOT_APPLICABLE
        assert after("failed", car(width="70", open_cockpit=True)) is PASS
        assert after("passed", car(open_cockpit=True)) is OPEN
        for outcome in ("passed", "failed"):  # what does not apply has neither passed nor failed
            assert after(outcome, car(width="60", open_cockpit=False)) is Outcome.NOT_APPLICABLE

    def test_clauses_that_ask_each_other_stay_open_whichever_is_judged_first(self):
        def asks(number: str) -> dict[str, Any]:
            rule = {"characteristic": "label", "comparator": "yes_no"}
            return rule | {"applies_when": {"about": "clause", "name": number, "is": "passed"}}

        circle = sheet(asks("2"), asks("3"), asks("1"))
        assert [result.outcome for result in judge_sheet(circle, car(label=True))] == [OPEN] * 3
        alone = [judge_one(circle, number, car(label=True)) for number in ("3", "2", "1")]
        assert [lacks(result) for result in alone] == [[("clause", "1")], [("clause", "3")], [("clause", "2")]]

    def test_a_rule_about_rules(self):
        """A label must be readable where the class limits the motor in any way."""
        rule = {"characteristic": "label", "comparator": "yes_no"}
        rule["applies_when"] = {
            "any": [{"about": "restricted", "name": code, "is": "yes"} for code in ("motor", "speed")]
        }
        speed = {"comparator": "any_of", "parts": [TestGroups.speed]}
        assert judge_sheet(sheet(rule, AT_MOST_63), car(label=False))[0].outcome is Outcome.NOT_APPLICABLE
        assert judge_sheet(sheet(rule, LISTED_MOTOR), car(label=False))[0].outcome is FAIL
        assert judge_sheet(sheet(rule, speed), car(label=False))[0].outcome is FAIL


class TestRows:
    by_scale = AT_MOST_63 | {
        "limit_rows": [
            {"when": {"about": "scale", "is": "one_of", "values": ["1:24"]}, "upper": "83 mm"},
            {"when": {"about": "track", "is": "one_of", "values": ["Hall"]}, "upper": "64 mm"},
        ]
    }

    @pytest.mark.parametrize(
        ("facts", "width", "outcome", "row"),
        [
            (Facts(scale="1:24", track="Hall"), "83", PASS, 0),
            (Facts(scale="1:24"), "83.01", FAIL, 0),
            (Facts(scale="1:32", track="Hall"), "64", PASS, 1),
            (Facts(scale="1:32", track="Home"), "64", FAIL, None),
            (Facts(scale="1:32", track="Home"), "63", PASS, None),
        ],
    )
    def test_the_first_row_that_holds_gives_the_limit(self, facts, width, outcome, row):
        result = judged(self.by_scale, car(width=width), facts)
        assert (result.outcome, result.row) == (outcome, row)

    def test_a_row_that_is_reached_and_unknown_leaves_it_open(self):
        assert lacks(judged(self.by_scale, car(width="60"), Facts(scale="1:32"))) == [("track", "")]
        assert lacks(judged(self.by_scale, car(width="60"), Facts(track="Hall"))) == [("scale", "")]

    def test_limits_by_phase(self):
        rule = {
            "characteristic": "clearance", "comparator": "at_least", "lower": "1.0 mm", "phases": ["before", "after"],
            "limit_rows": [{"when": {"about": "phase", "is": "one_of", "values": ["after"]}, "lower": ".6 mm"}],
        }  # fmt: skip
        assert judged(rule, car(clearance=".8"), Facts(phase="before")).outcome is FAIL
        assert judged(rule, car(clearance=".8"), Facts(phase="after")).outcome is PASS
        assert judge_sheet(sheet(rule), car(clearance=".8"), Facts(phase="impound")) == ()

    def test_a_list_narrowed_on_some_nights(self):
        sealed = {"about": "flag", "name": "sealed motors", "is": "yes"}
        rule = TestGroups.motor | {"limit_rows": [{"when": sealed, "choices": ["Sealed"]}]}
        tonight = Facts(flags=frozenset({"sealed motors"}))
        assert judged(rule, car(motor="Long can"), Facts(flags=frozenset())).outcome is PASS
        refused = judged(rule, car(motor="Long can"), tonight)
        assert (refused.outcome, refused.refused, refused.allowed) == (FAIL, ("Long can",), ("Sealed",))

    def test_what_a_row_leaves_out_is_the_clauses_own(self):
        hall = {"about": "track", "is": "one_of", "values": ["Hall"]}
        rule = {
            "characteristic": "height", "comparator": "equal_within", "nominal": "16 mm", "tolerance": ".5 mm",
            "limit_rows": [{"when": hall, "nominal": "17 mm"}],
        }  # fmt: skip
        assert judged(rule, car(height="17.5"), Facts(track="Hall")).outcome is PASS
        assert judged(rule, car(height="16.4"), Facts(track="Hall")).outcome is FAIL

    def test_a_row_stands_over_a_comparison(self):
        hall = {"about": "track", "is": "one_of", "values": ["Hall"]}
        rule = {
            "characteristic": "width", "comparator": "at_most", "other": "rear-width",
            "limit_rows": [{"when": hall, "upper": "50 mm"}],
        }  # fmt: skip
        found = car(width="55", rear_width="60")
        assert judged(rule, found, Facts(track="Home")).outcome is PASS
        assert judged(rule, found, Facts(track="Hall")).outcome is FAIL

    def test_without_a_limit_for_the_case_it_stays_open(self):
        rule = {"characteristic": "width", "comparator": "at_most", "limit_rows": self.by_scale["limit_rows"]}
        assert lacks(judged(rule, car(width="60"), Facts(scale="1:32", track="Home"))) == [("rule", "1")]


class TestLists:
    @pytest.mark.parametrize(
        ("motor", "day", "outcome"),
        [
            ("Long can", dt.date(2020, 1, 1), PASS),
            ("Sealed", dt.date(2026, 2, 28), FAIL),
            ("Sealed", dt.date(2026, 3, 1), PASS),
            ("Old", dt.date(2026, 2, 28), PASS),
            ("Old", dt.date(2026, 3, 1), FAIL),
            ("Unheard of", dt.date(2026, 3, 1), FAIL),
            ("Long can", None, PASS),
            ("Unheard of", None, FAIL),
            ("Sealed", None, OPEN),
        ],
    )
    def test_dates(self, motor, day, outcome):
        result = judged(LISTED_MOTOR, car(motor=motor), Facts(date=day))
        assert result.outcome is outcome
        assert lacks(result) == ([("date", "")] if outcome is OPEN else [])

    def test_the_list_that_counted_is_told(self):
        assert judged(LISTED_MOTOR, car(motor="Old"), MARCH).allowed == ("Long can", "Sealed")

    def test_a_keyed_list_needs_its_key_which_may_be_declared(self):
        rule = {"characteristic": "width", "comparator": "at_most", "choice_list": "widths"}
        assert lacks(judged(rule, car(width="60"))) == [("characteristic", "body")]
        facts = Facts(declared=car(body="Coupe"))
        assert judged(rule, car(width="63.01"), facts).outcome is FAIL
        assert lacks(judged(rule, car(width="60", body="Unheard of"))) == [("rule", "1")]

    def test_of_several_only_those_not_allowed_are_refused(self):
        rule = {"characteristic": "material", "comparator": "one_of", "choices": ["Brass"]}
        assert judged(rule, car(material=["Brass", "Board", "Glass"])).refused == ("Board", "Glass")

    def test_of_several_one_that_is_refused_settles_it_whatever_the_date(self):
        result = judged(LISTED_MOTOR, car(motor=["Sealed", "Unheard of"]))
        assert (result.outcome, result.refused, result.missing) == (FAIL, ("Unheard of",), ())

    def test_an_empty_answer_is_no_answer_but_no_changes_are(self):
        assert judged({"characteristic": "material", "comparator": "one_of", "choices": ["Brass"]},
                      {"material": named()}).outcome is OPEN  # fmt: skip

    def test_a_count_that_is_worked_out_is_looked_up_too(self):
        rule = {"characteristic": "teeth-in-all", "comparator": "one_of", "choices": ["46"]}
        assert judged(rule, car(gear="34", pinion="12")).outcome is PASS
        assert judged(rule, car(gear="34", pinion="11")).refused == ("45",)
        assert lacks(judged(rule, car(gear="34"))) == [("characteristic", "pinion")]


class TestTolerances:
    def test_the_sheets_own_widens_every_limit_outward(self):
        more = {
            "tolerance_style": ToleranceStyle.WHOLE_SHEET,
            "tolerances": {Kind.LENGTH: parse_quantity("0.1 mm", Kind.LENGTH, default_unit=None)},
        }
        assert judged(AT_MOST_63, car(width="63.1"), **more).notes == (Note.SHEET_TOLERANCE,)
        assert judged(AT_MOST_63, car(width="63.1"), **more).outcome is PASS
        assert judged(AT_MOST_63, car(width="63.11"), **more).outcome is FAIL
        rule = {"characteristic": "clearance", "comparator": "at_least", "lower": "1 mm"}
        assert judged(rule, car(clearance=".9"), **more).outcome is PASS
        none = AT_MOST_63 | {"tolerance_style": "none"}
        assert judged(none, car(width="63.1"), **more).outcome is FAIL
        weight = {"characteristic": "weight", "comparator": "at_least", "lower": "100 g"}
        assert judged(weight, car(weight="99.9"), **more).outcome is FAIL

    def test_a_printed_tolerance_and_a_guard_band_are_never_both_applied(self):
        near = {"width": measured(at("63.05", "width", CALIPER))}
        rule = AT_MOST_63 | {"tolerance_style": "in_rule", "allowance": "0.06 mm"}
        guarded = judged(AT_MOST_63 | {"upper": "63.06 mm"}, near, decision=CERTAIN_PASS)
        assert (guarded.outcome, guarded.clears) == (Outcome.TOO_CLOSE, False)
        printed = judged(rule, near, decision=CERTAIN_PASS)
        assert (printed.outcome, printed.clears, printed.too_close) == (PASS, True, True)
        assert printed.assessment.rule.guard_factor == 0
        assert printed.notes == (Note.CLAUSE_TOLERANCE,)

    def test_an_allowance_counts_only_where_the_style_is_in_the_rule(self):
        rule = AT_MOST_63 | {"allowance": "1 mm"}
        assert judged(rule, car(width="63.5")).outcome is FAIL
        assert judged(rule, car(width="63.5"), tolerance_style=ToleranceStyle.IN_RULE).outcome is PASS

    def test_a_share_of_a_minimum_goes_down(self):
        rule = {"characteristic": "weight", "comparator": "at_least", "lower": "100 g", "tolerance_style": "in_rule",
                "allowance": "1 %"}  # fmt: skip
        assert judged(rule, car(weight="99")).outcome is PASS
        assert judged(rule, car(weight="98.9")).outcome is FAIL


class TestGauges:
    def test_resistance_without_temperature_is_judged_as_read_and_says_so(self):
        rule = {"characteristic": "arm", "comparator": "at_least", "lower": "5.8 Ω"}
        assert judged(rule, car(arm="5.8")).notes == (Note.NO_TEMPERATURE,)
        warm = {"arm": measured(Reading(kind=Kind.RESISTANCE, value=Fraction("5.9"), temperature=Fraction(30)))}
        assert judged(rule, warm).notes == (Note.REFERRED_TO_20,)

    def test_a_gauge_past_its_date_warns_or_is_not_taken(self):
        found = {"width": measured(at("60", "width", CALIPER, overdue=True))}
        warned = judged(AT_MOST_63, found)
        assert (warned.outcome, warned.notes) == (PASS, (Note.GAUGE_OVERDUE,))
        refused = judged(AT_MOST_63, found, allows_overdue_gauges=False)
        assert (refused.outcome, lacks(refused)) == (OPEN, [("gauge", "width")])

    def test_the_clauses_own_decision_rule_goes_before_the_sheets(self):
        near = {"width": measured(at("63.01", "width", CALIPER))}
        assert judged(AT_MOST_63, near).outcome is FAIL
        kind = AT_MOST_63 | {"decision_rule": "benefit_of_doubt"}
        assert judged(kind, near).clears
        assert judged(AT_MOST_63, near, decision=CERTAIN_PASS).outcome is Outcome.TOO_CLOSE


class TestRulings:
    @pytest.mark.parametrize("passes", [True, False])
    def test_a_ruling_stands_over_readings_and_conditions(self, passes):
        ruling = Ruling(passes, "A. Judge", "Seen under the lamp.")
        for found in (car(width="60"), car(width="70"), {}):
            (result,) = judge_sheet(sheet(AT_MOST_63), found, None, {"1": ruling})
            assert (result.outcome, result.clears, result.ruling) == (PASS if passes else FAIL, passes, ruling)

    def test_without_one_a_text_clause_waits_for_its_judge(self):
        result = judged({"comparator": "judge_decides", "judge": "club captain"}, {})
        assert (result.outcome, result.clears, result.clause.judge) == (Outcome.JUDGE_DECIDES, False, "club captain")


class TestClosedSheets:
    def test_what_is_not_allowed_is_forbidden(self):
        results = judge_sheet(sheet(AT_MOST_63, is_closed=True), car(width="60"))
        assert [result.clause.code for result in results] == ["width", CLOSING_CODE]
        assert [result.outcome for result in results] == [PASS, OPEN]
        for unchanged, outcome in ((True, PASS), (False, FAIL)):
            found = car(width="60") | {CLOSING_CODE: said(unchanged)}
            assert judge_sheet(sheet(AT_MOST_63, is_closed=True), found)[1].outcome is outcome

    def test_a_sheet_that_has_the_check_gets_it_once(self):
        own = {"characteristic": CLOSING_CODE, "comparator": "yes_no"}
        assert len(judge_sheet(sheet(AT_MOST_63, own, is_closed=True), {})) == 2


class TestWhatDoesNotFit:
    @pytest.mark.parametrize(
        ("rule", "found"),
        [
            (AT_MOST_63, {"width": named("wide")}),
            (AT_MOST_63, {"width": said(True)}),
            (AT_MOST_63, {"width": measured(at("60", "weight"))}),
            (LISTED_MOTOR, {"motor": said(True)}),
            (LISTED_MOTOR, {"motor": measured(at("60", "width"))}),
            ({"characteristic": "windows", "comparator": "yes_no"}, {"windows": named("yes")}),
            ({"characteristic": "ratio", "comparator": "at_least", "lower": "3"},
             {"gear": named("x"), "pinion": measured(at("9", "pinion"))}),
        ],
    )  # fmt: skip
    def test_an_answer_of_another_sort_never_passes(self, rule, found):
        result = judged(rule, found)
        assert (result.outcome, result.clears) == (OPEN, False)
        assert [missing.lacking for missing in result.missing] == [Lacking.FITTING]

    def test_a_clause_that_only_informs_has_no_result(self):
        assert judge_sheet(sheet({"text": "Any braid."}), {}) == ()
        assert judge_one(sheet({"text": "Any braid."}), "1", {}) is None


SIZES = st.fractions(min_value=0, max_value=100, max_denominator=1000)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(REGISTER)), st.one_of(
    st.booleans().map(said), st.lists(st.sampled_from(["Long can", "Coupe", "x"]), max_size=2).map(lambda a: named(*a)),
    st.lists(st.builds(Reading, kind=st.sampled_from([Kind.LENGTH, Kind.COUNT, Kind.MASS]), value=SIZES), max_size=3)
    .map(lambda readings: measured(*readings)))), st.data())  # fmt: skip
def test_whatever_was_found_is_judged_and_nothing_that_was_not_found_passes(found, data):
    rules = [
        AT_MOST_63, LISTED_MOTOR, TestConditions.rule, TestRows.by_scale, TestComparisons.rule,
        TestSeveralReadings.rule,
        {"characteristic": "ratio", "comparator": "at_least", "lower": "3"},
        {"comparator": "any_of", "parts": [LISTED_MOTOR, TestGroups.speed]},
        {"comparator": "all_of", "parts": [LISTED_MOTOR, AT_MOST_63]},
        {"characteristic": "width", "comparator": "at_most", "choice_list": "widths"},
        {"characteristic": "changes", "comparator": "as_supplied", "choices": ["Glue"]},
    ]  # fmt: skip
    facts = Facts(
        scale=data.draw(st.sampled_from([None, "1:24", "1:32"])), track=data.draw(st.sampled_from([None, "Hall"])),
        date=data.draw(st.sampled_from([None, dt.date(2026, 3, 1)])),
    )  # fmt: skip
    for result in judge_sheet(sheet(*rules), found, facts):
        assert bool(result.missing) is (result.outcome is OPEN)
        assert not (result.clears and result.outcome in {OPEN, FAIL, Outcome.JUDGE_DECIDES})
        if result.outcome in {PASS, FAIL}:
            assert set(result.inputs) <= set(found)
            assert result.inputs

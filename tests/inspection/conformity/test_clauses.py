"""What a sheet can be published with, and what each missing part of a clause is called."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.clauses import CharacteristicKind, Clause, Comparator, PlausibleBand
from inspection.conformity.conditions import normalize_choice
from inspection.conformity.lint import PROBLEMS, ProblemCode, find_problems
from inspection.units import Kind, Quantity, accepted_units, base_unit, make_quantity, parse_quantity


def length(text: str) -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit="mm", allow_negative=True)


def mass(text: str) -> Quantity:
    return parse_quantity(text, Kind.MASS, default_unit="g")


WIDTH = Clause(
    number="3.1",
    text="The car is at most 65 mm wide.",
    characteristic="width over the tires",
    kind=CharacteristicKind.LENGTH,
    measuring_point="rear tires, at the widest place",
    comparator=Comparator.AT_MOST,
    upper=length("65 mm"),
)
BAND = replace(WIDTH, comparator=Comparator.BETWEEN, lower=length("60 mm"))
RIM = replace(
    WIDTH,
    comparator=Comparator.EQUAL_WITHIN,
    upper=None,
    nominal=length("16.5 mm"),
    tolerance=length(".010 in"),
)
WHEELS = Clause(
    number="3.2",
    text="Four wheels.",
    characteristic="wheels",
    kind=CharacteristicKind.COUNT,
    comparator=Comparator.EQUAL_WITHIN,
    nominal=make_quantity(4, base_unit(Kind.COUNT)),
)
MOTOR = Clause(
    number="3.3",
    text="One of the listed motors.",
    characteristic="motor",
    kind=CharacteristicKind.CHOICE,
    comparator=Comparator.ONE_OF,
    choices=("Long can", "Short can"),
)
WINDOWS = Clause(
    number="3.4",
    text="The windows are clear.",
    characteristic="windows clear",
    kind=CharacteristicKind.YES_NO,
    comparator=Comparator.YES_NO,
    expected_answer=True,
)
SPIRIT = Clause(number="3.5", text="In the spirit of the class.", comparator=Comparator.JUDGE_DECIDES)
BRAID = Clause(number="3.6", text="Any braid.")
SOUND = [WIDTH, replace(BAND, number="3.7"), replace(RIM, number="3.8"), WHEELS, MOTOR, WINDOWS, SPIRIT, BRAID]


def codes(*clauses: Clause) -> list[ProblemCode]:
    return [problem.code for problem in find_problems(clauses)]


def test_a_sound_sheet_has_no_problems():
    assert find_problems(SOUND) == []
    assert find_problems([]) == []


class TestPublishing:
    def test_a_limit_without_a_comparator_blocks(self):
        (problem,) = find_problems([replace(WIDTH, comparator=None)])
        assert (problem.code, problem.blocking, problem.clause_number) == (
            ProblemCode.COMPARATOR_MISSING,
            True,
            "3.1",
        )
        assert "65.00 mm" in problem.message

    def test_a_comparator_without_a_measuring_point_blocks(self):
        (problem,) = find_problems([replace(WIDTH, measuring_point="  ")])
        assert (problem.code, problem.blocking) == (ProblemCode.MEASURING_POINT_MISSING, True)
        assert "width over the tires" in problem.message

    def test_such_a_clause_can_be_left_to_a_judge_when_it_says_why(self):
        unclear = replace(WIDTH, comparator=Comparator.JUDGE_DECIDES, measuring_point="")
        assert codes(unclear) == [ProblemCode.REASON_MISSING]
        assert codes(replace(unclear, judge_reason=" ")) == [ProblemCode.REASON_MISSING]
        assert codes(replace(unclear, judge_reason="The printed rule does not say where.")) == []

    @pytest.mark.parametrize("kind", [kind for kind in CharacteristicKind if kind.quantity_kind])
    def test_counts_and_ratios_alone_do_without_a_measuring_point(self, kind):
        limit = make_quantity(3, base_unit(kind.quantity_kind))
        clause = replace(WIDTH, kind=kind, upper=limit, measuring_point="")
        without = kind in {CharacteristicKind.COUNT, CharacteristicKind.RATIO}
        assert codes(clause) == ([] if without else [ProblemCode.MEASURING_POINT_MISSING])


@pytest.mark.parametrize(
    ("clause", "expected"),
    [
        (replace(WIDTH, number=" "), [ProblemCode.NUMBER_MISSING]),
        (replace(WIDTH, text=" \n"), [ProblemCode.TEXT_MISSING]),
        (replace(WIDTH, characteristic=""), [ProblemCode.CHARACTERISTIC_MISSING]),
        (replace(WIDTH, upper=None), [ProblemCode.LIMIT_MISSING]),
        (replace(WIDTH, comparator=Comparator.AT_LEAST), [ProblemCode.LIMIT_MISSING, ProblemCode.LIMIT_NOT_USED]),
        (replace(WIDTH, lower=length("1")), [ProblemCode.LIMIT_NOT_USED]),
        (replace(BAND, lower=None), [ProblemCode.LIMIT_MISSING]),
        (replace(BAND, lower=length("3 in")), [ProblemCode.LOWER_ABOVE_UPPER]),
        (replace(BAND, lower=length("65 mm")), []),
        (replace(WIDTH, upper=mass("65 g")), [ProblemCode.UNIT_OF_WRONG_KIND]),
        (replace(WIDTH, unit=base_unit(Kind.MASS)), [ProblemCode.UNIT_OF_WRONG_KIND]),
        (replace(RIM, tolerance=None), [ProblemCode.LIMIT_MISSING]),
        (replace(RIM, tolerance=length("-1")), [ProblemCode.TOLERANCE_NEGATIVE]),
        (replace(RIM, tolerance=length("0")), [ProblemCode.TOLERANCE_ZERO]),
        (replace(WHEELS, nominal=None), [ProblemCode.LIMIT_MISSING]),
        (replace(MOTOR, choices=()), [ProblemCode.CHOICES_MISSING]),
        (replace(MOTOR, choices=("  ", "")), [ProblemCode.CHOICES_MISSING]),
        (replace(MOTOR, choices=("Long can", " LONG  can ")), [ProblemCode.DUPLICATE_CHOICE]),
        (replace(MOTOR, kind=CharacteristicKind.LENGTH), [ProblemCode.KIND_DOES_NOT_FIT]),
        (replace(MOTOR, upper=length("1")), [ProblemCode.LIMIT_NOT_USED]),
        (replace(WINDOWS, expected_answer=None), [ProblemCode.ANSWER_MISSING]),
        (replace(WINDOWS, kind=CharacteristicKind.CHOICE), [ProblemCode.KIND_DOES_NOT_FIT]),
        (replace(BRAID, characteristic="braid"), [ProblemCode.NOTHING_TO_CHECK]),
    ],
)
def test_each_fault_is_named(clause, expected):
    assert codes(clause) == expected


def test_a_quantity_comparator_does_not_go_with_an_answer():
    clause = replace(WIDTH, kind=CharacteristicKind.CHOICE)
    assert codes(clause) == [ProblemCode.KIND_DOES_NOT_FIT]


def test_a_unit_of_the_wrong_kind_names_both_kinds():
    (problem,) = find_problems([replace(WIDTH, upper=mass("65 g"))])
    assert problem.message == "65.0 g is a mass, but width over the tires is a length."


def test_one_number_given_twice_is_reported_at_both_clauses():
    problems = find_problems([WIDTH, WHEELS, replace(MOTOR, number=" 3.1 ")])
    assert [(problem.code, problem.index) for problem in problems] == [
        (ProblemCode.DUPLICATE_NUMBER, 0),
        (ProblemCode.DUPLICATE_NUMBER, 2),
    ]


def test_only_what_leaves_the_sheet_decidable_may_be_published():
    warnings = {
        problem.code
        for clause in (
            replace(RIM, tolerance=length("0")),
            replace(MOTOR, choices=("a", "A")),
            replace(BRAID, characteristic="braid"),
        )
        for problem in find_problems([clause])
        if not problem.blocking
    }
    assert warnings == {ProblemCode.TOLERANCE_ZERO, ProblemCode.DUPLICATE_CHOICE, ProblemCode.NOTHING_TO_CHECK}


class TestPlausibleBand:
    band = PlausibleBand(lower=length("50 mm"), upper=length("3.5 in"))

    def test_a_limit_outside_the_band_is_a_warning(self):
        (problem,) = find_problems([replace(WIDTH, upper=length("6.5 mm"), plausible=self.band)])
        assert (problem.code, problem.blocking) == (ProblemCode.LIMIT_NOT_PLAUSIBLE, False)
        assert find_problems([replace(WIDTH, plausible=self.band)]) == []

    def test_a_band_the_wrong_way_round_blocks(self):
        reversed_band = PlausibleBand(lower=self.band.upper, upper=self.band.lower)
        assert codes(replace(WIDTH, plausible=reversed_band)) == [ProblemCode.PLAUSIBLE_BAND_REVERSED]

    def test_a_band_of_another_kind_blocks(self):
        grams = PlausibleBand(lower=mass("1"), upper=mass("100"))
        assert codes(replace(WIDTH, plausible=grams)) == [ProblemCode.UNIT_OF_WRONG_KIND] * 2


class TestLimits:
    def test_each_comparator_has_its_exact_limits(self):
        assert (WIDTH.limits.lower, WIDTH.limits.upper) == (None, 65)
        least = replace(WIDTH, comparator=Comparator.AT_LEAST, lower=length("9/16 in"), upper=None)
        assert (least.limits.lower, least.limits.upper) == (Fraction("14.2875"), None)
        assert (BAND.limits.lower, BAND.limits.upper) == (60, 65)
        assert (RIM.limits.lower, RIM.limits.upper) == (Fraction("16.246"), Fraction("16.754"))
        assert (WHEELS.limits.lower, WHEELS.limits.upper) == (4, 4)

    def test_limits_keep_how_they_were_written(self):
        clause = replace(WIDTH, upper=length("2 1/16 in"))
        assert clause.limits.upper_written.canonical == "2 1/16 in"
        assert RIM.limits.lower_written.unit.symbol == "mm"

    def test_a_tolerance_in_other_degrees_is_a_difference(self):
        """20 degC within 9 F-degrees is 15 to 25 degC."""
        celsius, fahrenheit, _ = accepted_units(Kind.TEMPERATURE)
        clause = replace(
            RIM,
            kind=CharacteristicKind.TEMPERATURE,
            nominal=make_quantity(20, celsius),
            tolerance=make_quantity(9, fahrenheit),
        )
        assert (clause.limits.lower, clause.limits.upper) == (15, 25)

    @pytest.mark.parametrize("clause", [MOTOR, WINDOWS, SPIRIT, BRAID])
    def test_a_clause_that_measures_nothing_has_none(self, clause):
        assert clause.limits is None

    def test_a_clause_that_only_informs_is_not_checked(self):
        assert [clause.is_checked for clause in SOUND] == [True] * 7 + [False]

    @given(st.data())
    def test_a_numeric_clause_without_blocking_problems_always_has_limits_and_any_clause_is_judged(self, data):
        quantities = st.none() | st.builds(
            make_quantity,
            st.fractions(min_value=-5, max_value=100),
            st.sampled_from([base_unit(Kind.LENGTH), base_unit(Kind.MASS), base_unit(Kind.COUNT)]),
        )
        clause = Clause(
            number=data.draw(st.sampled_from(["1", ""])),
            text=data.draw(st.sampled_from(["text", ""])),
            characteristic=data.draw(st.sampled_from(["width", ""])),
            kind=data.draw(st.none() | st.sampled_from(CharacteristicKind)),
            measuring_point=data.draw(st.sampled_from(["rear", ""])),
            comparator=data.draw(st.none() | st.sampled_from(Comparator)),
            lower=data.draw(quantities),
            upper=data.draw(quantities),
            nominal=data.draw(quantities),
            tolerance=data.draw(quantities),
            choices=tuple(data.draw(st.lists(st.sampled_from(["a", "A", " "]), max_size=3))),
            expected_answer=data.draw(st.none() | st.booleans()),
            judge_reason=data.draw(st.sampled_from(["because", ""])),
            plausible=None,
        )
        problems = find_problems([clause])
        for problem in problems:
            assert problem.message == PROBLEMS[problem.code] % problem.params
        numeric = clause.comparator in {
            Comparator.AT_LEAST, Comparator.AT_MOST, Comparator.BETWEEN, Comparator.EQUAL_WITHIN,
        }  # fmt: skip
        if not any(problem.blocking for problem in problems):
            assert (clause.limits is not None) is numeric


def test_choices_are_compared_without_case_width_and_runs_of_blanks():
    assert normalize_choice("  LONG \u00a0can\n") == normalize_choice("long can")
    assert normalize_choice("\uff21") == "a"
    assert normalize_choice("Straße") == normalize_choice("STRASSE")


def test_every_problem_has_a_message():
    assert set(PROBLEMS) == set(ProblemCode)


def test_every_kind_of_quantity_is_a_kind_of_characteristic():
    assert {kind.quantity_kind for kind in CharacteristicKind} == {*Kind, None}

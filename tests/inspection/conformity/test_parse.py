"""Rules from their data form: what is read, and where it says that it cannot be read."""

import datetime as dt
from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.assess import RuleStyle
from inspection.conformity.clauses import Allowance, CharacteristicKind, Clause, Comparator, Counts, ToleranceStyle
from inspection.conformity.conditions import OPERATORS, About, AllOf, AnyOf, Op, Term
from inspection.conformity.errors import RULE_MESSAGES, RuleCode, RuleError
from inspection.conformity.parse import (
    MAX_DEPTH,
    NamedList,
    make_decision_rule,
    parse_allowance,
    parse_clause,
    parse_condition,
    parse_derivation,
    parse_factor,
    parse_parts,
    parse_rows,
    with_rules,
    write_condition,
)
from inspection.conformity.subjects import Derivation, DerivationForm, Subject
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind, as_unit

K = CharacteristicKind
REGISTER = {
    one.code: one
    for one in [
        Subject(code="width", name="width", kind=K.LENGTH, unit=as_unit("mm", Kind.LENGTH), measuring_point="rear"),
        Subject(code="height", name="height", kind=K.LENGTH, unit=as_unit("in", Kind.LENGTH)),
        Subject(code="motor", name="motor", kind=K.CHOICE),
        Subject(code="windows", name="windows clear", kind=K.YES_NO),
        Subject(code="teeth", name="pinion teeth", kind=K.COUNT),
    ]
}


def refused(parse, *args, **more) -> tuple[RuleCode, str]:
    with pytest.raises(RuleError) as error:
        parse(*args, **more)
    assert str(error.value) == RULE_MESSAGES[error.value.code] % error.value.params
    return error.value.code, error.value.path


class TestConditions:
    def test_terms_are_read_in_the_units_of_the_register(self):
        term = parse_condition(
            {"about": "characteristic", "name": "height", "is": "between", "values": ["1 1/8", "35 mm"]}, REGISTER
        )
        assert isinstance(term, Term)
        assert [quantity.base for quantity in term.quantities] == [Fraction("28.575"), 35]

    def test_dates_are_read(self):
        term = parse_condition({"about": "date", "is": "at_least", "values": ["2026-03-01"]}, REGISTER)
        assert term.dates == (dt.date(2026, 3, 1),)

    def test_groups_nest(self):
        data = {"all": [{"about": "junior", "is": "yes"}, {"any": [{"about": "flag", "name": "wet", "is": "no"}]}]}
        condition = parse_condition(data, REGISTER)
        assert isinstance(condition, AllOf)
        assert isinstance(condition.parts[1], AnyOf)
        assert write_condition(condition) == data

    @pytest.mark.parametrize("nothing", [{}, None])
    def test_nothing_is_no_condition(self, nothing):
        assert parse_condition(nothing, REGISTER) is None
        assert write_condition(None) == {}

    def test_an_unknown_characteristic_is_left_to_the_linter(self):
        data = {"about": "characteristic", "name": "halo", "is": "below", "values": ["3 mm"]}
        assert parse_condition(data, REGISTER).quantities == ()

    @pytest.mark.parametrize(
        ("data", "code", "path"),
        [
            ("yes", RuleCode.NOT_AN_OBJECT, "when"),
            ([1], RuleCode.NOT_AN_OBJECT, "when"),
            ({"all": {}}, RuleCode.NOT_A_LIST, "when.all"),
            ({"all": []}, RuleCode.FIELD_MISSING, "when.all"),
            ({"all": [], "any": []}, RuleCode.UNKNOWN_FIELD, "when"),
            ({"any": ["x"]}, RuleCode.NOT_AN_OBJECT, "when.any[0]"),
            ({"about": "weather", "is": "yes"}, RuleCode.UNKNOWN_WORD, "when.about"),
            ({"about": "junior"}, RuleCode.UNKNOWN_WORD, "when.is"),
            ({"about": "junior", "is": "yes", "not": 1}, RuleCode.UNKNOWN_FIELD, "when"),
            ({"about": "junior", "is": "passed"}, RuleCode.OPERATOR_DOES_NOT_FIT, "when.is"),
            ({"about": "flag", "is": "yes"}, RuleCode.FIELD_MISSING, "when.name"),
            ({"about": "junior", "is": "yes", "values": ["x"]}, RuleCode.WRONG_VALUES, "when.values"),
            ({"about": "class", "is": "one_of"}, RuleCode.WRONG_VALUES, "when.values"),
            ({"about": "class", "is": "one_of", "values": [" "]}, RuleCode.WRONG_VALUES, "when.values"),
            ({"about": "class", "is": "one_of", "values": [1]}, RuleCode.NOT_TEXT, "when.values[0]"),
            ({"about": "date", "is": "at_least", "values": ["1 March"]}, RuleCode.BAD_DATE, "when.values[0]"),
            ({"about": "date", "is": "between", "values": ["2026-03-01"]}, RuleCode.WRONG_VALUES, "when.values"),
            ({"about": "characteristic", "name": "motor", "is": "at_least", "values": ["1"]},
             RuleCode.OPERATOR_DOES_NOT_FIT, "when.is"),
            ({"about": "characteristic", "name": "windows", "is": "one_of", "values": ["yes"]},
             RuleCode.OPERATOR_DOES_NOT_FIT, "when.is"),
            ({"about": "characteristic", "name": "width", "is": "yes"}, RuleCode.OPERATOR_DOES_NOT_FIT, "when.is"),
            ({"about": "characteristic", "name": "width", "is": "below", "values": ["3 g"]},
             RuleCode.BAD_QUANTITY, "when.values[0]"),
            ({"all": [{"any": [{"all": [{"any": [{"about": "junior", "is": "yes"}]}]}]}]},
             RuleCode.TOO_DEEP, "when.all[0].any[0].all[0].any[0]"),
            ({"about": "class", "is": "one_of", "values": ["x"] * 201}, RuleCode.TOO_MANY, "when.values"),
        ],
    )  # fmt: skip
    def test_what_cannot_be_read_says_where(self, data, code, path):
        assert refused(parse_condition, data, REGISTER, "when") == (code, path)


VALUES = {About.DATE: ["2026-03-01", "2026-03-31"]}


def terms():
    def make(about: About, op: Op) -> dict:
        term = {"about": about.value, "is": op.value}
        if about in {About.CHARACTERISTIC, About.CLAUSE, About.RESTRICTED, About.FLAG}:
            term = {"about": about.value, "name": "unheard-of", "is": op.value}
        values = VALUES.get(about, ["a", "b"])
        if op in {Op.ONE_OF, Op.NONE_OF, Op.BETWEEN}:
            term["values"] = values
        elif op in {Op.AT_LEAST, Op.AT_MOST, Op.BELOW, Op.ABOVE}:
            term["values"] = values[:1]
        return term

    pairs = [(about, op) for about, ops in OPERATORS.items() for op in sorted(ops)]
    return st.sampled_from(pairs).map(lambda pair: make(*pair))


def conditions(depth: int):
    if depth == 0:
        return terms()
    inner = st.lists(conditions(depth - 1), min_size=1, max_size=3)
    return terms() | inner.map(lambda parts: {"all": parts}) | inner.map(lambda parts: {"any": parts})


@given(conditions(MAX_DEPTH - 1))
def test_what_is_read_is_written_back_unchanged(data):
    assert write_condition(parse_condition(data, REGISTER)) == data


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 30) | st.floats(allow_nan=False) | st.text(max_size=5)
    | st.sampled_from(["all_of", "at_most", "width", "motor", "3 mm", "one_of", "phase", "yes"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["all", "any", "about", "name", "is", "values", "when", "upper", "comparator", "parts",
                         "characteristic", "choices", "other", "factor", "limit_rows", "applies_when", "number"]),
        inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


@given(JSON)
def test_whatever_is_given_is_read_or_refused_in_words(data):
    for parse in (
        lambda: parse_condition(data, REGISTER),
        lambda: parse_clause(data, REGISTER),
        lambda: parse_parts(data, REGISTER, number="1"),
        lambda: parse_rows(data, REGISTER, kind=Kind.LENGTH),
        lambda: parse_derivation(data),
    ):
        with suppress(RuleError):
            parse()
    stored = dict.fromkeys(("applies_when", "unless", "limit_rows", "parts", "other", "factor", "allowance"), data)
    assert isinstance(with_rules(Clause(number="1", text="x"), stored, REGISTER), Clause)


class TestClauses:
    def test_a_whole_clause(self):
        gauge = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction("0.01"), max_permissible_error=Fraction("0.02"))
        clause = parse_clause(
            {
                "number": "4.2",
                "text": "Width.",
                "characteristic": "width",
                "comparator": "at_most",
                "upper": "2 1/16 in",
                "tolerance_style": "in_rule",
                "allowance": "10 %",
                "counts": "mean",
                "readings_wanted": 3,
                "decision_rule": "certain_pass",
                "gauge": "caliper",
                "phases": ["before", "after"],
                "limit_rows": [{"when": {"about": "junior", "is": "yes"}, "upper": "55"}],
                "unless": {"about": "flag", "name": "wet", "is": "yes"},
                "is_struck": False,
                "consequence": "black flag",
            },
            REGISTER,
            gauges={"caliper": gauge},
            guard_factor=Fraction(2),
        )
        assert (clause.code, clause.kind, clause.measuring_point) == ("width", K.LENGTH, "rear")
        assert clause.upper.canonical == "2 1/16 in"
        assert clause.limits.upper == Fraction("52.3875")
        assert (clause.allowance, clause.tolerance_style) == (Allowance(share=Fraction(1, 10)), ToleranceStyle.IN_RULE)
        assert (clause.counts, clause.readings_wanted, clause.gauge) == (Counts.MEAN, 3, gauge)
        assert (clause.decision.style, clause.decision.guard_factor) == (RuleStyle.CERTAIN_PASS, 2)
        assert clause.rows[0].upper.base == 55
        assert clause.is_checked_at("after")
        assert not clause.is_checked_at("impound")

    def test_parts_are_numbered_after_their_clause(self):
        clause = parse_clause(
            {
                "number": "3",
                "text": "x",
                "comparator": "any_of",
                "parts": [
                    {"characteristic": "windows", "comparator": "yes_no"},
                    {
                        "comparator": "all_of",
                        "parts": [{"characteristic": "width", "comparator": "at_most", "upper": "1"}],
                    },
                ],
            },
            REGISTER,
        )
        assert [part.number for part in clause.parts] == ["3/1", "3/2"]
        assert clause.parts[1].parts[0].number == "3/2/1"
        assert clause.parts[0].expected_answer is True

    def test_a_shared_list_comes_with_its_key(self):
        lists = {"widths": NamedList(entries=(), keyed_by="motor")}
        data = {"number": "1", "text": "x", "characteristic": "width", "comparator": "at_most", "choice_list": "widths"}
        assert parse_clause(data, REGISTER, lists=lists).list_key == "motor"
        assert refused(parse_clause, data, REGISTER) == (RuleCode.UNKNOWN_LIST, "choice_list")

    @pytest.mark.parametrize(
        ("more", "code", "path"),
        [
            ({"characteristic": "halo"}, RuleCode.UNKNOWN_CHARACTERISTIC, "clause.characteristic"),
            ({"other": "halo"}, RuleCode.UNKNOWN_CHARACTERISTIC, "clause.other"),
            ({"comparator": "exactly"}, RuleCode.UNKNOWN_WORD, "clause.comparator"),
            ({"counts": "median"}, RuleCode.UNKNOWN_WORD, "clause.counts"),
            ({"tolerance_style": "some"}, RuleCode.UNKNOWN_WORD, "clause.tolerance_style"),
            ({"decision_rule": "coin"}, RuleCode.UNKNOWN_WORD, "clause.decision_rule"),
            ({"upper": "63,4,1 mm"}, RuleCode.BAD_QUANTITY, "clause.upper"),
            ({"upper": "63 g"}, RuleCode.BAD_QUANTITY, "clause.upper"),
            ({"upper": 63}, RuleCode.NOT_TEXT, "clause.upper"),
            ({"other": "height", "factor": "twice"}, RuleCode.NOT_A_NUMBER, "clause.factor"),
            ({"other": "height", "offset": "2 g"}, RuleCode.BAD_QUANTITY, "clause.offset"),
            ({"allowance": "5 g"}, RuleCode.BAD_QUANTITY, "clause.allowance"),
            ({"choices": "Long can"}, RuleCode.NOT_A_LIST, "clause.choices"),
            ({"readings_wanted": 0}, RuleCode.NOT_A_NUMBER, "clause.readings_wanted"),
            ({"readings_wanted": True}, RuleCode.NOT_A_NUMBER, "clause.readings_wanted"),
            ({"comparator": "yes_no", "expected_answer": "no"}, RuleCode.NOT_YES_NO, "clause.expected_answer"),
            ({"is_struck": 1}, RuleCode.NOT_YES_NO, "clause.is_struck"),
            ({"color": "red"}, RuleCode.UNKNOWN_FIELD, "clause"),
            ({"limit_rows": [{"upper": "1"}]}, RuleCode.FIELD_MISSING, "clause.limit_rows[0]"),
            ({"limit_rows": [{"when": {}, "upper": "x"}]}, RuleCode.BAD_QUANTITY, "clause.limit_rows[0].upper"),
            ({"limit_rows": [{"when": {"is": "yes"}}]}, RuleCode.UNKNOWN_WORD, "clause.limit_rows[0].when.about"),
            ({"parts": [{"number": "1"}]}, RuleCode.UNKNOWN_FIELD, "clause.parts[0]"),
            ({"parts": [{"parts": [{"parts": [{}]}]}]}, RuleCode.TOO_DEEP, "clause.parts[0].parts[0].parts"),
            ({"parts": [{"characteristic": "motor", "lower": "1 mm"}]}, RuleCode.BAD_QUANTITY, "clause.parts[0].lower"),
            ({"parts": [{}] * 21}, RuleCode.TOO_MANY, "clause.parts"),
        ],
    )
    def test_what_cannot_be_read_says_where(self, more, code, path):
        data = {"number": "1", "text": "x", "characteristic": "width", "comparator": "at_most", **more}
        assert refused(parse_clause, data, REGISTER, path="clause") == (code, path)

    def test_a_stored_row_keeps_what_cannot_be_read_as_faults(self):
        plain = Clause(number="1", text="x", kind=K.LENGTH, comparator=Comparator.AT_MOST)
        stored = {
            "applies_when": {"about": "junior", "is": "yes"}, "unless": {"about": "weather"}, "factor": "2",
            "other": "halo", "limit_rows": [{"when": {}, "upper": "3 mm"}], "parts": [{"comparator": "exactly"}],
            "allowance": "lots",
        }  # fmt: skip
        clause = with_rules(plain, stored, REGISTER)
        assert [fault.path for fault in clause.faults] == ["unless.about", "parts[0].comparator", "other", "allowance"]
        assert clause.applies_when == Term(About.JUNIOR, Op.YES)
        assert clause.rows[0].when == AllOf(())
        assert with_rules(plain, {}, REGISTER) == plain


@pytest.mark.parametrize(
    ("text", "value"),
    [("", 1), ("2", 2), ("-0.5", Fraction(-1, 2)), (".8", Fraction(4, 5)), ("4/5", Fraction(4, 5)), ("\u22122", -2)],
)
def test_factors(text, value):
    assert parse_factor(text) == value


@pytest.mark.parametrize("text", ["1/0", "1e3", "two", "1,5", "--1", "1 1/2", "nan"])
def test_what_is_no_factor(text):
    assert refused(parse_factor, text, "factor") == (RuleCode.NOT_A_NUMBER, "factor")


class TestAllowances:
    def test_a_share_or_a_quantity(self):
        assert parse_allowance("10 %", Kind.ROTATION_SPEED) == Allowance(share=Fraction(1, 10))
        assert parse_allowance("± 0.5 g", Kind.MASS).quantity.base == Fraction(1, 2)
        assert parse_allowance("", Kind.MASS) is None

    def test_of_a_ratio_percent_are_the_quantity_itself(self):
        assert parse_allowance("1 %", Kind.RATIO).quantity.base == Fraction(1, 100)


class TestDerivations:
    def test_each_form(self):
        assert parse_derivation({"form": "ratio", "of": ["a", "b"]}) == Derivation(DerivationForm.RATIO, ("a", "b"))
        track = parse_derivation({"form": "track", "value": "slot_depth_mm"})
        assert track == Derivation(DerivationForm.TRACK, (), "slot_depth_mm")
        assert parse_derivation({}) is None

    @pytest.mark.parametrize(
        ("data", "code", "path"),
        [
            ({"form": "root", "of": ["a"]}, RuleCode.UNKNOWN_WORD, "form"),
            ({"form": "ratio", "of": ["a"]}, RuleCode.WRONG_VALUES, "of"),
            ({"form": "rollout", "of": ["a", "b"]}, RuleCode.WRONG_VALUES, "of"),
            ({"form": "track", "value": "color"}, RuleCode.UNKNOWN_WORD, "value"),
            ({"form": "track"}, RuleCode.UNKNOWN_WORD, "value"),
            ({"form": "sum", "of": ["a", "b"], "value": "x"}, RuleCode.UNKNOWN_WORD, "value"),
            ([], None, ""),
            ("sum", RuleCode.NOT_AN_OBJECT, ""),
        ],
    )
    def test_what_cannot_be_read(self, data, code, path):
        if code is None:
            assert parse_derivation(data) is None
        else:
            assert refused(parse_derivation, data) == (code, path)


def test_simple_acceptance_has_no_guard_band():
    assert make_decision_rule("simple_acceptance", Fraction(2)).guard_factor == 0
    assert make_decision_rule("benefit_of_doubt", Fraction(2)).guard_factor == 2


def test_every_code_has_a_message():
    assert set(RULE_MESSAGES) == set(RuleCode)

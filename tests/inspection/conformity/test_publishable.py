"""What the linter lets through can be decided: no car and no night finds a rule that does not work."""

import datetime as dt
from contextlib import suppress
from fractions import Fraction
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS, SIMPLE_ACCEPTANCE
from inspection.conformity.clauses import Clause, ListEntry
from inspection.conformity.conditions import Lacking
from inspection.conformity.errors import RuleError
from inspection.conformity.facts import Facts
from inspection.conformity.inputs import inputs_of
from inspection.conformity.lint import find_problems
from inspection.conformity.observations import Reading, measured, named, said
from inspection.conformity.parse import NamedList, parse_clause
from inspection.conformity.problems import ProblemCode
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.subjects import TRACK_VALUES, CharacteristicKind, Derivation, DerivationForm, Subject
from inspection.conformity.verdicts import Outcome
from inspection.units import Kind, as_unit

K = CharacteristicKind


def subject(code: str, kind: CharacteristicKind, form: DerivationForm | None = None, *of: str, track: str = ""):
    unit = as_unit("mm", Kind.LENGTH) if kind is K.LENGTH else None
    derivation = Derivation(form, of, track) if form else None
    return Subject(code=code, name=code, kind=kind, unit=unit, measuring_point="there", derivation=derivation)


REGISTER = {
    one.code: one
    for one in [
        subject("width", K.LENGTH),
        subject("height", K.LENGTH),
        subject("teeth", K.COUNT),
        subject("gear", K.COUNT),
        subject("motor", K.CHOICE),
        subject("windows", K.YES_NO),
        subject("ratio", K.RATIO, DerivationForm.RATIO, "gear", "teeth"),
        subject("step", K.LENGTH, DerivationForm.DIFFERENCE, "width", "height"),
        subject("spacing", K.LENGTH, DerivationForm.TRACK, track="lane_spacing_mm"),
        subject("broken", K.LENGTH, DerivationForm.SUM, "broken", "width"),
    ]
}
LISTS = {
    "motors": NamedList(entries=(ListEntry(value="A"), ListEntry(value="B", allowed_until=dt.date(2026, 1, 1)))),
    "widths": NamedList(keyed_by="motor", entries=(ListEntry(value="60 mm", key="A"), ListEntry(value="61", key="B"))),
}
COMPARATORS = ["at_least", "at_most", "between", "equal_within", "one_of", "yes_no", "as_supplied"]
JOINS = st.sampled_from(["all_of", "any_of"])
LENGTHS = st.sampled_from(["", "10 mm", "1 in", "30", "40 mm", "3 g"])
CODES = st.sampled_from([*REGISTER, ""])


def some(**fields: st.SearchStrategy) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=fields)


TERMS = st.one_of(
    st.builds(lambda op: {"about": "characteristic", "name": "windows", "is": op}, st.sampled_from(["yes", "no"])),
    st.builds(lambda op, v: {"about": "characteristic", "name": "width", "is": op, "values": [v]},
              st.sampled_from(["below", "at_least", "above"]), st.sampled_from(["20 mm", "1 in"])),
    st.builds(lambda op, v: {"about": "characteristic", "name": "motor", "is": op, "values": [v]},
              st.sampled_from(["one_of", "none_of"]), st.sampled_from(["A", "B"])),
    st.builds(lambda n, op: {"about": "clause", "name": n, "is": op}, st.sampled_from("123"),
              st.sampled_from(["passed", "failed"])),
    st.builds(lambda op: {"about": "junior", "is": op}, st.sampled_from(["yes", "no"])),
    st.builds(lambda op: {"about": "scale", "is": op, "values": ["1:24"]}, st.sampled_from(["one_of", "none_of"])),
    st.just({"about": "flag", "name": "wet", "is": "yes"}),
    st.just({"about": "restricted", "name": "motor", "is": "yes"}),
    st.just({"about": "date", "is": "at_least", "values": ["2026-03-01"]}),
)  # fmt: skip
CONDITIONS = st.one_of(
    st.just({}),
    TERMS,
    st.lists(TERMS, min_size=1, max_size=2).map(lambda terms: {"all": terms}),
    st.lists(TERMS, min_size=1, max_size=2).map(lambda terms: {"any": terms}),
)
ROWS = st.lists(
    some(lower=LENGTHS, upper=LENGTHS, nominal=LENGTHS, choices=st.just(["A"])).flatmap(
        lambda row: CONDITIONS.map(lambda when: row | {"when": when})
    ),
    max_size=2,
)


def rules(depth: int) -> st.SearchStrategy[dict[str, Any]]:
    fields: dict[str, st.SearchStrategy] = {
        "characteristic": CODES,
        "comparator": st.sampled_from(COMPARATORS),
        "lower": LENGTHS, "upper": LENGTHS, "nominal": LENGTHS, "tolerance": LENGTHS, "other": CODES,
        "factor": st.sampled_from(["", "2", "-1/2"]), "choices": st.sampled_from([[], ["A"], ["A", "8"]]),
        "choice_list": st.sampled_from(["", "motors", "widths"]), "applies_when": CONDITIONS, "unless": CONDITIONS,
        "limit_rows": ROWS, "counts": st.sampled_from(["each", "mean"]), "readings_wanted": st.sampled_from([1, 2]),
        "allowance": st.sampled_from(["", "10 %", "1 mm"]), "tolerance_style": st.sampled_from(["", "in_rule", "none"]),
        "decision_rule": st.sampled_from(["", "certain_pass"]), "phases": st.sampled_from([[], ["before", "after"]]),
    }  # fmt: skip
    if depth:
        inner = st.lists(rules(0).map(_as_part), max_size=2)
        groups = some(applies_when=CONDITIONS).flatmap(
            lambda more: st.builds(
                lambda join, parts: more | {"comparator": join, "parts": parts},
                st.sampled_from(["all_of", "any_of"]),
                inner,
            )
        )
        return st.one_of(some(**fields), _sound(), groups)
    return st.one_of(some(**fields), _sound())


def _as_part(rule: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in rule.items() if name not in {"decision_rule", "phases"}}


def _sound() -> st.SearchStrategy[dict[str, Any]]:
    """Rules that are mostly as they should be, so that many sheets have nothing wrong."""
    plain = st.sampled_from(
        [
            {"characteristic": "width", "comparator": "at_most", "upper": "40 mm"},
            {"characteristic": "width", "comparator": "at_most", "choice_list": "widths"},
            {"characteristic": "step", "comparator": "at_most", "other": "spacing", "factor": "2"},
            {"characteristic": "ratio", "comparator": "at_least", "lower": "2"},
            {"characteristic": "teeth", "comparator": "one_of", "choices": ["8", "9"]},
            {"characteristic": "motor", "comparator": "one_of", "choice_list": "motors"},
            {"characteristic": "windows", "comparator": "yes_no"},
            {"characteristic": "motor", "comparator": "as_supplied"},
        ]
    )
    more = some(applies_when=CONDITIONS, unless=CONDITIONS, limit_rows=ROWS)
    return st.builds(lambda rule, extra: rule | extra, plain, more)


def sheets(draw: Any) -> list[Clause]:
    clauses = []
    for number, rule in enumerate(draw(st.lists(rules(1), min_size=1, max_size=3)), start=1):
        with suppress(RuleError):
            clauses.append(parse_clause({"number": str(number), "text": "As said.", **rule}, REGISTER, lists=LISTS))
    return clauses


SIZES = st.integers(1, 60).map(Fraction)


def everything(draw: Any) -> dict[str, Any]:
    """A car of which everything is known."""

    def lengths():
        return measured(
            *(Reading(Kind.LENGTH, size, Fraction(1, 100)) for size in draw(st.lists(SIZES, min_size=2, max_size=2)))
        )

    def count():
        return measured(Reading(Kind.COUNT, draw(SIZES)))

    return {
        "width": lengths(), "height": lengths(), "teeth": count(), "gear": count(),
        "motor": named(draw(st.sampled_from(["A", "B"]))), "windows": said(draw(st.booleans())),
    }  # fmt: skip


def a_night(draw: Any) -> Facts:
    return Facts(
        racing_class="Retro", scale=draw(st.sampled_from(["1:24", "1:32"])), grade="Novice", junior=draw(st.booleans()),
        track="Hall", date=draw(st.sampled_from([dt.date(2025, 1, 1), dt.date(2026, 4, 1)])),
        flags=draw(st.sampled_from([frozenset(), frozenset({"wet"})])),
        track_values=dict.fromkeys(TRACK_VALUES, Fraction(50)),
    )  # fmt: skip


DECISIONS = st.sampled_from([SIMPLE_ACCEPTANCE, BENEFIT_OF_DOUBT, CERTAIN_PASS])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(st.data())
def test_a_sheet_without_blocking_problems_is_decided_for_every_car_of_which_all_is_known(data):
    clauses = sheets(data.draw)
    decision = data.draw(DECISIONS)
    problems = find_problems(clauses, register=REGISTER, decision=decision)
    open_cases = {problem.index for problem in problems if problem.code is ProblemCode.NO_LIMIT_ELSEWHERE}
    assume(clauses and not open_cases and not any(problem.blocking for problem in problems))
    sheet = Sheet(clauses=tuple(clauses), register=REGISTER, decision=decision)
    for result in judge_sheet(sheet, everything(data.draw), a_night(data.draw)):
        assert result.outcome in {Outcome.PASS, Outcome.FAIL, Outcome.TOO_CLOSE, Outcome.NOT_APPLICABLE}


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_whatever_is_written_is_linted_and_judged_and_what_is_missing_is_among_the_inputs(data):
    clauses = sheets(data.draw)
    problems = find_problems(clauses, register=REGISTER, parent=sheets(data.draw))
    blocked = {clauses[problem.index].number for problem in problems if problem.blocking}
    known = everything(data.draw)
    found = {code: known[code] for code in data.draw(st.sets(st.sampled_from(sorted(known))))}
    for result in judge_sheet(Sheet(clauses=tuple(clauses), register=REGISTER), found, a_night(data.draw)):
        if result.clause.number in blocked:
            continue
        inputs = inputs_of(result.clause, REGISTER)
        lacking = {miss.name for miss in result.missing if miss.lacking is Lacking.CHARACTERISTIC and miss.name}
        assert lacking <= {*inputs.found, *inputs.asked}
        assert set(result.inputs) <= set(inputs.found)

"""Rules from their data form, as a form of a page, a file or a stored row has them, and back.

Every function says by a `RuleError` what cannot be read and where (its path), but for `with_rules`, which keeps
what it cannot read as the clause's faults. Quantities are text with a decimal point; a number without a unit is in
the characteristic's usual one.
"""

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import Any, Final, TypeVar

from inspection.conformity.assess import DEFAULT_GUARD_FACTOR, DecisionRule, RuleStyle
from inspection.conformity.clauses import (
    LIMIT_NAMES,
    Allowance,
    Clause,
    Comparator,
    Counts,
    LimitRow,
    ListEntry,
    Reference,
    ToleranceStyle,
)
from inspection.conformity.conditions import (
    ANSWERS,
    LISTS,
    NAMED,
    OPERATORS,
    ORDER,
    About,
    AllOf,
    AnyOf,
    Condition,
    Op,
    Term,
)
from inspection.conformity.errors import RuleCode, RuleError
from inspection.conformity.subjects import (
    FORM_TAKES,
    TRACK_VALUES,
    CharacteristicKind,
    Derivation,
    DerivationForm,
    Register,
    Subject,
)
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind, Quantity, Unit, UnitsError, base_unit, parse_quantity

MAX_PARTS: Final = 20
MAX_ROWS: Final = 60
MAX_VALUES: Final = 200
MAX_DEPTH: Final = 4  # of a condition
GROUP_DEPTH: Final = 2  # all_of inside any_of, and no deeper


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedList:
    """A shared list. keyed_by: the code of the characteristic that picks its entries, or ""."""

    entries: tuple[ListEntry, ...]
    keyed_by: str = ""


Lists = Mapping[str, NamedList]  # by name


# ---- plain values ----------------------------------------------------------------------------------------------------

_Word = TypeVar("_Word", bound=StrEnum)
_Got = TypeVar("_Got")


def _text(data: Any, path: str) -> str:
    if data is None:
        return ""
    if not isinstance(data, str):
        raise RuleError(RuleCode.NOT_TEXT, path)
    return data.strip()


def _object(data: Any, path: str, fields: frozenset[str] | None = None) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise RuleError(RuleCode.NOT_AN_OBJECT, path)
    for name in data:
        if fields is not None and name not in fields:
            raise RuleError(RuleCode.UNKNOWN_FIELD, path, field=str(name)[:40])
    return data


def _list(data: Any, path: str, limit: int) -> Sequence[Any]:
    if data is None:
        return ()
    if not isinstance(data, list | tuple):
        raise RuleError(RuleCode.NOT_A_LIST, path)
    if len(data) > limit:
        raise RuleError(RuleCode.TOO_MANY, path, limit=str(limit))
    return data


def _texts(data: Any, path: str) -> tuple[str, ...]:
    return tuple(_text(one, f"{path}[{place}]") for place, one in enumerate(_list(data, path, MAX_VALUES)))


def _word(data: Any, words: type[_Word], path: str) -> _Word:
    text = _text(data, path)
    if text not in set(words):
        raise RuleError(RuleCode.UNKNOWN_WORD, path, word=text[:40], allowed=", ".join(words))
    return words(text)


def _flag(data: Any, path: str) -> bool:
    if not isinstance(data, bool):
        raise RuleError(RuleCode.NOT_YES_NO, path)
    return data


def _count(data: Any, path: str) -> int:
    if isinstance(data, bool) or not isinstance(data, int) or not 1 <= data <= 20:
        raise RuleError(RuleCode.NOT_A_NUMBER, path, text=str(data)[:40])
    return data


def _at(path: str, name: str) -> str:
    return f"{path}.{name}" if path else name


_NUMBER: Final = re.compile(r"-?(?:[0-9]{1,12}(?:\.[0-9]{1,12})?|\.[0-9]{1,12}|[0-9]{1,6}/[1-9][0-9]{0,5})")


def parse_factor(text: str, path: str = "") -> Fraction:
    """A plain number: "2", "-0.5", ".8", "4/5"; nothing is 1. Raises RuleError not_a_number."""
    typed = _text(text, path).replace("\u2212", "-")
    if not typed:
        return Fraction(1)
    if _NUMBER.fullmatch(typed) is None:
        raise RuleError(RuleCode.NOT_A_NUMBER, path, text=typed[:40])
    return Fraction(typed)


def parse_size(text: str, kind: Kind | None, unit: Unit | None = None, path: str = "") -> Quantity:
    """A quantity of a kind, as stored. unit: when none is written. Raises RuleError bad_quantity."""
    typed = _text(text, path)
    if kind is None:
        raise RuleError(RuleCode.BAD_QUANTITY, path, text=typed[:40], why="nothing of this kind is measured.")
    default = unit if unit is not None and unit.kind is kind else None
    try:
        return parse_quantity(typed, kind, default_unit=default, allow_negative=True)
    except UnitsError as error:
        raise RuleError(RuleCode.BAD_QUANTITY, path, text=typed[:40], why=str(error)) from error


def parse_date(text: str, path: str = "") -> dt.date:
    """A date as 2026-03-31. Raises RuleError bad_date."""
    typed = _text(text, path)
    try:
        return dt.date.fromisoformat(typed)
    except ValueError as error:
        raise RuleError(RuleCode.BAD_DATE, path, text=typed[:40]) from error


def parse_allowance(text: str, kind: Kind | None, unit: Unit | None = None, path: str = "") -> Allowance | None:
    """A tolerance printed in a clause: "10 %" of the limit, or "0.5 g"; None for no text.

    Raises RuleError bad_quantity.
    """
    typed = _text(text, path).lstrip("±+").strip()
    if not typed:
        return None
    if typed.endswith("%") and kind is not Kind.RATIO:
        return Allowance(share=parse_size(typed, Kind.RATIO, None, path).base)
    return Allowance(quantity=parse_size(typed, kind, unit, path))


def parse_derivation(data: Any, path: str = "") -> Derivation | None:
    """{"form": "ratio", "of": [code, code]} or {"form": "track", "value": "slot_depth_mm"}; None for {} or None.

    Raises RuleError.
    """
    if not data:
        return None
    fields = _object(data, path, frozenset({"form", "of", "value"}))
    form = _word(fields.get("form"), DerivationForm, _at(path, "form"))
    of = _texts(fields.get("of"), _at(path, "of"))
    least, most = FORM_TAKES[form]
    if not least <= len(of) <= most:
        wanted = str(least) if least == most else f"{least} to {most}"
        raise RuleError(RuleCode.WRONG_VALUES, _at(path, "of"), operator=form.value, wanted=f"{wanted} characteristics")
    value = _text(fields.get("value"), _at(path, "value"))
    if (form is DerivationForm.TRACK) != bool(value) or (value and value not in TRACK_VALUES):
        allowed = ", ".join(TRACK_VALUES) if form is DerivationForm.TRACK else "nothing"
        raise RuleError(RuleCode.UNKNOWN_WORD, _at(path, "value"), word=value[:40], allowed=allowed)
    return Derivation(form, of, value)


def make_decision_rule(style: str, guard_factor: Fraction = DEFAULT_GUARD_FACTOR, path: str = "") -> DecisionRule:
    """The rule of a word and the sheet's guard factor, which simple acceptance has none of. Raises RuleError."""
    found = _word(style, RuleStyle, path)
    return DecisionRule(found, Fraction(0) if found is RuleStyle.SIMPLE_ACCEPTANCE else guard_factor)


# ---- conditions ------------------------------------------------------------------------------------------------------

_TERM_FIELDS: Final = frozenset({"about", "name", "is", "values"})


def parse_condition(data: Any, register: Register, path: str = "") -> Condition | None:
    """A condition: {"all": [...]}, {"any": [...]} or a term {"about", "name", "is", "values"}; None for {} or None.

    A characteristic that the register lacks is no error here: it is never known, and the linter says so.
    Raises RuleError.
    """
    return None if not data else _condition(data, register, path, MAX_DEPTH)


def _condition(data: Any, register: Register, path: str, depth: int) -> Condition:
    fields = _object(data, path)
    if depth == 0:
        raise RuleError(RuleCode.TOO_DEEP, path, limit=str(MAX_DEPTH))
    for word, join in (("all", AllOf), ("any", AnyOf)):
        if word in fields:
            _object(data, path, frozenset({word}))
            here = _at(path, word)
            parts = _list(fields[word], here, MAX_PARTS)
            if not parts:
                raise RuleError(RuleCode.FIELD_MISSING, here, field=word)
            return join(tuple(_condition(part, register, f"{here}[{i}]", depth - 1) for i, part in enumerate(parts)))
    return _term(_object(data, path, _TERM_FIELDS), register, path)


def _term(fields: Mapping[str, Any], register: Register, path: str) -> Term:
    about = _word(fields.get("about"), About, _at(path, "about"))
    op = _word(fields.get("is"), Op, _at(path, "is"))
    name = _text(fields.get("name"), _at(path, "name"))
    if about in NAMED and not name:
        raise RuleError(RuleCode.FIELD_MISSING, _at(path, "name"), field="name")
    subject = register.get(name) if about is About.CHARACTERISTIC else None
    if op not in (_operators_for(subject) if subject else OPERATORS[about]):
        about_words = subject.name if subject else about.value
        raise RuleError(RuleCode.OPERATOR_DOES_NOT_FIT, _at(path, "is"), operator=op.value, about=about_words)
    here = _at(path, "values")
    values = _texts(fields.get("values"), here)
    if "" in values or not _fits(op, len(values)):
        raise RuleError(RuleCode.WRONG_VALUES, here, operator=op.value, wanted=_WANTED[_sort(op)])
    quantities: tuple[Quantity, ...] = ()
    dates: tuple[dt.date, ...] = ()
    if subject is not None and subject.kind.quantity_kind is not None:
        quantities = tuple(
            parse_size(value, subject.kind.quantity_kind, subject.unit, f"{here}[{i}]")
            for i, value in enumerate(values)
        )
    if about is About.DATE:
        dates = tuple(parse_date(value, f"{here}[{i}]") for i, value in enumerate(values))
    return Term(about, op, name if about in NAMED else "", values, quantities, dates)


def _operators_for(subject: Subject) -> frozenset[Op]:
    if subject.kind is CharacteristicKind.YES_NO:
        return ANSWERS
    return LISTS if subject.kind.quantity_kind is None else LISTS | ORDER


def _sort(op: Op) -> str:
    if op in LISTS:
        return "some"
    if op is Op.BETWEEN:
        return "two"
    return "one" if op in ORDER else "none"


_WANTED: Final = {"some": "one value or more", "two": "two values", "one": "one value", "none": "no value"}


def _fits(op: Op, count: int) -> bool:
    return {"some": count >= 1, "two": count == 2, "one": count == 1, "none": count == 0}[_sort(op)]


def write_condition(condition: Condition | None) -> dict[str, Any]:
    """The data form of a condition; {} for none. `parse_condition` reads it back unchanged."""
    match condition:
        case None:
            return {}
        case AllOf():
            return {"all": [write_condition(part) for part in condition.parts]}
        case AnyOf():
            return {"any": [write_condition(part) for part in condition.parts]}
    written: dict[str, Any] = {"about": condition.about.value}
    if condition.name:
        written["name"] = condition.name
    written["is"] = condition.op.value
    if condition.values:
        written["values"] = list(condition.values)
    return written


# ---- clauses ---------------------------------------------------------------------------------------------------------

_PART_FIELDS: Final = frozenset(
    {
        "text", "characteristic", "measuring_point", "comparator", *LIMIT_NAMES, "choices", "choice_list",
        "expected_answer", "other", "factor", "offset", "tolerance_style", "allowance", "parts", "limit_rows",
        "applies_when", "unless", "counts", "readings_wanted", "judge", "judge_reason",
    }
)  # fmt: skip
_CLAUSE_FIELDS: Final = _PART_FIELDS | {
    "id", "number", "decision_rule", "gauge", "phases", "consequence", "is_struck",
}  # fmt: skip
_ROW_FIELDS: Final = frozenset({"when", "choices", *LIMIT_NAMES})


def parse_clause(
    data: Any,
    register: Register,
    *,
    lists: Lists | None = None,
    gauges: Mapping[str, GaugeSpec] | None = None,
    guard_factor: Fraction = DEFAULT_GUARD_FACTOR,
    path: str = "",
) -> Clause:
    """A clause from its data form. gauges: by name; one that is not among them is left out. Raises RuleError."""
    fields = _object(data, path, _CLAUSE_FIELDS)
    number = _text(fields.get("number"), _at(path, "number"))
    clause = _parse_clause(fields, register, lists or {}, number, path, GROUP_DEPTH)
    decision = _text(fields.get("decision_rule"), _at(path, "decision_rule"))
    return replace(
        clause,
        decision=make_decision_rule(decision, guard_factor, _at(path, "decision_rule")) if decision else None,
        phases=_texts(fields.get("phases"), _at(path, "phases")),
        gauge=(gauges or {}).get(_text(fields.get("gauge"), _at(path, "gauge"))),
        is_struck=_flag(fields.get("is_struck", False), _at(path, "is_struck")),
    )


def parse_parts(
    data: Any, register: Register, *, number: str, lists: Lists | None = None, path: str = "parts"
) -> tuple[Clause, ...]:
    """The parts of a group, numbered after its clause: "4.2/1", "4.2/2". Raises RuleError."""
    return _parts(data, register, lists or {}, number, path, GROUP_DEPTH)


def _parts(data: Any, register: Register, lists: Lists, number: str, path: str, depth: int) -> tuple[Clause, ...]:
    parts = _list(data, path, MAX_PARTS)
    if parts and depth == 0:
        raise RuleError(RuleCode.TOO_DEEP, path, limit=str(GROUP_DEPTH))
    return tuple(
        _parse_clause(
            _object(part, f"{path}[{i}]", _PART_FIELDS), register, lists, f"{number}/{i + 1}", f"{path}[{i}]", depth - 1
        )
        for i, part in enumerate(parts)
    )


def parse_rows(
    data: Any, register: Register, *, kind: Kind | None, unit: Unit | None = None, path: str = "limit_rows"
) -> tuple[LimitRow, ...]:
    """Limits by condition: [{"when": CONDITION, "upper": "63 mm"}, ...]. {} as condition always holds.

    Raises RuleError.
    """
    rows: list[LimitRow] = []
    for place, one in enumerate(_list(data, path, MAX_ROWS)):
        here = f"{path}[{place}]"
        fields = _object(one, here, _ROW_FIELDS)
        if "when" not in fields:
            raise RuleError(RuleCode.FIELD_MISSING, here, field="when")
        when = parse_condition(fields["when"], register, _at(here, "when"))
        choices = _texts(fields["choices"], _at(here, "choices")) if fields.get("choices") else None
        limits = _sizes(fields, kind, unit, here)
        rows.append(LimitRow(when=when or AllOf(()), choices=choices, **limits))
    return tuple(rows)


def _sizes(fields: Mapping[str, Any], kind: Kind | None, unit: Unit | None, path: str) -> dict[str, Quantity]:
    written = {name: _text(fields.get(name), _at(path, name)) for name in LIMIT_NAMES}
    return {name: parse_size(text, kind, unit, _at(path, name)) for name, text in written.items() if text}


def parse_reference(
    other: str,
    factor: str = "",
    offset: str = "",
    *,
    register: Register,
    kind: Kind | None,
    unit: Unit | None = None,
    path: str = "",
) -> Reference | None:
    """factor * other + offset, or None when there is no other. Raises RuleError."""
    code = _text(other, _at(path, "other"))
    if not code:
        return None
    if code not in register:
        raise RuleError(RuleCode.UNKNOWN_CHARACTERISTIC, _at(path, "other"), name=code[:60])
    added = _text(offset, _at(path, "offset"))
    return Reference(
        code=code,
        factor=parse_factor(factor, _at(path, "factor")),
        offset=parse_size(added, kind, unit, _at(path, "offset")) if added else None,
    )


def _parse_clause(
    fields: Mapping[str, Any], register: Register, lists: Lists, number: str, path: str, depth: int
) -> Clause:
    code = _text(fields.get("characteristic"), _at(path, "characteristic"))
    subject = register.get(code)
    if code and subject is None:
        raise RuleError(RuleCode.UNKNOWN_CHARACTERISTIC, _at(path, "characteristic"), name=code[:60])
    kind = subject.kind.quantity_kind if subject else None
    unit = subject.unit if subject else None
    comparator = _optional(fields, "comparator", Comparator, path)
    point = _text(fields.get("measuring_point"), _at(path, "measuring_point"))
    named = _named_list(fields, lists, path)
    expected = fields.get("expected_answer", True)
    clause = Clause(
        number=number,
        text=_text(fields.get("text"), _at(path, "text")),
        characteristic=subject.name if subject else "",
        code=code,
        kind=subject.kind if subject else None,
        measuring_point=point or (subject.measuring_point if subject else ""),
        comparator=comparator,
        reference=parse_reference(
            fields.get("other", ""),
            fields.get("factor", ""),
            fields.get("offset", ""),
            register=register,
            kind=kind,
            unit=unit,
            path=path,
        ),
        tolerance_style=_optional(fields, "tolerance_style", ToleranceStyle, path),
        allowance=parse_allowance(fields.get("allowance", ""), kind, unit, _at(path, "allowance")),
        choices=_texts(fields.get("choices"), _at(path, "choices")),
        entries=named.entries if named else (),
        list_key=named.keyed_by if named else "",
        expected_answer=_flag(expected, _at(path, "expected_answer")) if comparator is Comparator.YES_NO else None,
        parts=_parts(fields.get("parts"), register, lists, number, _at(path, "parts"), depth),
        rows=parse_rows(fields.get("limit_rows"), register, kind=kind, unit=unit, path=_at(path, "limit_rows")),
        applies_when=parse_condition(fields.get("applies_when"), register, _at(path, "applies_when")),
        unless=parse_condition(fields.get("unless"), register, _at(path, "unless")),
        counts=_optional(fields, "counts", Counts, path) or Counts.EACH,
        readings_wanted=_count(fields.get("readings_wanted", 1), _at(path, "readings_wanted")),
        judge=_text(fields.get("judge"), _at(path, "judge")),
        judge_reason=_text(fields.get("judge_reason"), _at(path, "judge_reason")),
        unit=unit or (base_unit(kind) if kind else None),
        plausible=subject.plausible if subject else None,
    )
    sizes = _sizes(fields, kind, unit, path)
    return replace(
        clause,
        lower=sizes.get("lower"),
        upper=sizes.get("upper"),
        nominal=sizes.get("nominal"),
        tolerance=sizes.get("tolerance"),
    )


def _optional(fields: Mapping[str, Any], name: str, words: type[_Word], path: str) -> _Word | None:
    text = _text(fields.get(name), _at(path, name))
    return _word(text, words, _at(path, name)) if text else None


def _named_list(fields: Mapping[str, Any], lists: Lists, path: str) -> NamedList | None:
    name = _text(fields.get("choice_list"), _at(path, "choice_list"))
    if not name:
        return None
    if name not in lists:
        raise RuleError(RuleCode.UNKNOWN_LIST, _at(path, "choice_list"), name=name[:60])
    return lists[name]


def with_rules(clause: Clause, stored: Mapping[str, Any], register: Register, lists: Lists | None = None) -> Clause:
    """A clause with what its row keeps as data and text: applies_when, unless, limit_rows, parts, other, factor,
    offset, allowance. Never raises: what cannot be read becomes a fault, which the linter reports and which leaves
    the clause not checked.
    """
    faults: list[RuleError] = []
    kind = clause.kind.quantity_kind if clause.kind else None

    def attempt(parse: Callable[[], _Got], otherwise: _Got) -> _Got:
        try:
            return parse()
        except RuleError as error:
            faults.append(error)
            return otherwise

    read = replace(
        clause,
        applies_when=attempt(lambda: parse_condition(stored.get("applies_when"), register, "applies_when"), None),
        unless=attempt(lambda: parse_condition(stored.get("unless"), register, "unless"), None),
        rows=attempt(lambda: parse_rows(stored.get("limit_rows"), register, kind=kind, unit=clause.unit), ()),
        parts=attempt(lambda: parse_parts(stored.get("parts"), register, number=clause.number, lists=lists), ()),
        reference=attempt(
            lambda: parse_reference(
                stored.get("other") or "",
                stored.get("factor") or "",
                stored.get("offset") or "",
                register=register,
                kind=kind,
                unit=clause.unit,
            ),
            None,
        ),
        allowance=attempt(lambda: parse_allowance(stored.get("allowance") or "", kind, clause.unit, "allowance"), None),
    )
    return replace(read, faults=(*clause.faults, *faults))

"""The clauses of a sheet: as the engine judges them, as pages show them, and what keeps them from publication."""

import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext, gettext_lazy

from inspection.choicelists.selectors import ENTRIES
from inspection.conformity import clauses as engine
from inspection.conformity import lint
from inspection.conformity.assess import (
    BENEFIT_OF_DOUBT,
    CERTAIN_PASS,
    SIMPLE_ACCEPTANCE,
    DecisionRule,
    Limits,
    RuleStyle,
)
from inspection.conformity.clauses import Comparator
from inspection.conformity.parse import NamedList, with_rules
from inspection.conformity.sheet import Sheet
from inspection.conformity.subjects import Derivation, DerivationForm, Subject
from inspection.conformity.uncertainty import GaugeSpec
from inspection.contents.selectors import (
    LIMIT_NAMES,
    ClauseContent,
    Requirement,
    conditions_of,
    content_of,
    plain_content,
    register_of,
    requirements_in,
)
from inspection.gauges.selectors import (
    gauge_spec,
    kind_of,
    plausible_band_of,
    quantity_kind_of,
    read_stored,
    unit_or_none,
)
from inspection.models import Characteristic, Clause, ClauseRuling, Gauge, RuleSheet, RuleSheetRevision
from inspection.units import DecimalMark, Kind, Unit
from inspection.wording.selectors import (
    BEFORE,
    limit_words,
    limit_words_short,  # noqa: F401  who shows a clause finds its words here
    phase_words,
    readings_words,
)

DECISION_RULES: dict[str, DecisionRule] = {
    RuleSheetRevision.Decision.SIMPLE_ACCEPTANCE: SIMPLE_ACCEPTANCE,
    RuleSheetRevision.Decision.BENEFIT_OF_DOUBT: BENEFIT_OF_DOUBT,
    RuleSheetRevision.Decision.CERTAIN_PASS: CERTAIN_PASS,
}
_GROUP_ORDER = {group: place for place, group in enumerate(Characteristic.Group.values)}


# To the engine.


def engine_clause(content: ClauseContent, guard_factor: Fraction | None = None) -> engine.Clause:
    """The clause as the conformity engine reads it. Never raises: what cannot be read becomes a fault of the clause.

    guard_factor: of the sheet, for a clause with a decision rule of its own.
    """
    characteristic = content.characteristic
    kind = kind_of(characteristic) if characteristic else None
    measured = kind.quantity_kind if kind else None
    keyed_by = content.choice_list.keyed_by if content.choice_list else None
    rule = DECISION_RULES.get(content.decision_rule)
    made = engine.Clause(
        number=content.number,
        text=content.text,
        characteristic=characteristic.name if characteristic else "",
        code=characteristic.code if characteristic else "",
        kind=kind,
        measuring_point=content.measuring_point,
        comparator=content.comparator,
        **{name: getattr(content, name) for name in LIMIT_NAMES},
        tolerance_style=engine.ToleranceStyle(content.tolerance_style) if content.tolerance_style else None,
        choices=content.choices,
        entries=_engine_entries(content),
        list_key=keyed_by.code if keyed_by else "",
        expected_answer=content.expected_answer if content.comparator is Comparator.YES_NO else None,
        counts=engine.Counts(content.counts),
        readings_wanted=content.readings_wanted,
        judge=content.judge,
        judge_reason=content.judge_reason,
        decision=None if rule is None else with_guard(rule, guard_factor),
        phases=content.phases,
        unit=unit_or_none(characteristic.unit, measured) if characteristic and measured else None,
        plausible=plausible_band_of(characteristic) if characteristic else None,
        gauge=_spec_of(content),
        is_struck=content.is_struck,
    )
    asks_more = content.parts or content.rows or content.applies_when or content.unless
    if not (asks_more or content.other or content.allowance):
        return made
    return with_rules(made, plain_content(content), _subjects_in(content), _lists_in(content))


def with_guard(rule: DecisionRule, guard_factor: Fraction | None) -> DecisionRule:
    """The rule with a sheet's own guard band factor; simple acceptance has none."""
    if guard_factor is None or rule.style is RuleStyle.SIMPLE_ACCEPTANCE:
        return rule
    return replace(rule, guard_factor=guard_factor)


def _spec_of(content: ClauseContent) -> GaugeSpec | None:
    characteristic = content.characteristic
    gauge = content.gauge or (characteristic.default_gauge if characteristic else None)
    kind = quantity_kind_of(characteristic) if characteristic else None
    return gauge_spec(gauge, kind=kind) if gauge is not None and kind is not None else None


def _engine_entries(one: Requirement) -> tuple[engine.ListEntry, ...]:
    return tuple(
        engine.ListEntry(
            value=entry.value,
            key=entry.key,
            allowed_from=entry.allowed_from,
            allowed_until=entry.allowed_until,
            note=entry.note,
        )
        for entry in one.entries
    )


def _subjects_in(content: ClauseContent) -> dict[str, Subject]:
    """The characteristics that the clause, its parts and its conditions speak of."""
    spoken_of = {
        one.code: one
        for each in requirements_in(content)
        for one in (each.characteristic, each.other)
        if one is not None
    }
    named = {atom.get("name", "") for atom in conditions_of(content)}
    return subjects_of(spoken_of | {code: content.spoken_of[code] for code in named if code in content.spoken_of})


def _lists_in(content: ClauseContent) -> dict[str, NamedList]:
    return {
        one.choice_list.name: NamedList(
            entries=_engine_entries(one), keyed_by=one.choice_list.keyed_by.code if one.choice_list.keyed_by else ""
        )
        for one in requirements_in(content)
        if one.choice_list is not None
    }


def subjects_of(register: Mapping[str, Characteristic]) -> dict[str, Subject]:
    """The club's characteristics as the engine reads them, by code. No query."""
    return {code: subject_of(characteristic) for code, characteristic in register.items()}


def subject_of(characteristic: Characteristic) -> Subject:
    """A characteristic as the engine reads it. Never raises."""
    kind = kind_of(characteristic)
    measured = kind.quantity_kind
    return Subject(
        code=characteristic.code,
        name=characteristic.name,
        kind=kind,
        unit=unit_or_none(characteristic.unit, measured) if measured else None,
        measuring_point=characteristic.measuring_point,
        plausible=plausible_band_of(characteristic),
        derivation=_derivation(characteristic),
    )


def _derivation(characteristic: Characteristic) -> Derivation | None:
    plain = characteristic.derivation
    if plain.get("form") not in set(DerivationForm):
        return None
    return Derivation(DerivationForm(plain["form"]), tuple(plain.get("of", ())), plain.get("value", ""))


def clause_for_engine(clause: Clause) -> engine.Clause:
    """A stored clause as the conformity engine reads it. Never raises; no query when `clauses_of` loaded it."""
    return engine_clause(content_of(clause))


def sheet_for_engine(revision: RuleSheetRevision, clauses: Sequence[Clause] | None = None) -> Sheet:
    """A revision as the conformity engine judges cars by it. clauses: as `clauses_of` loads them.

    One query for the register, and those of `clauses_of` unless clauses are given.
    """
    taken = clauses_of(revision) if clauses is None else clauses
    kept = _kept_of(revision)
    key = ("sheet", revision.pk, *(clause.pk for clause in taken))
    if kept is not None and key in kept:
        return kept[key]
    factor = Fraction(revision.guard_factor)
    contents = [content_of(clause) for clause in taken]
    sheet = Sheet(
        clauses=tuple(engine_clause(content, factor) for content in contents if not content.is_struck),
        **_sheet_settings(revision),
        allows_overdue_gauges=revision.allows_overdue_gauges,
        is_closed=revision.is_closed,
    )
    if kept is not None:
        kept[key] = sheet
    return sheet


def _sheet_settings(revision: RuleSheetRevision) -> dict[str, Any]:
    """How a revision decides, and the register it speaks of, as the engine's sheet and linter take them."""
    return {
        "register": subjects_of(register_of(revision)),
        "decision": with_guard(DECISION_RULES[revision.decision_rule], Fraction(revision.guard_factor)),
        "tolerance_style": engine.ToleranceStyle(revision.tolerance_style),
        "tolerances": {
            Kind(kind): found
            for kind, text in revision.sheet_tolerances.items()
            if (found := read_stored(text, Kind(kind), "")) is not None
        },
    }


def limits_of(clause: Clause) -> Limits | None:
    """The exact limits, or None where a reading has nothing to be compared with."""
    return clause_for_engine(clause).limits


def gauge_for(clause: Clause) -> Gauge | None:
    """The gauge to use: the clause's own, else the characteristic's usual one."""
    if clause.gauge_id:
        return clause.gauge
    return clause.characteristic.default_gauge if clause.characteristic else None


def reading_unit_of(clause: Clause) -> Unit | None:
    """The unit of a reading typed without one: what the gauge shows if it fits, else the characteristic's."""
    kind = quantity_kind_of(clause.characteristic) if clause.characteristic else None
    if kind is None:
        return None
    gauge = gauge_for(clause)
    shown = unit_or_none(gauge.unit, kind) if gauge and gauge.unit else None
    return shown or unit_or_none(clause.characteristic.unit, kind)


def decision_rule_of(clause: Clause) -> DecisionRule:
    """What clears: the clause's own rule, else its sheet's, with the sheet's guard band factor."""
    rule = DECISION_RULES[clause.decision_rule or clause.revision.decision_rule]
    return with_guard(rule, Fraction(clause.revision.guard_factor))


# What keeps a sheet from publication.


@dataclass(frozen=True, slots=True)
class ClauseProblem:
    """Something wrong with one clause, in words that say what to do. blocking: it keeps the sheet from publishing."""

    code: str
    message: str
    blocking: bool


def problems_of(
    contents: Sequence[ClauseContent],
    *,
    revision: RuleSheetRevision | None = None,
    parent: Sequence[ClauseContent] = (),
) -> list[list[ClauseProblem]]:
    """What is wrong with the clauses of a sheet, for each in turn.

    revision: the draft, for what it says of decisions and tolerances, and to look names up. parent: the effective
    clauses of the general sheet it builds on. One query for the register with a revision, else none.
    """
    found: list[list[ClauseProblem]] = [[] for _ in contents]
    of_sheet = {} if revision is None else _sheet_settings(revision)
    problems = lint.find_problems(
        [engine_clause(content) for content in contents],
        parent=[engine_clause(content) for content in parent],
        **of_sheet,
    )
    for problem in problems:
        message = gettext(lint.PROBLEMS[problem.code]) % problem.params
        found[problem.index].append(ClauseProblem(problem.code.value, message, problem.blocking))
    return found


@dataclass(frozen=True, slots=True)
class ClauseLine:
    """A clause as a page or paper shows it."""

    clause: Clause
    limit: str
    gauge: Gauge | None
    phases: str
    readings: str
    judge: str = ""
    origin: RuleSheet | None = None  # the general sheet that an inherited clause comes from
    problems: list[ClauseProblem] = field(default_factory=list)
    rulings: list[ClauseRuling] = field(default_factory=list)

    @property
    def is_ready(self) -> bool:
        return not any(problem.blocking for problem in self.problems)


def clause_lines(
    revision: RuleSheetRevision,
    *,
    decimal_mark: DecimalMark = ".",
    with_problems: bool = False,
    with_rulings: bool = False,
    clauses: list[Clause] | None = None,
    parent: Sequence[Clause] = (),
) -> list[ClauseLine]:
    """The clauses of a revision ready to be shown. Those of `clauses_of`, and one query for the rulings.

    clauses: others instead, loaded as `clauses_of` loads them. parent: those of the general sheet, for the problems.
    """
    clauses = clauses_of(revision) if clauses is None else clauses
    problems: list[list[ClauseProblem]] = [[] for _ in clauses]
    if with_problems:
        contents, general = ([content_of(clause) for clause in some] for some in (clauses, parent))
        problems = problems_of(contents, revision=revision, parent=general)
    rulings = rulings_of(revision.rule_sheet) if with_rulings else {}
    return [
        ClauseLine(
            clause=clause,
            limit=limit_words(clause, decimal_mark=decimal_mark),
            gauge=gauge_for(clause) if clause.comparator else None,
            phases=phase_words(clause.phases) if clause.comparator else "",
            readings=readings_words(clause.readings_wanted, clause.counts),
            judge=clause.judge,
            origin=clause.inherited_from.revision.rule_sheet if clause.inherited_from else None,
            problems=wrong,
            rulings=rulings.get(clause.lasting_id, []),
        )
        for clause, wrong in zip(clauses, problems, strict=True)
    ]


# Cautions that go with measuring, by the kind or the code of what is measured.
_CAUTIONS = (
    (
        frozenset({"rotation_speed", "current", "voltage", "resistance"}),
        gettext_lazy(
            "Motor tests: use a fused low-voltage supply and hold the car or motor fast. Keep fingers, hair and "
            "sleeves clear of turning gears and wheels, and let motors cool first. Mains wiring is for "
            "qualified people only."
        ),
    ),
    (
        frozenset({"magnetic_pull", "magnets-count"}),
        gettext_lazy("Magnets snap together and can pinch; keep them from small children and from medical implants."),
    ),
    (
        frozenset({"tires-dry", "tire-treatment"}),
        gettext_lazy("Tire treatments and cleaners: good air, no flames, no sparks, and gloves as their makers say."),
    ),
    (
        frozenset({"ground-clearance", "overall-width", "width-over-rear-tires"}),
        gettext_lazy("No metal tools, gauges or rings on a track with its power on."),
    ),
)


def cautions_for(clauses: Iterable[Clause]) -> list[str]:
    """What to mind when these clauses are checked, for page and paper. No query when `clauses_of` loaded them."""
    spoken_of = [clause.characteristic for clause in clauses if clause.characteristic and clause.comparator]
    words = {one.kind for one in spoken_of} | {one.code for one in spoken_of}
    found = [str(caution) for about, caution in _CAUTIONS if about & words]
    if found:
        found.append(gettext("Local codes and the makers' instructions come first."))
    return found


# The clauses of a revision.

CLAUSE_PARTS = (
    "characteristic__default_gauge",
    "gauge",
    "other",
    "choice_list__keyed_by",
    "list_revision",
    "inherited_from__revision__rule_sheet",
)


def clauses_of(revision: RuleSheetRevision) -> list[Clause]:
    """The clauses in the sheet's order, with all that the functions above read. One query, and one for pinned lists.

    Those of a published class sheet are all that hold: inherited ones are among them.
    """
    kept = _kept_of(revision)
    key = ("clauses", revision.pk)
    if kept is not None and key in kept:
        return list(kept[key])
    # Sorted here: to sort by a row that is joined so widely takes the database's mapper longer than the rest.
    loaded = revision.clauses.select_related(*CLAUSE_PARTS).prefetch_related(ENTRIES).order_by()
    clauses = sorted(loaded, key=lambda clause: (clause.position, clause.pk))
    for clause in clauses:
        clause.revision = revision
    if kept is not None:
        kept[key] = list(clauses)
    return clauses


_kept: ContextVar[dict[tuple[Any, ...], Any] | None] = ContextVar("kept published sheets", default=None)


@contextmanager
def keeping_published_sheets() -> Iterator[None]:
    """Within it a published revision is read once, for many readings in one go.

    Only where nobody changes a gauge or the register meanwhile: those are read with it.
    """
    kept = _kept.get()
    before = _kept.set({} if kept is None else kept)
    try:
        yield
    finally:
        _kept.reset(before)


def _kept_of(revision: RuleSheetRevision) -> dict[tuple[Any, ...], Any] | None:
    return _kept.get() if revision.is_published else None


def _is_checked(clause: Clause, phase: str) -> bool:
    return bool(clause.comparator) and not clause.is_struck and phase in (clause.phases or [BEFORE])


def checked_clause(revision: RuleSheetRevision, phase: str, pk: int) -> Clause | None:
    """One clause of a revision, loaded as `clauses_of` loads it, with its queries; None if not checked at the phase."""
    return next((one for one in clauses_of(revision) if one.pk == pk and _is_checked(one, phase)), None)


def checked_clauses(revision: RuleSheetRevision, phase: str) -> list[Clause]:
    """The clauses that are checked at a phase, in measuring order. One query."""
    return in_measuring_order(clauses_of(revision), phase)


def in_measuring_order(clauses: Iterable[Clause], phase: str) -> list[Clause]:
    """Those of these clauses that are checked at a phase, in measuring order. No query."""
    wanted = [clause for clause in clauses if _is_checked(clause, phase)]
    last = (len(_GROUP_ORDER), 0)
    places = {
        clause.pk: (_GROUP_ORDER.get(clause.characteristic.group, last[0]), clause.characteristic.position)
        if clause.characteristic
        else last
        for clause in wanted
    }
    return sorted(wanted, key=lambda clause: (*places[clause.pk], clause.position, clause.pk))


def rulings_of(rule_sheet: RuleSheet) -> dict[uuid.UUID, list[ClauseRuling]]:
    """The published rulings of a sheet and of the one it builds on, by their clause's lasting id, the oldest first.

    One query.
    """
    found: dict[uuid.UUID, list[ClauseRuling]] = {}
    sheets = [rule_sheet.pk] + ([rule_sheet.parent_id] if rule_sheet.parent_id else [])
    for ruling in ClauseRuling.objects.filter(rule_sheet__in=sheets).select_related("judge"):
        found.setdefault(ruling.clause_lasting_id, []).append(ruling)
    return found


def next_clause_number(revision: RuleSheetRevision) -> str:
    """A number for the next clause: one more than the highest plain number. One query."""
    plain = [int(n) for n in revision.clauses.values_list("number", flat=True) if n.isascii() and n.isdigit()]
    return str(max(plain, default=0) + 1)

"""What a clause says: to the engine in exact quantities, to people in words, and what keeps it from publication."""

import hashlib
import json
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields
from typing import Any

from django.db.models import QuerySet
from django.utils.text import capfirst
from django.utils.translation import gettext, gettext_lazy, ngettext

from inspection.conformity import clauses as engine
from inspection.conformity import lint
from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS, SIMPLE_ACCEPTANCE, DecisionRule, Limits
from inspection.conformity.clauses import Comparator
from inspection.gauges.selectors import kind_of, plausible_band_of, quantity_kind_of, read_stored, unit_or_none
from inspection.models import Characteristic, Clause, ClauseRuling, Gauge, RuleSheet, RuleSheetRevision
from inspection.units import DecimalMark, Quantity, Unit, both_systems, format_quantity

DECISION_RULES: dict[str, DecisionRule] = {
    RuleSheetRevision.Decision.SIMPLE_ACCEPTANCE: SIMPLE_ACCEPTANCE,
    RuleSheetRevision.Decision.BENEFIT_OF_DOUBT: BENEFIT_OF_DOUBT,
    RuleSheetRevision.Decision.CERTAIN_PASS: CERTAIN_PASS,
}
BEFORE = "before"  # a clause that names no phase is checked before the race
LIMIT_NAMES = ("lower", "upper", "nominal", "tolerance")
_GROUP_ORDER = {group: place for place, group in enumerate(Characteristic.Group.values)}


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseContent:
    """What a clause says, apart from where it stands. Limits are exact quantities; empty means not given.

    decision_rule: empty for the sheet's own. phases: values of Inspection.Phase.
    """

    number: str
    text: str
    characteristic: Characteristic | None = None
    measuring_point: str = ""
    comparator: Comparator | None = None
    lower: Quantity | None = None
    upper: Quantity | None = None
    nominal: Quantity | None = None
    tolerance: Quantity | None = None
    choices: tuple[str, ...] = ()
    expected_answer: bool = True
    judge_reason: str = ""
    decision_rule: str = ""
    readings_wanted: int = 1
    gauge: Gauge | None = None
    phases: tuple[str, ...] = ()
    consequence: str = ""


def content_of(clause: Clause) -> ClauseContent:
    """What a stored clause says. No query when its characteristic and gauge are loaded."""
    characteristic = clause.characteristic
    kind = quantity_kind_of(characteristic) if characteristic else None
    unit = characteristic.unit if characteristic and kind else ""
    return ClauseContent(
        number=clause.number,
        text=clause.text,
        characteristic=characteristic,
        measuring_point=clause.measuring_point,
        comparator=Comparator(clause.comparator) if clause.comparator else None,
        **{name: read_stored(getattr(clause, name), kind, unit) for name in LIMIT_NAMES},
        choices=tuple(str(choice) for choice in clause.choices),
        expected_answer=clause.expected_answer,
        judge_reason=clause.judge_reason,
        decision_rule=clause.decision_rule,
        readings_wanted=clause.readings_wanted,
        gauge=clause.gauge,
        phases=tuple(clause.phases),
        consequence=clause.consequence,
    )


def plain_content(content: ClauseContent) -> dict[str, Any]:
    """The content as JSON values, without what is empty; characteristic by its code, gauge by its name."""
    plain: dict[str, Any] = {}
    for part in fields(content):
        value = getattr(content, part.name)
        if isinstance(value, Quantity):
            value = value.canonical
        elif isinstance(value, Characteristic):
            value = value.code
        elif isinstance(value, Gauge):
            value = value.name
        elif isinstance(value, tuple):
            value = list(value)
        elif isinstance(value, Comparator):
            value = value.value
        if value not in (None, "", []):
            plain[part.name] = value
    return plain


def version_of(row: Clause | RuleSheetRevision) -> str:
    """A short mark of what a row says now, by which a form knows that somebody else has saved meanwhile."""
    if isinstance(row, Clause):
        said: Any = plain_content(content_of(row))
    else:
        sheet = row.rule_sheet
        said = [sheet.name, sheet.racing_class_id, row.preamble, row.decision_rule, row.is_closed]
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]


def engine_clause(content: ClauseContent) -> engine.Clause:
    """The clause as the conformity engine reads it. Never raises."""
    characteristic = content.characteristic
    kind = kind_of(characteristic) if characteristic else None
    measured = kind.quantity_kind if kind else None
    return engine.Clause(
        number=content.number,
        text=content.text,
        characteristic=characteristic.name if characteristic else "",
        kind=kind,
        measuring_point=content.measuring_point,
        comparator=content.comparator,
        **{name: getattr(content, name) for name in LIMIT_NAMES},
        choices=content.choices,
        expected_answer=content.expected_answer if content.comparator is Comparator.YES_NO else None,
        judge_reason=content.judge_reason,
        unit=unit_or_none(characteristic.unit, measured) if characteristic and measured else None,
        plausible=plausible_band_of(characteristic) if characteristic else None,
    )


def clause_for_engine(clause: Clause) -> engine.Clause:
    """A stored clause as the conformity engine reads it. Never raises; no query when its characteristic is loaded."""
    return engine_clause(content_of(clause))


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
    """What clears: the clause's own rule, else its sheet's."""
    return DECISION_RULES[clause.decision_rule or clause.revision.decision_rule]


# Words.


def limit_words(clause: Clause | ClauseContent, *, decimal_mark: DecimalMark = ".") -> str:
    """The limit as printed, in both systems of measures: "At least 19.00 mm (0.748 in)".

    "One of: rubber, urethane", "Yes", "Judge decides"; "" for a clause that only informs.
    """
    content = content_of(clause) if isinstance(clause, Clause) else clause
    written = {
        name: both_systems(getattr(content, name), decimal_mark=decimal_mark)
        for name in LIMIT_NAMES
        if getattr(content, name) is not None
    }
    return capfirst(_limit_sentence(content, written))


def limit_words_short(clause: Clause | ClauseContent, *, decimal_mark: DecimalMark = ".") -> str:
    """The same as written and in one system, for a row of a card: "at least 19.00 mm"."""
    content = content_of(clause) if isinstance(clause, Clause) else clause
    written = {
        name: format_quantity(getattr(content, name), decimal_mark=decimal_mark)
        for name in LIMIT_NAMES
        if getattr(content, name) is not None
    }
    return _limit_sentence(content, written)


_LIMIT_SENTENCES = {
    Comparator.AT_LEAST: gettext_lazy("at least %(lower)s"),
    Comparator.AT_MOST: gettext_lazy("at most %(upper)s"),
    Comparator.BETWEEN: gettext_lazy("between %(lower)s and %(upper)s"),
    Comparator.EQUAL_WITHIN: gettext_lazy("%(nominal)s, give or take %(tolerance)s"),
}


def _limit_sentence(content: ClauseContent, written: dict[str, str]) -> str:
    comma = gettext(", ")
    comparator = content.comparator
    given = {name: written.get(name, "?") for name in LIMIT_NAMES}
    if comparator is Comparator.EQUAL_WITHIN and "tolerance" not in written:
        words = gettext("exactly %(nominal)s") % given
    elif comparator in _LIMIT_SENTENCES:
        words = _LIMIT_SENTENCES[comparator] % given
    elif comparator is Comparator.ONE_OF:
        only_one = len(content.choices) == 1
        listed = ("; " if any("," in choice for choice in content.choices) else comma).join(content.choices)
        words = listed if only_one else gettext("one of: %(choices)s") % {"choices": listed}
    elif comparator is Comparator.YES_NO:
        words = gettext("yes") if content.expected_answer else gettext("no")
    elif comparator is Comparator.JUDGE_DECIDES:
        words = gettext("judge decides")
        if written:
            words = gettext("judge decides; written: %(limits)s") % {"limits": comma.join(written.values())}
    else:
        words = comma.join(written.values())
    return str(words)


@dataclass(frozen=True, slots=True)
class ClauseProblem:
    """Something wrong with one clause, in words that say what to do. blocking: it keeps the sheet from publishing."""

    code: str
    message: str
    blocking: bool


def problems_of(contents: Sequence[ClauseContent]) -> list[list[ClauseProblem]]:
    """What is wrong with the clauses of a sheet, for each in turn. No query."""
    found: list[list[ClauseProblem]] = [[] for _ in contents]
    for problem in lint.find_problems([engine_clause(content) for content in contents]):
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
) -> list[ClauseLine]:
    """The clauses of a revision ready to be shown. One query, and one for the rulings."""
    clauses = clauses_of(revision)
    problems = problems_of([content_of(clause) for clause in clauses]) if with_problems else [[] for _ in clauses]
    rulings = rulings_of(revision.rule_sheet) if with_rulings else {}
    return [
        ClauseLine(
            clause=clause,
            limit=limit_words(clause, decimal_mark=decimal_mark),
            gauge=gauge_for(clause) if clause.comparator else None,
            phases=phase_words(clause.phases) if clause.comparator else "",
            readings=readings_words(clause.readings_wanted),
            problems=wrong,
            rulings=rulings.get(clause.lasting_id, []),
        )
        for clause, wrong in zip(clauses, problems, strict=True)
    ]


PHASE_WORDS = {
    "before": gettext_lazy("before the race"),
    "impound": gettext_lazy("in impound"),
    "during": gettext_lazy("during the race"),
    "after": gettext_lazy("after the race"),
}


def phase_words(phases: Iterable[str]) -> str:
    """When a clause is checked: "Before the race, after the race"; before the race when nothing is said."""
    named = set(phases) or {BEFORE}
    return capfirst(gettext(", ").join(str(words) for phase, words in PHASE_WORDS.items() if phase in named))


def readings_words(count: int) -> str:
    """How many readings are taken; "" for one."""
    return ngettext("%(count)s reading", "%(count)s readings", count) % {"count": count} if count > 1 else ""


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


def clauses_of(revision: RuleSheetRevision) -> list[Clause]:
    """The clauses in the sheet's order, with all that the functions above read. One query."""
    clauses = list(_loaded_clauses(revision).order_by("position", "id"))
    for clause in clauses:
        clause.revision = revision
    return clauses


def _loaded_clauses(revision: RuleSheetRevision) -> QuerySet[Clause]:
    return revision.clauses.select_related("characteristic__default_gauge", "gauge")


def _is_checked(clause: Clause, phase: str) -> bool:
    return bool(clause.comparator) and phase in (clause.phases or [BEFORE])


def checked_clause(revision: RuleSheetRevision, phase: str, pk: int) -> Clause | None:
    """One clause of a revision, loaded as `clauses_of` loads it; None if it is not checked at the phase. One query."""
    clause = _loaded_clauses(revision).filter(pk=pk).first()
    if clause is None or not _is_checked(clause, phase):
        return None
    clause.revision = revision
    return clause


def checked_clauses(revision: RuleSheetRevision, phase: str) -> list[Clause]:
    """The clauses that are checked at a phase, in measuring order. One query."""
    wanted = [clause for clause in clauses_of(revision) if _is_checked(clause, phase)]
    last = (len(_GROUP_ORDER), 0)
    places = {
        clause.pk: (_GROUP_ORDER.get(clause.characteristic.group, last[0]), clause.characteristic.position)
        if clause.characteristic
        else last
        for clause in wanted
    }
    return sorted(wanted, key=lambda clause: (*places[clause.pk], clause.position, clause.pk))


def rulings_of(rule_sheet: RuleSheet) -> dict[uuid.UUID, list[ClauseRuling]]:
    """The published rulings of a sheet by the lasting id of their clause, the oldest first. One query."""
    found: dict[uuid.UUID, list[ClauseRuling]] = {}
    for ruling in rule_sheet.rulings.select_related("judge"):
        found.setdefault(ruling.clause_lasting_id, []).append(ruling)
    return found


def next_clause_number(revision: RuleSheetRevision) -> str:
    """A number for the next clause: one more than the highest plain number. One query."""
    plain = [int(n) for n in revision.clauses.values_list("number", flat=True) if n.isascii() and n.isdigit()]
    return str(max(plain, default=0) + 1)

"""What is wrong between the clauses of a sheet: names that nothing has, and clauses that nothing can meet at once."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from inspection.conformity.assess import Limits
from inspection.conformity.clauses import BEFORE, Clause, Comparator, LimitRow, make_written_limits
from inspection.conformity.conditions import About, Condition, Op, Term, normalize_choice, terms_of
from inspection.conformity.inputs import conditions_of, with_parts
from inspection.conformity.printed import LIMITS_NEAR, disagree
from inspection.conformity.problems import Found, ProblemCode
from inspection.conformity.reach import applies, can_hold, opposite
from inspection.conformity.subjects import Register, settled_kind
from inspection.units import Quantity, format_quantity


def unknown_names(clause: Clause, register: Register, numbers: frozenset[str]) -> Found:
    """Characteristics that the register lacks or that cannot be worked out, and clauses that the sheet lacks.

    Of one clause or part, without its parts. numbers: of the clauses that are checked.
    """
    codes = [clause.code, clause.list_key, clause.reference.code if clause.reference else ""]
    names: dict[str, None] = {}
    for condition in conditions_of(clause):
        for term in terms_of(condition):
            if term.about in {About.CHARACTERISTIC, About.RESTRICTED}:
                codes.append(term.name)
            elif term.about is About.CLAUSE and term.name not in numbers:
                names[term.name] = None
    for code in dict.fromkeys(codes):
        if not code:
            continue
        subject = register.get(code)
        if subject is None:
            yield ProblemCode.UNKNOWN_CHARACTERISTIC, {"name": code}
        elif subject.derivation is not None and settled_kind(code, register) is None:
            yield ProblemCode.DERIVATION_BROKEN, {"name": subject.name}
    for name in names:
        yield ProblemCode.UNKNOWN_CLAUSE, {"name": name}


@dataclass(frozen=True, slots=True)
class _Demand:
    """What a clause asks of a characteristic in one case. words: of it, for people."""

    place: int
    number: str
    code: str
    when: tuple[Condition, ...]
    words: str
    limits: Limits | None = None
    among: frozenset[str] | None = None
    answer: bool | None = None

    def excludes(self, other: "_Demand") -> bool:
        """Can nothing meet both?"""
        if self.limits is not None and other.limits is not None:
            return _apart(self.limits, other.limits) or _apart(other.limits, self.limits)
        if self.among is not None and other.among is not None:
            return not self.among & other.among
        return None not in {self.answer, other.answer} and self.answer is not other.answer


def _apart(low: Limits, high: Limits) -> bool:
    return low.upper is not None and high.lower is not None and low.upper < high.lower


def contradictions(clauses: Sequence[Clause]) -> Iterator[tuple[int, int, str, str]]:
    """Pairs of clauses that no car can meet at once, as (place of one, place of the other, number of the part that
    the other's is, words); and nothing of pairs that never apply together. Each pair once, in the sheet's order."""
    demands: dict[str, list[_Demand]] = {}
    for place, clause in enumerate(clauses):
        for demand in _demands(clause, place, (_phases(clause),)):
            demands.setdefault(demand.code, []).append(demand)
    seen: set[tuple[int, int]] = set()
    for same_subject in demands.values():
        for one, other in combinations(same_subject, 2):
            pair = (one.place, other.place)
            if pair in seen or not one.excludes(other) or not can_hold((*one.when, *other.when)):
                continue
            seen.add(pair)
            yield one.place, other.place, one.number, f"{one.words}; {other.words}"


def _phases(clause: Clause) -> Condition:
    return Term(About.PHASE, Op.ONE_OF, values=clause.phases or (BEFORE,))


def _demands(clause: Clause, place: int, when: tuple[Condition, ...]) -> Iterator[_Demand]:
    when = (*when, *applies(clause.applies_when, clause.unless))
    if clause.comparator is Comparator.ALL_OF:
        for part in clause.parts:
            yield from _demands(part, place, when)
    elif clause.comparator is Comparator.YES_NO and clause.expected_answer is not None and clause.code:
        words = "yes" if clause.expected_answer else "no"
        yield _Demand(place, clause.number, clause.code, when, words, answer=clause.expected_answer)
    elif clause.comparator is Comparator.ONE_OF and clause.code:
        yield from _listed(clause, place, when)
    elif clause.comparator is not None and clause.comparator.is_numeric and clause.code:
        yield from _sized(clause, place, when)


def _listed(clause: Clause, place: int, when: tuple[Condition, ...]) -> Iterator[_Demand]:
    own = [entry.value for entry in clause.allowed]
    for condition, row in _rows(clause):
        values = own if row is None or row.choices is None else list(row.choices)
        among = frozenset(normalize_choice(value) for value in values) - {""}
        if among:
            yield _Demand(place, clause.number, clause.code, (*when, *condition), ", ".join(values), among=among)


def _sized(clause: Clause, place: int, when: tuple[Condition, ...]) -> Iterator[_Demand]:
    for condition, row in _rows(clause):
        quantities = {**clause.written_limits, **(row.written_limits if row else {})}
        limits = make_written_limits(clause, quantities)
        if limits is not None:
            yield _Demand(
                place, clause.number, clause.code, (*when, *condition), _words(clause, quantities), limits=limits
            )


def _rows(clause: Clause) -> Iterator[tuple[tuple[Condition, ...], LimitRow | None]]:
    """Each row with when it is the one that holds, and the clause's own limits with when none is."""
    before: tuple[Condition, ...] = ()
    for row in clause.rows:
        yield (*before, row.when), row
        before = (*before, opposite(row.when))
    yield before, None


def _words(clause: Clause, quantities: Mapping[str, Quantity]) -> str:
    comparator = clause.comparator.value.replace("_", " ") if clause.comparator else ""
    return f"{comparator} {' / '.join(format_quantity(quantity) for quantity in quantities.values())}"


def rounded_limits(clauses: Sequence[Clause]) -> Iterator[tuple[int, Quantity, Quantity]]:
    """Limits of one sort on one characteristic in two clauses that are meant to be one size and are not, with the
    place of the later one."""
    seen: dict[tuple[str, str], list[tuple[int, Quantity]]] = {}
    for place, clause in enumerate(clauses):
        for one in with_parts(clause):
            for name, limit in one.written_limits.items():
                if name == "tolerance" or not one.code:
                    continue
                earlier = seen.setdefault((one.code, name), [])
                for where, other in earlier:
                    if where != place and disagree(other, limit, near=LIMITS_NEAR):
                        yield place, other, limit
                earlier.append((place, limit))

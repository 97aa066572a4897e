"""Benches for the clock: a whole evaluation with 40 clauses, and a planner over 200,000 combinations."""

from fractions import Fraction

from inspection.conformity.clauses import Comparator
from inspection.planning.candidates import Candidates, Sort, Wish, candidates_of
from inspection.planning.checks import Checks
from inspection.planning.document import Bench, read_bench
from inspection.planning.evaluation import evaluate
from inspection.planning.search import Order, plan
from tests.inspection.planning.benches import document
from tests.inspection.planning.rules import clause, sheet

LIMITS = (
    ("rear-tire-diameter", Comparator.AT_LEAST, {"lower": "19 mm"}),
    ("width-over-rear-tires", Comparator.AT_MOST, {"upper": "61 mm"}),
    ("ground-clearance", Comparator.AT_LEAST, {"lower": "0.2 mm"}),
    ("gear-ratio", Comparator.AT_MOST, {"upper": "3.9"}),
    ("weight-ready-to-race", Comparator.AT_LEAST, {"lower": "60 g"}),
    ("motor-type", Comparator.ONE_OF, {"choices": ("closed can", "long can")}),
    ("guide-blade-depth", Comparator.AT_MOST, {"upper": "7 mm"}),
    ("overall-width", Comparator.AT_MOST, {"upper": "64 mm"}),
)
RULES = sheet(*(clause(number + 1, *LIMITS[number % 8][:2], **LIMITS[number % 8][2]) for number in range(40)))


def good_bench() -> Bench:
    """Everything fits; nothing to cure."""
    plain = document()
    plain["parts"]["pinion"]["sizes"]["length"] = "6 mm"
    return read_bench(plain)


def evaluate_in_full(times: int = 100) -> int:
    """Fit, mesh, weight and 40 clauses; cures are looked for and nothing asks for any."""
    bench = good_bench()
    for _ in range(times):
        done = evaluate(bench, sheet=RULES)
        assert done.is_good
        assert len(done.legality.clauses) == 40
    return times


def many_parts() -> Bench:
    """8 pinions, 10 gears, 10 tires, 5 wheels, 5 guides and 10 sets of spacers: 200,000 combinations."""
    plain = document()
    plain["parts"]["pinion"]["sizes"]["length"] = "6 mm"
    parts = plain["parts"]
    on_hand = []

    def more(place: str, kind: str, sizes: list[dict[str, str]]) -> None:
        for number, changes in enumerate(sizes):
            told = {**parts[place]["sizes"], **changes}
            on_hand.append({"name": f"{place} {number}", "kind": kind, "sizes": told, "price": str(number + 1)})

    teeth = (10, 11, 12, 13, 11, 10, 12)
    more("pinion", "pinion", [
        {"teeth": str(one), "outside_diameter": f"{(one + 2) / 2} mm", "length": f"{6 - number % 3 * 0.2:g} mm"}
        for number, one in enumerate(teeth)
    ])  # fmt: skip
    more("driven_gear", "spur_gear", [
        {"teeth": str(one), "outside_diameter": f"{diameter} mm", "hub_width": f"{hub} mm"}
        for one, diameter, hub in (
            (33, "17.5", "2.5"), (37, "19.5", "2.4"), (35, "19.5", "2.4"), (36, "19", "2.5"), (36, "19.5", "2.5"),
            (38, "20", "2.5"), (38, "19.5", "2.4"), (36, "19.2", "2.5"), (38, "19.2", "2.5"),
        )
    ])  # fmt: skip
    more(
        "rear_tires",
        "tire",
        [{"diameter": f"{19.6 + 0.1 * number:g} mm", "width": f"{10 - number % 4 * 0.1:g} mm"} for number in range(9)],
    )
    more("rear_wheels", "wheel", [{"inset": f"{0.1 * number:g} mm"} for number in range(-2, 2)])
    more("guide", "guide", [{"blade_depth": f"{6 + 0.1 * number:g} mm"} for number in range(1, 5)])
    plain["on_hand"] = on_hand
    return read_bench(plain)


def ten_sets(bench: Bench) -> Candidates:
    found = candidates_of(bench)
    plain = document()
    sets = []
    for number in range(9):
        plain["spacers"]["rear_left_inner"] = [{"thickness": f"{5 - 0.05 * number:g} mm"}]
        plain["spacers"]["rear_right_inner"] = [{"thickness": f"{0.5 - 0.05 * (number % 3):g} mm"}]
        laid = candidates_of(read_bench(plain)).spacer_sets[0]
        sets.append(laid)
    return Candidates(found.parts, (*found.spacer_sets, *sets))


MANY = many_parts()
CANDIDATES = ten_sets(MANY)


def plan_by(sort: Sort) -> int:
    """The best 50 of 200,000."""
    wish = Wish(sort, Fraction(19) if sort is Sort.ROLLOUT else None)
    made = plan(MANY, CANDIDATES, wish, sheet=RULES)
    assert len(made.proposals) == 50
    return made.combinations


def plan_with_none_left() -> int:
    """Every one of 200,000 looked at, since none is legal."""
    nothing = sheet(*RULES.clauses, clause("41", "lights-working", Comparator.YES_NO, expected_answer=True),
                    clause("42", "guide-blade-depth", Comparator.AT_LEAST, lower="20 mm"))  # fmt: skip
    made = plan(MANY, CANDIDATES, Wish(Sort.ROLLOUT, Fraction(19)), sheet=nothing)
    assert not made.proposals
    assert made.looked_at == made.combinations
    return made.combinations


def share_that_is_good() -> float:
    """Of all combinations, by the planner's checks."""
    checks = Checks(MANY, CANDIDATES, sheet=RULES, facts=None, counts_with=None)
    order = Order(MANY, CANDIDATES, Wish(Sort.ROLLOUT, Fraction(19)))
    good = sum(checks.pass_all(one) for one in order)
    return good / CANDIDATES.combinations

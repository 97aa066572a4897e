"""At which exact diameter of the rear tires each clause fails, and each thing stops fitting."""

from fractions import Fraction

from inspection.conformity.clauses import Reference
from inspection.fit.findings import FitCode
from inspection.planning.document import read_bench
from inspection.planning.evaluation import evaluate
from inspection.planning.wear import HALVING, wear_limits, with_tire
from inspection.units import Kind, parse_quantity
from tests.inspection.planning.benches import with_value
from tests.inspection.planning.rules import AT_LEAST, AT_MOST, clause, sheet, usual


def bench(**sizes):
    plain = with_value("parts.pinion.sizes.length", "6 mm")
    plain["parts"]["rear_tires"]["sizes"] |= sizes
    return read_bench(plain)


def test_what_fails_first_comes_first_with_its_exact_diameter():
    limits = wear_limits(bench(), sheet=usual())
    # half of 20 less half of 19.5 leaves 0.25 mm, and 0.2 mm are asked for
    assert [(one.clause or one.code, one.diameter, one.passes_there) for one in limits][:3] == [
        ("3", Fraction("19.9"), True),
        (FitCode.UNDER_SPUR, Fraction("19.5"), False),
        ("1", Fraction(19), True),
    ]
    assert all(one.is_exact for one in limits)
    assert limits[0].lost == Fraction("0.1")


def test_just_above_a_limit_all_is_well_and_just_below_it_is_not():
    start, hair = bench(), Fraction(1, 10**6)
    for limit in wear_limits(start, sheet=usual()):
        if limit.clause:
            above, below = (
                {
                    one.clause.number
                    for one in evaluate(with_tire(start, limit.diameter + off), sheet=usual()).legality.broken
                }
                for off in (hair, -hair)
            )
            assert limit.clause not in above
            assert limit.clause in below


def test_an_inch_limit_is_met_exactly():
    rules = sheet(clause(1, "rear-tire-diameter", AT_LEAST, lower="3/4 in"))
    found = wear_limits(bench(), sheet=rules)
    assert next(one for one in found if one.clause).diameter == Fraction("19.05")


def test_a_limit_that_rests_on_another_size_is_solved_too():
    offset = parse_quantity("-18 mm", Kind.LENGTH, default_unit="mm", allow_negative=True)
    rules = sheet(clause(1, "ground-clearance", AT_MOST, reference=Reference(code="rear-tire-diameter", offset=offset)))
    found = [one for one in wear_limits(bench(), sheet=rules) if one.clause]
    # d / 2 - 9.75 <= d - 18 down to 16.5, which is past what is looked at and past the gear
    assert found == []


def test_what_fails_already_is_not_told_again():
    assert all(one.clause != "1" for one in wear_limits(bench(diameter="18.9 mm"), sheet=usual()))


def test_without_tires_there_is_nothing_to_wear():
    assert wear_limits(read_bench({})) == ()


def test_the_allowance_for_wear_is_not_taken_twice():
    plain = with_value("mounting.wear", "1 mm")
    assert wear_limits(read_bench(plain), sheet=usual()) == wear_limits(
        read_bench(with_value("mounting.wear", "0 mm")), sheet=usual()
    )
    assert Fraction(1, 100) > HALVING

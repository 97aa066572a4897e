"""A build is judged at home by the engine that the tech desk asks, and what cannot be known is named."""

from fractions import Fraction

from inspection.conformity.verdicts import Outcome
from inspection.fit.findings import CureCode, FitCode
from inspection.planning.document import read_bench
from inspection.planning.evaluation import evaluate, judge_cure
from tests.inspection.planning.benches import document, with_value, without
from tests.inspection.planning.rules import AT_LEAST, AT_MOST, clause, sheet, usual


def judged(plain, rules=None, **more):
    legality = evaluate(read_bench(plain), sheet=rules or usual(), cures=False, **more).legality
    return {one.clause.number: one for one in legality.clauses}, legality


def test_each_clause_has_its_outcome_and_the_margin_that_is_left():
    clauses, legality = judged(document())
    assert [clauses[str(number)].outcome for number in range(1, 8)] == [Outcome.PASS] * 6 + [Outcome.NOT_CHECKED]
    assert clauses["1"].margin == 1
    assert clauses["2"].margin == Fraction("0.7")
    assert clauses["3"].margin == Fraction("0.05")
    assert clauses["4"].margin == Fraction(7, 2) - Fraction(37, 11)
    assert clauses["5"].margin == Fraction("0.5")
    assert legality.is_legal
    assert legality.unknown == ("lights-working",)


def test_what_is_declared_stands_over_what_is_worked_out():
    declared = {"weight-ready-to-race": "70.5 g", "lights-working": "yes"}
    clauses, legality = judged({**document(), "declared": declared})
    assert clauses["5"].outcome is Outcome.FAIL
    assert clauses["5"].margin == Fraction("-0.5")
    assert clauses["7"].outcome is Outcome.PASS
    assert [one.clause.number for one in legality.broken] == ["5"]


def test_an_unknown_mass_leaves_the_weight_to_the_scale():
    clauses, _legality = judged(without("parts.body.sizes.mass"))
    assert clauses["5"].unknown == ("weight-ready-to-race",)


def test_whether_gears_count_is_the_clauses_own_word():
    rules = sheet(
        clause(1, "ground-clearance", AT_LEAST, lower="0.4 mm", text="The gear counts."),
        clause(2, "ground-clearance", AT_LEAST, lower="0.4 mm", text="Gears do not count."),
        clause(3, "ground-clearance", AT_LEAST, lower="0.4 mm", text="Under the car."),
    )
    clauses, _legality = judged(document(), rules)
    assert [clauses[number].counts_gears for number in "123"] == [True, False, None]
    assert [clauses[number].outcome for number in "123"] == [Outcome.FAIL, Outcome.PASS, Outcome.FAIL]
    assert clauses["2"].margin == Fraction("1.1")
    by_register, _legality = judged(document(), rules, counts_with={"ground-clearance": "gears do not count"})
    assert by_register["3"].counts_gears is False
    assert by_register["1"].counts_gears is True


def test_a_car_is_at_least_as_wide_as_its_tires():
    narrow = sheet(clause(1, "overall-width", AT_MOST, upper="60 mm"))
    wide = sheet(clause(1, "overall-width", AT_MOST, upper="64 mm"))
    assert judged(document(), narrow)[0]["1"].outcome is Outcome.FAIL
    assert judged(document(), wide)[0]["1"].outcome is Outcome.NOT_CHECKED
    # a width that is asked for at least is never failed by what is only known from one side
    least = sheet(clause(1, "overall-width", AT_LEAST, lower="70 mm"))
    assert judged(document(), least)[0]["1"].outcome is Outcome.NOT_CHECKED


def test_a_clearance_is_no_more_than_what_is_known_of_it():
    plain = without("chassis.sizes.chassis_below_axle")
    assert judged(plain, sheet(clause(1, "ground-clearance", AT_LEAST, lower="0.3 mm")))[0]["1"].is_broken
    known = judged(plain, sheet(clause(1, "ground-clearance", AT_LEAST, lower="0.2 mm")))[0]["1"]
    assert known.outcome is Outcome.NOT_CHECKED
    assert known.unknown == ("ground-clearance",)


def test_the_motor_is_named_by_its_class():
    clauses, _legality = judged(with_value("parts.motor.sizes.motor_class", "open can"))
    assert clauses["6"].outcome is Outcome.FAIL


def test_a_cure_is_judged_on_the_build_after_it():
    done = evaluate(read_bench(document()), sheet=usual())
    cures = {cure.code: cure for cure in done.report.find(FitCode.TIRE_TO_PINION).cures}
    out = judge_cure(done, cures[CureCode.MOVE_WHEEL_OUT], sheet=usual())
    assert [one.clause.number for one in out.broken] == ["2"]
    assert judge_cure(done, cures[CureCode.SHORTEN_PINION], sheet=usual()).is_legal


def test_without_rules_nothing_is_said():
    assert evaluate(read_bench(document())).legality is None

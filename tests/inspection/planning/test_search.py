"""The planner finds what trying everything finds, in the same order, and says why the nearest fail."""

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.conformity.conditions import About, Op, Term
from inspection.planning.candidates import Sort, Wish, candidates_of, read_wish
from inspection.planning.checks import Checks
from inspection.planning.document import read_bench
from inspection.planning.driving import driving_of, lap_on
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.evaluation import evaluate
from inspection.planning.search import Order, plan
from inspection.planning.weighing import weigh_bench
from tests.inspection.planning.benches import DOCUMENT, document
from tests.inspection.planning.rules import AT_MOST, clause, sheet, usual


def pinion(teeth, length="6 mm", **more):
    outside = f"{(teeth + 2) / 2} mm"
    sizes = {"teeth": str(teeth), "module": "0.5 mm", "outside_diameter": outside, "length": length, "mass": "0.6 g"}
    return {"name": f"p{teeth} {length}", "kind": "pinion", "sizes": sizes, "price": "2.50", **more}


def gear(teeth, outside, mass="2 g", **more):
    sizes = {
        "teeth": str(teeth),
        "outside_diameter": outside,
        "face_width": "2 mm",
        "hub_width": "2.5 mm",
        "mass": mass,
    }
    return {"name": f"g{teeth} {outside}", "kind": "spur_gear", "sizes": sizes, "price": "4", **more}


def tire(diameter, width="10 mm", **more):
    sizes = {"diameter": diameter, "width": width, "mass": "4 g"}
    return {"name": f"t{diameter} {width}", "kind": "tire", "sizes": sizes, "price": "6.20", **more}


PINIONS = [pinion(9), pinion(10), pinion(11, "7 mm"), pinion(12, price=None), pinion(13)]
GEARS = [gear(33, "17.5 mm"), gear(35, "19.5 mm"), gear(37, "19.5 mm", "1 g"), gear(36, "19 mm"), gear(38, "20 mm")]
TIRES = [
    tire("19 mm"),
    tire("19.6 mm"),
    tire("20.4 mm"),
    tire("18.8 mm"),
    tire("20 mm", "10.6 mm"),
    tire("21 mm", "9 mm"),
]
WHEELS = [
    {
        "name": f"w{inset}",
        "kind": "wheel",
        "sizes": {"rim_diameter": rim, "inset": inset, "hub_length": "8 mm", "mass": "5 g"},
        "price": "5",
    }
    for inset, rim in (("0.4 mm", "16 mm"), ("-0.3 mm", "16 mm"), ("1 mm", "14 mm"))
]
GUIDES = [
    {
        "name": f"guide {depth}",
        "kind": "guide",
        "sizes": {
            "blade_depth": depth,
            "blade_thickness": "2.6 mm",
            "shaft_length": "12 mm",
            "clip": "2 mm",
            "mass": "1 g",
        },
    }
    for depth in ("6.4 mm", "6.8 mm")
]
MOTORS = [
    {
        "name": f"motor {speed}",
        "kind": "motor",
        "sizes": {
            "motor_class": word, "no_load_speed": speed, "no_load_current": "0.2 A", "at_voltage": "12 V",
            "resistance": "6 ohm", "mass": mass,
        },
        "price": "15",
    }
    for speed, word, mass in (("18000 rpm", "long can", "20 g"), ("30000 rpm", "open can", "17 g"))
]  # fmt: skip
SPACERS = [
    {"name": f"s{size}", "kind": "spacer", "sizes": {"thickness": size}, "price": "0.40", "stock": stock}
    for size, stock in (("0.5 mm", 2), ("1 mm", 1))
]
POOL = [*PINIONS, *GEARS, *TIRES, *WHEELS, *GUIDES, *MOTORS]


def bench_with(on_hand, **changes):
    plain = document(**changes)
    plain["parts"]["pinion"]["sizes"]["length"] = "6 mm"
    plain["on_hand"] = on_hand
    return read_bench(plain)


def brute_force(bench, candidates, wish, rules):
    """Every combination in full, sorted by what is wanted, changes, price and place among the candidates."""
    order = Order(bench, candidates, wish)
    mass = weigh_bench(bench, None).mass
    rows = []
    for number, combination in enumerate(product(*(range(count) for count in order.counts))):
        made = order.bench_of(combination)
        try:
            done = evaluate(made, sheet=rules, cures=False)
        except PlanningError:
            continue
        if not done.is_good:
            continue
        proposal = order.proposal(combination, made, done)
        lap = None
        if wish.sort is Sort.LAP_TIME:
            driving = driving_of(made, mass)
            lap = lap_on(driving.car, done.ratio, driving.lanes[0][1]).time_s
        wanted = {
            Sort.ROLLOUT: lambda done=done: abs(done.rollout - wish.rollout),
            Sort.LAP_TIME: lambda lap=lap: lap,
        }.get(wish.sort, lambda: 0)()
        prices = [one[place] for one, place in zip(order.prices, combination, strict=True)]
        price = (prices.count(None), sum(one for one in prices if one is not None))
        then = (price, proposal.changes) if wish.sort is Sort.PRICE else (proposal.changes, price)
        rows.append(((wanted, *then, number), combination, proposal))
    return [(key, one) for key, _combination, one in sorted(rows, key=lambda row: row[0])]


def said_of(proposal):
    parts = {place: part.name for place, part in proposal.parts.items()}
    spacers = proposal.spacers.keys if proposal.spacers else None
    return parts, spacers, proposal.changes, proposal.evaluation.rollout


def both(on_hand, wish, rules, **changes):
    """What the planner proposes, and what trying everything finds."""
    bench = bench_with(on_hand, **changes)
    candidates = candidates_of(bench)
    found = plan(bench, candidates, wish, sheet=rules)
    assert found.combinations == candidates.combinations
    return found, brute_force(bench, candidates, wish, rules)


def wish_of(sort, best=50):
    return Wish(sort, Fraction(19) if sort is Sort.ROLLOUT else None, best=best)


@settings(max_examples=25, deadline=None)
@given(
    on_hand=st.lists(st.sampled_from(range(len(POOL))), max_size=5, unique=True),
    sort=st.sampled_from(Sort),
    with_rules=st.booleans(),
    best=st.sampled_from([1, 3, 50]),
)
def test_the_planner_finds_what_trying_everything_finds(on_hand, sort, with_rules, best):
    rules = usual() if with_rules else None
    found, tried = both([POOL[number] for number in on_hand], wish_of(sort, best), rules)
    assert [said_of(one) for one in found.proposals] == [said_of(one) for _key, one in tried[:best]]
    assert all(one.evaluation.is_good for one in found.proposals)


@pytest.mark.parametrize("sort", Sort)
def test_with_spacers_too(sort):
    found, tried = both([*SPACERS, TIRES[4], GEARS[1], WHEELS[0]], wish_of(sort), usual())
    assert [said_of(one) for one in found.proposals] == [said_of(one) for _key, one in tried[:50]]
    assert len(tried) > 1
    assert found.nearest_failing


@pytest.mark.parametrize(
    "changes",
    [
        {"chassis": {"sizes": DOCUMENT["chassis"]["sizes"] | {"layout": "anglewinder", "shaft_angle": "10"}}},
        {"chassis": {"sizes": DOCUMENT["chassis"]["sizes"] | {"layout": "inline"}}},
        {"chassis": {"sizes": DOCUMENT["chassis"]["sizes"] | {"gear_side": "left"}}},
        {"mounting": {"rear_hub_to_hub": "40.4 mm"}},
        {"mounting": {"wear": "0.5 mm"}},
        {"targets": {"rear_width_most": "60.2 mm"}},
        {"targets": {"end_play_least": "9 mm"}},
        {"declared": {"weight-ready-to-race": "70 g"}},
        {"chassis": {"sizes": {}}},
    ],
)
def test_whatever_the_bench_is_like(changes):
    found, tried = both([*PINIONS[:2], *GEARS[:3], TIRES[1]], wish_of(Sort.ROLLOUT), usual(), **changes)
    assert [said_of(one) for one in found.proposals] == [said_of(one) for _key, one in tried[:50]]


def test_conditions_that_ask_about_other_clauses_are_judged_with_the_whole_sheet():
    ask = Term(about=About.CLAUSE, name="1", op=Op.PASSED)
    rules = sheet(
        clause(1, "rear-tire-diameter", AT_MOST, upper="20 mm"),
        clause(2, "driven-gear-teeth", AT_MOST, upper="36", applies_when=ask),
    )
    found, tried = both([*GEARS[1:4], *TIRES[:3]], wish_of(Sort.FEWEST_CHANGES), rules)
    assert [said_of(one) for one in found.proposals] == [said_of(one) for _key, one in tried[:50]]
    assert 0 < len(tried) < found.combinations


def test_parts_that_lack_sizes_are_never_proposed():
    bare = {"name": "bare", "kind": "spur_gear", "sizes": {"teeth": "36"}}
    odd = {"name": "odd", "kind": "tire", "sizes": {"width": "10 mm"}}
    flat = tire("0 mm")
    found, tried = both([bare, odd, flat, GEARS[1], TIRES[0]], wish_of(Sort.ROLLOUT), None)
    assert [said_of(one) for one in found.proposals] == [said_of(one) for _key, one in tried[:50]]
    assert found.proposals


@pytest.mark.parametrize("rules", [None, usual()], ids=["without rules", "with rules"])
def test_what_is_asked_once_says_what_a_full_evaluation_says(rules):
    wide = {**TIRES[1], "name": "for 14", "sizes": {**TIRES[1]["sizes"], "rim_diameter": "14 mm"}}
    deep = {**GUIDES[1], "sizes": {**GUIDES[1]["sizes"], "blade_depth": "7 mm"}}
    bench = bench_with([PINIONS[2], GEARS[0], GEARS[1], wide, TIRES[5], deep, MOTORS[1]])
    candidates = candidates_of(bench)
    checks = Checks(bench, candidates, sheet=rules, facts=None, counts_with=None)
    order = Order(bench, candidates, wish_of(Sort.PRICE))
    passes = {one: checks.pass_all(one) for one in order}
    assert passes == {one: evaluate(order.bench_of(one), sheet=rules, cures=False).is_good for one in passes}
    assert 0 < sum(passes.values()) < len(passes)


def test_two_spacers_of_one_kind_need_a_stock_of_two():
    bench = bench_with(SPACERS)
    sets = candidates_of(bench).spacer_sets
    used = [[one.key for way in each.spacers.values() for one in way] for each in sets[1:]]
    assert max(keys.count("s0.5 mm") for keys in used) == 2
    assert max(keys.count("s1 mm") for keys in used) == 1


def test_what_is_out_of_stock_is_no_candidate_but_what_is_on_the_car_is():
    bench = bench_with([pinion(9, stock=0), pinion(10)])
    assert [part.name for part in candidates_of(bench).parts["pinion"]] == ["Pinion 11", "p10 6 mm"]


def test_the_nearest_that_fail_say_why():
    found, _tried = both([GEARS[0], tire("18.8 mm"), pinion(10)], wish_of(Sort.FEWEST_CHANGES), usual())
    assert found.nearest_failing
    for one in found.nearest_failing:
        done = one.evaluation
        assert one.unfit or one.broken or not done.meshes or done.mismatches
    assert any(not one.evaluation.meshes for one in found.nearest_failing)


def test_tires_for_another_rim_are_not_proposed():
    wide = tire("20 mm")
    wide["sizes"]["rim_diameter"] = "14 mm"
    found, tried = both([wide | {"name": "for 14"}], wish_of(Sort.FEWEST_CHANGES), None)
    assert len(found.proposals) == len(tried) == 1


def test_a_wish_is_read():
    assert read_wish(read_bench({"wanted": {"rollout": "19 mm"}})) == Wish(Sort.ROLLOUT, Fraction(19))
    assert read_wish(read_bench({})).sort is Sort.FEWEST_CHANGES
    assert read_wish(read_bench({"wanted": {"sort": "lap_time", "lane": 2, "best": 5}})) == Wish(
        Sort.LAP_TIME, None, 2, 5
    )
    for wanted in ({"sort": "rollout"}, {"sort": "luck"}, {"color": "red"}, {"rollout": "19 g"}):
        with pytest.raises(PlanningError):
            read_wish(read_bench({"wanted": wanted}))


def test_too_many_combinations_are_refused():
    bench = bench_with([])
    few = candidates_of(bench)
    many = replace(few, parts={place: parts * 200 for place, parts in few.parts.items()})
    with pytest.raises(PlanningError) as refused:
        plan(bench, many, wish_of(Sort.PRICE))
    assert refused.value.code is PlanningCode.TOO_MANY

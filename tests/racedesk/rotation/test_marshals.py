from collections import Counter
from itertools import combinations, pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.draw import draw
from racedesk.rotation.errors import RosterError
from racedesk.rotation.marshals import roster
from racedesk.rotation.plan import Preset


@st.composite
def cases(draw_value, most_drivers=24):
    drivers = draw_value(st.integers(2, most_drivers))
    plan = draw(
        drivers=drivers,
        lanes=draw_value(st.integers(1, 8)),
        preset=draw_value(st.sampled_from(Preset)),
        seed=draw_value(st.integers(0, 1000)),
        steps=500,
    )
    some = st.sets(st.integers(1, drivers), max_size=drivers)
    posts_adults = draw_value(st.lists(st.booleans(), max_size=6))
    return plan, posts_adults, draw_value(some), draw_value(some)


def duties_of(rows, plan, exempt=()):
    counts = Counter(driver for row in rows for driver in row)
    return {driver: counts[driver] for driver in range(1, plan.drivers + 1) if driver not in exempt}


@settings(max_examples=200)
@given(case=cases())
def test_nobody_marshals_who_drives_is_exempt_or_is_too_young_for_the_post(case):
    plan, posts_adults, exempt, juniors = case
    rows = roster(plan, posts=len(posts_adults), exempt=exempt, posts_adults=posts_adults, juniors=juniors)

    assert len(rows) == len(plan.heats)
    for heat, row in enumerate(rows):
        standing = [driver for driver in row if driver is not None]
        assert len(row) == len(posts_adults)
        assert len(set(standing)) == len(standing)
        assert not set(standing) & (plan.drivers_in(heat) | exempt)
        assert not {driver for driver, adult in zip(row, posts_adults, strict=True) if adult} & juniors


@settings(max_examples=200)
@given(case=cases())
def test_no_post_stays_empty_that_could_be_filled(case):
    plan, posts_adults, exempt, juniors = case
    rows = roster(plan, posts=len(posts_adults), exempt=exempt, posts_adults=posts_adults, juniors=juniors)

    for heat, row in enumerate(rows):
        free = set(plan.sitting_out(heat)) - exempt
        adults_placed = min(len(free - juniors), sum(posts_adults))
        others_placed = min(len(free) - adults_placed, len(posts_adults) - sum(posts_adults))
        assert sum(driver is not None for driver in row) == adults_placed + others_placed


@settings(max_examples=100)
@given(drivers=st.integers(3, 40), lanes=st.integers(2, 8), posts=st.integers(1, 8), preset=st.sampled_from(Preset))
def test_duties_are_equal_within_one_where_everybody_may_marshal(drivers, lanes, posts, preset):
    lanes = min(lanes, drivers - 1)
    plan = draw(drivers=drivers, lanes=lanes, preset=preset, seed=1, steps=500)
    duties = duties_of(roster(plan, posts=posts), plan)

    assert max(duties.values()) - min(duties.values()) <= 1


@settings(max_examples=60, deadline=None)
@given(
    drivers=st.integers(3, 5),
    posts_adults=st.lists(st.booleans(), min_size=1, max_size=2),
    exempt=st.sets(st.integers(1, 5), max_size=2),
    juniors=st.sets(st.integers(1, 5), max_size=3),
)
def test_no_roster_of_all_there_are_is_more_even(drivers, posts_adults, exempt, juniors):
    plan = draw(drivers=drivers, lanes=2, preset=Preset.USUAL, seed=1)
    exempt = {driver for driver in exempt if driver <= drivers}
    juniors = {driver for driver in juniors if driver <= drivers}
    rows = roster(plan, posts=len(posts_adults), exempt=exempt, posts_adults=posts_adults, juniors=juniors)

    choices = []
    for heat, row in enumerate(rows):
        free = [driver for driver in plan.sitting_out(heat) if driver not in exempt]
        size = sum(driver is not None for driver in row)
        open_posts = len(posts_adults) - sum(posts_adults)
        choices.append([group for group in combinations(free, size) if len(juniors & set(group)) <= open_posts])
    least = min(
        sum(times**2 for times in Counter(driver for group in groups for driver in group).values())
        for groups in product(*choices)
    )
    assert sum(times**2 for times in duties_of(rows, plan).values()) == least


def test_those_who_just_drove_marshal_where_they_can():
    plan = draw(drivers=14, lanes=6, seed=4471)
    rows = roster(plan, posts=4)
    just_drove = [len(plan.drivers_in(heat - 1) & set(rows[heat])) for heat in range(1, 14)]

    assert set(duties_of(rows, plan).values()) == {4}
    assert min(just_drove) >= 3
    assert sum(just_drove) >= 48


def test_who_races_soonest_is_not_called_first():
    # Heat 1 has nobody who just drove; of the queue 4 5 6 7 8 the next to race are 4 and 5.
    plan = draw(drivers=8, lanes=3, preset=Preset.USUAL, seed=0, by_lot=False)

    assert set(roster(plan, posts=2)[0]) == {7, 8}


@given(case=cases())
def test_who_stays_on_keeps_the_post(case):
    plan, posts_adults, exempt, _ = case
    rows = roster(plan, posts=len(posts_adults), exempt=exempt)

    for before, after in pairwise(rows):
        for post, driver in enumerate(before):
            if driver is not None and driver in after:
                assert after[post] == driver


def test_when_all_drive_no_post_is_filled():
    plan = draw(drivers=4, lanes=4, seed=1)

    assert roster(plan, posts=2) == ((None, None),) * 4


def test_a_track_without_posts_needs_nobody():
    assert roster(draw(drivers=5, lanes=4, seed=1), posts=0) == ((),) * 5


@given(case=cases())
def test_the_same_plan_gives_the_same_roster(case):
    plan, posts_adults, exempt, juniors = case

    def made():
        return roster(plan, posts=len(posts_adults), exempt=exempt, posts_adults=posts_adults, juniors=juniors)

    assert made() == made()


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"posts": -1}, "bad_posts"),
        ({"posts": 2, "posts_adults": [True]}, "bad_posts"),
        ({"posts": 2, "exempt": [6]}, "bad_driver"),
        ({"posts": 2, "juniors": [0]}, "bad_driver"),
    ],
)
def test_a_roster_that_makes_no_sense_is_refused_with_its_code(asked, code):
    with pytest.raises(RosterError) as refusal:
        roster(draw(drivers=5, lanes=4, seed=1), **asked)

    assert refusal.value.code == code


@settings(max_examples=60)
@given(case=cases(most_drivers=14), held_seed=st.integers(0, 63))
def test_posts_that_helpers_hold_stay_free_and_the_others_are_as_without_them(case, held_seed):
    plan, posts_adults, exempt, juniors = case
    held = [bool(held_seed >> post & 1) for post in range(len(posts_adults))]
    rows = roster(plan, posts=len(held), exempt=exempt, posts_adults=posts_adults, posts_held=held, juniors=juniors)
    left = [adult for adult, is_held in zip(posts_adults, held, strict=True) if not is_held]
    alone = roster(plan, posts=len(left), exempt=exempt, posts_adults=left, juniors=juniors)

    assert all(row[post] is None for row in rows for post, is_held in enumerate(held) if is_held)
    assert [tuple(driver for driver, is_held in zip(row, held, strict=True) if not is_held) for row in rows] == list(
        alone
    )


def test_marks_of_held_posts_must_fit_the_posts():
    plan = draw(drivers=4, lanes=2, preset=Preset.USUAL, seed=1)
    with pytest.raises(RosterError) as told:
        roster(plan, posts=2, posts_held=[True])
    assert told.value.code == "bad_posts"

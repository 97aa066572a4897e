"""A season's rules, one by one. Published seasons are in test_published_seasons.py."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.scoring.errors import ScoringError
from racedesk.scoring.standings import (
    SAILING_TIES,
    Block,
    PointsMode,
    Round,
    RoundResult,
    SeasonRules,
    SeasonTieBreak,
    rank_season,
)


def rounds_of(**drivers):
    """rounds_of(a="25 18 -"): points by round, - for a round without the driver. Places are 1 for 25, 2 for 18."""
    columns = {key: scores.split() for key, scores in drivers.items()}
    place = {"25": 1, "18": 2, "15": 3}
    return [
        Round(
            number + 1,
            tuple(
                RoundResult(key, Decimal(scores[number]), place.get(scores[number]))
                for key, scores in columns.items()
                if scores[number] != "-"
            ),
        )
        for number in range(len(next(iter(columns.values()))))
    ]


def table(rounds, **rules):
    return [(row.place, row.key, row.counted) for row in rank_season(rounds, rules=SeasonRules(**rules))]


def dropped(rounds, key, **rules):
    rows = {row.key: row for row in rank_season(rounds, rules=SeasonRules(**rules))}
    return [score.round_number for score in rows[key].rounds if score.is_dropped]


def test_every_round_counts_without_a_block():
    assert table(rounds_of(a="25 18", b="18 18")) == [(1, "a", 43), (2, "b", 36)]


def test_a_season_without_rounds_has_an_empty_table():
    assert rank_season([], rules=SeasonRules(blocks=(Block(best=3),))) == ()


def test_one_dropped_takes_the_worst_and_of_equals_the_earliest():
    assert dropped(rounds_of(a="10 5 5 8"), "a", blocks=(Block(drop=1),)) == [2]
    assert dropped(rounds_of(a="10 5 5 8"), "a", blocks=(Block(drop=2),)) == [2, 3]


def test_a_missed_round_is_dropped_before_a_driven_one():
    rounds = rounds_of(a="10 - 5", b="1 1 1")
    assert dropped(rounds, "a", blocks=(Block(drop=1),)) == [2]
    absent = next(row for row in rank_season(rounds, rules=SeasonRules()) if row.key == "a").rounds[1]
    assert (absent.is_absent, absent.points, absent.place) == (True, 0, None)


def test_best_so_many_drops_nothing_until_more_have_been_run():
    assert dropped(rounds_of(a="10 5 8"), "a", blocks=(Block(best=3),)) == []
    assert dropped(rounds_of(a="10 5 8 7"), "a", blocks=(Block(best=3),)) == [2]


def test_dropping_leaves_at_least_one_round_to_count():
    assert dropped(rounds_of(a="10"), "a", blocks=(Block(drop=2),)) == []
    assert dropped(rounds_of(a="10 9"), "a", blocks=(Block(drop=2),)) == [2]


def test_a_result_that_may_not_be_dropped_counts():
    rounds = rounds_of(a="10 0 8")
    rounds[1] = Round(2, (RoundResult("a", Decimal(0), can_drop=False),))
    assert dropped(rounds, "a", blocks=(Block(drop=1),)) == [3]


def test_rounds_outside_every_block_always_count():
    assert dropped(rounds_of(a="1 9 8 0"), "a", blocks=(Block(first=1, last=3, best=2),)) == [1]


def test_gross_keeps_what_was_dropped():
    row = rank_season(rounds_of(a="10 5 8"), rules=SeasonRules(blocks=(Block(best=2),)))[0]
    assert (row.gross, row.counted) == (23, 18)


def test_countback_may_leave_dropped_rounds_out():
    # Both have 36 counted. a's extra 15 (a third) is dropped.
    rounds = rounds_of(a="18 18 15", b="18 18 10")
    best_two = (Block(best=2),)
    assert table(rounds, blocks=best_two) == [(1, "a", 36), (2, "b", 36)]
    assert table(rounds, blocks=best_two, countback_dropped=False) == [(1, "a", 36), (1, "b", 36)]


def test_countback_stops_at_its_depth():
    rounds = rounds_of(a="25 15 2", b="25 8 9")
    assert table(rounds) == [(1, "a", 42), (2, "b", 42)]
    assert table(rounds, countback_depth=2) == [(1, "a", 42), (1, "b", 42)]


def test_dropped_points_may_part_a_tie():
    rounds = rounds_of(a="10 8 5", b="10 8 6")
    rules = {"blocks": (Block(best=2),), "tie_breaks": (SeasonTieBreak.GROSS,)}
    assert table(rounds, **rules) == [(1, "b", 18), (2, "a", 18)]


def test_a_rule_may_part_one_and_leave_two_to_share():
    rounds = rounds_of(a="18 7", b="15 10", c="15 10", d="10 15")
    rounds.append(Round(3, (RoundResult("b", Decimal(0), 1), RoundResult("c", Decimal(0), 1))))
    assert table(rounds, countback_depth=2) == [(1, "b", 25), (1, "c", 25), (3, "a", 25), (4, "d", 25)]


def test_the_last_round_may_part_a_tie():
    rounds = rounds_of(a="10 8", b="8 10")
    assert table(rounds, tie_breaks=(SeasonTieBreak.LAST_ROUND,)) == [(1, "b", 18), (2, "a", 18)]


def test_a_tie_that_may_not_be_shared_waits_for_the_director():
    rounds = rounds_of(a="10 8", b="8 10", c="20 20")
    rules = {"tie_breaks": (SeasonTieBreak.COUNTBACK, SeasonTieBreak.DIRECTOR), "may_share": False}
    standings = rank_season(rounds, rules=SeasonRules(**rules))
    assert [(row.place, row.decided_by) for row in standings[1:]] == [(2, SeasonTieBreak.OPEN)] * 2
    standings = rank_season(rounds, rules=SeasonRules(**rules, director_order=("b", "a")))
    assert [(row.place, row.key, row.decided_by) for row in standings[1:]] == [
        (2, "b", SeasonTieBreak.DIRECTOR),
        (3, "a", SeasonTieBreak.DIRECTOR),
    ]


def test_shared_in_the_rules_stops_there():
    rounds = rounds_of(a="10 8", b="8 10")
    rules = (SeasonTieBreak.SHARED, SeasonTieBreak.LAST_ROUND)
    assert table(rounds, tie_breaks=rules) == [(1, "a", 18), (1, "b", 18)]


def test_the_fewest_points_win_under_low_and_a_missed_race_costs_one_more_than_the_field():
    rounds = rounds_of(a="1 2", b="2 -", c="3 1")
    low = {"mode": PointsMode.LOW, "tie_breaks": SAILING_TIES}
    assert table(rounds, **low) == [(1, "a", 3), (2, "c", 4), (3, "b", 6)]
    assert table(rounds, **low, absent=Decimal(9))[2] == (3, "b", 11)


def test_counted_scores_are_not_compared_where_one_has_fewer_of_them():
    results = [RoundResult("a", Decimal(2), can_drop=False), RoundResult("b", Decimal(1))]
    rounds = [Round(1, tuple(results)), Round(2, (RoundResult("a", Decimal(0)), RoundResult("b", Decimal(1))))]
    rounds.append(Round(3, (RoundResult("a", Decimal(0), can_drop=False), RoundResult("b", Decimal(1)))))
    rules = {"blocks": (Block(best=0),), "tie_breaks": SAILING_TIES}
    assert table(rounds, **rules) == [(1, "a", 2), (2, "b", 0)]
    rounds[0] = Round(1, (RoundResult("a", Decimal(0), can_drop=False), results[1]))
    standings = rank_season(rounds, rules=SeasonRules(**rules))
    assert [row.decided_by for row in standings] == [SeasonTieBreak.LAST_ROUND] * 2


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        (Block, "bad_block"),
        (lambda: Block(best=1, drop=1), "bad_block"),
        (lambda: Block(best=-1), "bad_block"),
        (lambda: Block(first=0, best=1), "bad_block"),
        (lambda: Block(first=3, last=2, best=1), "bad_block"),
        (lambda: SeasonRules(blocks=(Block(last=5, best=1), Block(first=5, best=1))), "bad_block"),
        (lambda: SeasonRules(blocks=(Block(best=1), Block(first=5, best=1))), "bad_block"),
        (lambda: SeasonRules(countback_depth=0), "bad_depth"),
        (lambda: SeasonRules(absent=Decimal("NaN")), "bad_points"),
        (lambda: RoundResult("a", Decimal("Infinity")), "bad_points"),
        (lambda: RoundResult("a", Decimal(1), place=0), "bad_place"),
        (lambda: rank_season([Round(1, ()), Round(1, ())], rules=SeasonRules()), "duplicate_round"),
        (
            lambda: rank_season([Round(1, (RoundResult("a", Decimal(1)),) * 2)], rules=SeasonRules()),
            "duplicate_key",
        ),
    ],
)
def test_a_season_that_cannot_be_is_refused(wrong, code):
    with pytest.raises(ScoringError) as refused:
        wrong()
    assert refused.value.code == code


@st.composite
def seasons(draw):
    keys = draw(st.lists(st.integers(1, 9), unique=True, min_size=1, max_size=6))
    return [
        Round(
            number,
            tuple(
                RoundResult(
                    key, Decimal(draw(st.integers(0, 3))), draw(st.none() | st.integers(1, 4)), draw(st.booleans())
                )
                for key in keys
                if draw(st.booleans())
            ),
        )
        for number in range(1, draw(st.integers(1, 6)) + 1)
    ]


RULES = st.builds(
    SeasonRules,
    mode=st.sampled_from(PointsMode),
    blocks=st.sampled_from([(), (Block(best=2),), (Block(drop=1),), (Block(last=2, best=1), Block(first=3, drop=1))]),
    tie_breaks=st.lists(st.sampled_from(SeasonTieBreak), unique=True).map(tuple),
    countback_depth=st.none() | st.integers(1, 3),
    may_share=st.booleans(),
)


@given(seasons(), RULES, st.randoms(use_true_random=False))
def test_any_season_gives_one_row_a_driver_whatever_the_order_of_results(season, rules, rng):
    standings = rank_season(season, rules=rules)
    turned = [Round(each.number, tuple(rng.sample(each.results, len(each.results)))) for each in season]
    assert rank_season(turned, rules=rules) == standings
    assert {row.key for row in standings} == {result.key for each in season for result in each.results}
    for row in standings:
        ahead = sum(1 for other in standings if other.place < row.place)
        assert row.place == ahead + 1
        assert row.counted == sum(score.points for score in row.rounds if not score.is_dropped)
        assert row.gross == sum(score.points for score in row.rounds)
        assert row.shared == (sum(1 for other in standings if other.place == row.place) > 1)


@given(seasons(), RULES)
def test_a_better_total_is_never_placed_behind_a_worse_one(season, rules):
    totals = [row.counted for row in rank_season(season, rules=rules)]
    assert totals == sorted(totals, reverse=rules.mode is PointsMode.HIGH)

"""From laps to places. The night is invented; penalties as lines and the tie rules are common practice."""

import random
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.scoring.classification import (
    LaneScore,
    PenaltyLine,
    Score,
    Status,
    TieBreak,
    WithdrawnRank,
    classify,
    find_run_offs,
)
from racedesk.scoring.errors import ScoringError

# An invented night of fourteen on six lanes, in twentieths of a lap: key, lanes in the order driven, best lap.
NIGHT = """
petrakis 19.25 18.40 18.95 18.80 18.40 18.25 8.958
arnaud   18.75 18.45 19.00 19.00 18.00 18.30 9.159
brandt   18.90 18.45 18.60 18.40 18.60 18.10 9.108
dewit    18.85 18.50 18.65 18.75 18.15 17.85 9.231
pia      18.80 18.30 18.35 18.30 17.90 17.80 9.225
calloway 18.30 18.25 18.60 18.50 18.10 17.70 9.327
quarrie  18.70 18.10 17.90 18.50 18.10 18.05 9.311
"""


def score(key, laps, divisor=20, **facts):
    """A score of laps laps as text or number: score("a", "109.45")."""
    return Score(key, int(Decimal(str(laps)) * divisor), divisor, **facts)


def night():
    for line in NIGHT.split("\n"):
        if not line:
            continue
        key, *lanes, best = line.split()
        lane_scores = tuple(LaneScore(n, int(Decimal(laps) * 20)) for n, laps in enumerate(lanes, 1))
        yield Score(key, sum(lane.sections for lane in lane_scores), 20, Decimal(best), lane_scores)


def places(entries, *tie_rule, **how):
    return [(placing.place, placing.key) for placing in classify(entries, tie_rule=tie_rule, **how)]


def test_most_laps_wins_and_the_night_comes_out_as_it_was_run():
    placings = classify(tuple(night()), tie_rule=[TieBreak.BEST_LAP])
    assert [(placing.place, placing.key) for placing in placings] == [
        (1, "petrakis"),
        (2, "arnaud"),
        (3, "brandt"),
        (4, "dewit"),
        (5, "pia"),
        (6, "calloway"),
        (7, "quarrie"),
    ]
    assert [float(placing.behind) for placing in placings] == [0, 0.55, 1.0, 1.3, 2.6, 2.6, 2.7]


def test_a_broken_tie_says_which_rule_broke_it():
    placings = classify(tuple(night()), tie_rule=[TieBreak.BEST_LAP])
    pia, calloway = placings[4:6]
    assert pia.decided_by is calloway.decided_by is TieBreak.BEST_LAP
    assert pia.tied_with == ("calloway",)
    assert calloway.explanation == "tied on 109.45: the faster best lap goes first"
    assert not pia.shared
    assert placings[0].decided_by is None
    assert placings[0].explanation == ""


def test_the_same_tie_by_another_rule_may_go_the_other_way():
    # 18.80 against 18.60 on the best lane; 17.80 against 17.70 on the lane driven last.
    assert places(tuple(night()), TieBreak.BEST_LANE)[4:6] == [(5, "pia"), (6, "calloway")]
    assert places(tuple(night()), TieBreak.LAST_LANE)[4:6] == [(5, "pia"), (6, "calloway")]
    slower = [score("a", 50, best_lap_s=Decimal(9), lanes=(LaneScore(1, 510), LaneScore(2, 490)))]
    faster = [score("b", 50, best_lap_s=Decimal(8), lanes=(LaneScore(1, 500), LaneScore(2, 500)))]
    assert places(slower + faster, TieBreak.BEST_LANE) == [(1, "a"), (2, "b")]
    assert places(slower + faster, TieBreak.BEST_LAP) == [(1, "b"), (2, "a")]
    assert places(slower + faster, TieBreak.LAST_LANE) == [(1, "b"), (2, "a")]


def test_equal_best_lanes_go_on_to_the_next_best():
    one = score("a", 50, lanes=(LaneScore(1, 250), LaneScore(2, 350), LaneScore(3, 400)))
    two = score("b", 50, lanes=(LaneScore(1, 300), LaneScore(2, 300), LaneScore(3, 400)))
    assert places([two, one], TieBreak.BEST_LANE) == [(1, "a"), (2, "b")]


def test_a_tie_without_a_rule_is_shared_and_the_next_place_is_skipped():
    entries = [score("a", 50), score("b", 50), score("c", 49), score("d", 51)]
    placings = classify(entries, tie_rule=[])
    assert [(p.place, p.shared, p.key) for p in placings] == [
        (1, False, "d"),
        (2, True, "a"),
        (2, True, "b"),
        (4, False, "c"),
    ]
    assert placings[1].decided_by is TieBreak.SHARED
    assert placings[1].explanation == "tied on 50.00: the place is shared"


def test_a_rule_may_part_one_and_leave_two_to_share():
    times = {"a": "9.1", "b": "9.0", "c": "9.0", "d": "9.2"}
    entries = [score(key, 50, best_lap_s=Decimal(time)) for key, time in times.items()]
    assert places(entries, TieBreak.BEST_LAP) == [(1, "b"), (1, "c"), (3, "a"), (4, "d")]


def test_shared_in_the_rule_stops_there():
    entries = [score("a", 50, best_lap_s=Decimal(9)), score("b", 50, best_lap_s=Decimal(8))]
    assert places(entries, TieBreak.SHARED, TieBreak.BEST_LAP) == [(1, "a"), (1, "b")]


def test_rules_go_in_the_order_stated():
    a = score("a", 50, best_lap_s=Decimal("9.1"), reached_order=2)
    b = score("b", 50, best_lap_s=Decimal("9.1"), reached_order=1)
    c = score("c", 50, best_lap_s=Decimal("9.0"), reached_order=3)
    assert places([a, b, c], TieBreak.BEST_LAP, TieBreak.EARLIER) == [(1, "c"), (2, "b"), (3, "a")]
    assert places([a, b, c], TieBreak.EARLIER, TieBreak.BEST_LAP) == [(1, "b"), (2, "a"), (3, "c")]
    placings = classify([a, b, c], tie_rule=[TieBreak.BEST_LAP, TieBreak.EARLIER])
    assert [placing.decided_by for placing in placings] == [
        TieBreak.BEST_LAP,
        TieBreak.BEST_LAP,
        TieBreak.EARLIER,
    ]


def test_a_rule_that_cannot_be_applied_to_all_who_are_tied_is_passed_over():
    timed = score("a", 50, best_lap_s=Decimal(8), reached_order=2)
    untimed = score("b", 50, reached_order=1)
    assert places([timed, untimed], TieBreak.BEST_LAP, TieBreak.EARLIER) == [(1, "b"), (2, "a")]
    assert places([timed, untimed], TieBreak.BEST_LAP) == [(1, "a"), (1, "b")]


def test_lanes_are_compared_only_when_all_drove_as_many():
    one = score("a", 20, lanes=(LaneScore(1, 400),))
    two = score("b", 20, lanes=(LaneScore(1, 200), LaneScore(2, 200)))
    assert places([one, two], TieBreak.BEST_LANE, TieBreak.LAST_LANE) == [(1, "a"), (1, "b")]


def test_a_run_off_is_asked_for_and_then_decides():
    rule = (TieBreak.BEST_LAP, TieBreak.RUN_OFF)
    tied = [score("a", 50), score("b", 50), score("c", 48), score("d", 48, run_off=1)]
    assert find_run_offs(tied, tie_rule=rule) == (("a", "b"), ("c", "d"))
    assert places(tied, *rule) == [(1, "a"), (1, "b"), (3, "c"), (3, "d")]
    run = [score("a", 50, run_off=2), score("b", 50, run_off=1), score("c", 48)]
    assert find_run_offs(run, tie_rule=rule) == ()
    assert places(run, *rule) == [(1, "b"), (2, "a"), (3, "c")]
    assert classify(run, tie_rule=rule)[0].explanation == "tied on 50.00: the run-off decided"


def test_no_run_off_is_asked_for_where_an_earlier_rule_settles_it_or_none_is_stated():
    tied = [score("a", 50, best_lap_s=Decimal(9)), score("b", 50, best_lap_s=Decimal(8))]
    assert find_run_offs(tied, tie_rule=[TieBreak.BEST_LAP, TieBreak.RUN_OFF]) == ()
    assert find_run_offs(tied, tie_rule=[TieBreak.SHARED, TieBreak.RUN_OFF]) == ()
    assert find_run_offs(tied, tie_rule=[]) == ()


def test_penalties_move_a_place_and_stay_listed_apart():
    a = score("a", 50, penalties=(PenaltyLine(20, "left the post"), PenaltyLine(20, "spare car")))
    b = score("b", 49)
    first, second = classify([a, b], tie_rule=[])
    assert (first.key, second.key) == ("b", "a")
    assert (second.net_sections, second.penalty_sections) == (960, 40)
    assert a.sections == 1000
    assert second.behind == 1


def test_penalties_can_be_greater_than_the_laps_driven():
    a = score("a", 1, penalties=(PenaltyLine(45, "left the post"),))
    placings = classify([a, score("b", 0)], tie_rule=[])
    assert [placing.key for placing in placings] == ["b", "a"]
    tied = classify([a, score("b", 1, penalties=(PenaltyLine(45, "left the post"),))], tie_rule=[])
    assert tied[0].explanation == "tied on -1.25: the place is shared"


def test_an_entry_that_withdrew_keeps_its_laps_and_ranks_as_the_race_has_stated():
    entries = [score("a", 50, status=Status.WITHDRAWN), score("b", 40), score("c", 30, status=Status.RUNNING)]
    assert places(entries) == [(1, "a"), (2, "b"), (3, "c")]
    below = classify(entries, tie_rule=[], withdrawn=WithdrawnRank.BELOW_FINISHERS)
    assert [(p.place, p.key, p.behind) for p in below] == [(1, "b", 0), (2, "c", 10), (3, "a", -10)]


def test_those_who_did_not_start_or_are_excluded_are_listed_without_a_place():
    entries = [
        score("a", 50, status=Status.EXCLUDED),
        score("d", 0, status=Status.DID_NOT_START),
        score("c", 0, status=Status.DID_NOT_START),
        score("b", 10),
    ]
    assert places(entries) == [(1, "b"), (None, "c"), (None, "d"), (None, "a")]
    assert classify(entries, tie_rule=[])[-1].behind is None


def test_no_entries_make_no_placings():
    assert classify([], tie_rule=[TieBreak.BEST_LAP]) == ()


def test_tracks_of_two_divisions_compare_exactly():
    entries = [score("a", 10, divisor=3, run_off=None), Score("b", 201, 20), Score("c", 100, 10)]
    assert places(entries) == [(1, "b"), (2, "a"), (2, "c")]


@pytest.mark.parametrize(("divisor", "words"), [(1, "tied on 3:"), (3, "tied on 3 + 0/3:"), (100, "tied on 3.00:")])
def test_the_words_for_a_tie_write_laps_as_the_track_divides_them(divisor, words):
    placings = classify([score("a", 3, divisor=divisor), score("b", 3, divisor=divisor)], tie_rule=[])
    assert placings[0].explanation.startswith(words)


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"sections": -1}, "negative"),
        ({"lanes": (LaneScore(1, -1),)}, "negative"),
        ({"divisor": 0}, "bad_divisor"),
        ({"penalties": (PenaltyLine(0, "x"),)}, "bad_penalty"),
        ({"best_lap_s": Decimal(0)}, "bad_lap_time"),
        ({"best_lap_s": Decimal("NaN")}, "bad_lap_time"),
        ({"best_lap_s": Decimal("Infinity")}, "bad_lap_time"),
    ],
)
def test_a_score_that_cannot_be_is_refused(facts, code):
    with pytest.raises(ScoringError) as refused:
        Score(**({"key": "a", "sections": 1, "divisor": 20} | facts))
    assert refused.value.code == code


def test_the_same_entry_twice_is_refused():
    with pytest.raises(ScoringError) as refused:
        classify([score("a", 1), score("a", 2)], tie_rule=[])
    assert refused.value.code == "duplicate_key"


@st.composite
def fields(draw):
    """Small numbers, so that there are many ties."""
    keys = draw(st.lists(st.integers(0, 99) | st.sampled_from("abcdefgh"), unique=True, max_size=9))
    maybe = st.none() | st.integers(1, 3)
    lanes = st.tuples(*[st.builds(LaneScore, st.just(n), st.integers(0, 2)) for n in (1, 2)])
    return [
        Score(
            key,
            draw(st.integers(0, 3)),
            draw(st.sampled_from([1, 2])),
            draw(st.none() | st.sampled_from([Decimal("8.9"), Decimal(9)])),
            draw(st.just(()) | lanes),
            draw(st.just(()) | st.just((PenaltyLine(1, "spare car"),))),
            draw(st.sampled_from(Status)),
            draw(maybe),
            draw(maybe),
        )
        for key in keys
    ]


RULES = st.lists(st.sampled_from(TieBreak), unique=True)


@given(fields(), RULES, st.sampled_from(WithdrawnRank), st.randoms(use_true_random=False))
def test_the_result_does_not_depend_on_the_order_of_the_entries(field, rule, withdrawn, rng):
    shuffled = random.Random(rng.random()).sample(field, len(field))
    assert classify(shuffled, tie_rule=rule, withdrawn=withdrawn) == classify(field, tie_rule=rule, withdrawn=withdrawn)


@given(fields(), RULES, st.sampled_from(WithdrawnRank))
def test_places_are_those_of_a_competition(field, rule, withdrawn):
    placings = classify(field, tie_rule=rule, withdrawn=withdrawn)
    assert {placing.key for placing in placings} == {entry.key for entry in field}
    assert len(placings) == len(field)
    placed = [placing for placing in placings if placing.place is not None]
    for index, placing in enumerate(placed):
        ahead = sum(1 for other in placed if other.place < placing.place)
        assert placing.place == ahead + 1
        assert placing.shared == (sum(1 for other in placed if other.place == placing.place) > 1)
        assert placing.place <= index + 1


@given(fields(), RULES)
def test_more_laps_are_never_placed_behind_fewer(field, rule):
    placed = [placing for placing in classify(field, tie_rule=rule) if placing.place is not None]
    laps = [Fraction(placing.net_sections, placing.divisor) for placing in placed]
    assert laps == sorted(laps, reverse=True)


@given(fields(), RULES)
def test_every_tie_is_decided_by_a_stated_rule_or_shared(field, rule):
    for placing in classify(field, tie_rule=rule):
        if placing.place is None or not placing.tied_with:
            assert placing.decided_by is None
        elif placing.shared:
            assert placing.decided_by is TieBreak.SHARED
        else:
            assert placing.decided_by in rule
            assert placing.explanation

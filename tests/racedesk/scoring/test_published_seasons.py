"""Season tables of 1988 and 1979 and two low-point series, as published, worked out again from their rounds.

P01, P03: finishing places by round and final tables from f1db (https://github.com/f1db/f1db, commit 6a5845b), used
under CC BY 4.0 (https://creativecommons.org/licenses/by/4.0/); changed: cut down to the scorers, names replaced by
ids A01 ... and D01 ... in the order of the final table. The drop rules are from memory; the data confirm them.
P05: a race-officials' manual, p. 105, https://online.flipbuilder.com/rzgo/xtdp. P07: https://www.olympedia.org/results/356085.
"""

from decimal import Decimal

import pytest

from racedesk.scoring.points import TABLES, Placed, award_points
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

P01_1988 = """\
rank,id,R1,R2,R3,R4,R5,R6,R7,R8,R9,R10,R11,R12,R13,R14,R15,R16,gross,counted
1,A01,DSQ,1,DNF,2,1,1,2,1,1,1,1,10,6,4,1,2,94,90
2,A02,1,2,1,1,2,2,1,DNF,2,2,2,DNF,1,1,2,1,105,87
3,A03,2,5,2,3,DNF,DNF,4,9,3,4,DNF,1,DNF,6,4,DNF,41,41
4,A04,7,4,8,8,3,3,DNF,DNF,6,3,DSQ,6,3,9,3,5,27,27
5,A05,5,18,3,4,DNF,DNF,3,17,4,DNF,DNF,2,5,DNF,11,DNF,24,24
6,A06,3,3,DNF,DNF,4,DNF,5,5,DNF,8,4,DNF,DNF,8,DNF,3,22,22
7,A07,DNF,DNF,10,16,5,DNS,9,DNF,5,DNF,3,5,2,DNF,DNF,6,17,17
8,A08,4,9,4,5,7,DNF,DNF,6,7,DNF,5,4,4,DNF,DNF,DNF,17,17
9,A09,DNF,DNF,DNF,DNF,DNF,DNF,DNF,2,DNF,DNF,,,DNF,2,DNF,DNF,12,12
10,A10,DNF,6,DNF,7,DNF,DNF,6,3,18,DNF,DSQ,9,DNF,3,5,DNF,12,12
11,A11,DNF,13,6,DNF,DNF,DNF,DNF,8,DNF,6,DNF,7,DNF,5,6,4,8,8
12,A12,8,7,DNF,6,DNF,DNF,11,7,10,DNF,6,3,DNF,DNF,DNF,DNF,6,6
13,A13,DNF,15,DNF,DNF,DNF,DNF,8,4,8,5,DNF,8,DNF,7,10,DNF,5,5
14,A14,DNF,14,5,DNQ,6,5,DNF,DNF,11,DNF,12,DNQ,DNF,DNF,12,DNF,5,5
15,A15,DNF,DNF,DNF,DNF,9,4,10,DNF,13,DNF,DNF,DNF,DNF,DNF,DNF,8,3,3
16,A16,6,8,DNQ,DNF,11,DNQ,7,10,9,7,DNF,DNF,DNF,DNF,7,DNF,1,1
16,A17,,,,,,6,15,15,DNQ,DNF,DNQ,DNF,DNF,DNF,13,7,1,1
"""

P03_1979 = """\
rank,id,R1,R2,R3,R4,R5,R6,R7,R8,R9,R10,R11,R12,R13,R14,R15,gross,counted
1,D01,DNF,6,2,2,4,1,1,7,5,4,4,2,1,4,DNF,60,51
2,D02,12,5,1,1,7,7,DNF,2,14,8,2,DNF,2,2,1,53,47
3,D03,9,DNF,DNF,3,DNF,DNF,DNF,4,DNF,1,1,1,9,1,DNF,43,40
4,D04,1,1,DNF,DNF,DNF,2,DNF,8,DNF,3,3,3,DNF,DNF,DNF,36,36
5,D05,10,15,9,DNF,DNF,DNF,2,6,1,2,5,DNF,3,3,DNF,32,29
6,D06,4,2,DNF,5,1,DNF,5,,,,,,,,,22,20
7,D07,2,3,5,DNF,2,4,3,13,8,DNF,DNF,DNF,7,DNF,DNF,25,20
8,D08,DNF,DNF,DNF,DNS,9,DNF,DNF,3,2,DNF,6,DNF,DNF,DNF,2,17,17
9,D09,3,8,DNF,DNF,DNF,6,4,11,4,5,9,DNF,DNF,6,6,15,15
10,D10,DNF,4,DNF,DSQ,6,3,DNF,DNF,10,9,7,DNF,10,5,3,14,14
11,D11,DNF,DNF,3,6,5,11,DNF,5,3,,,DNF,6,DNF,DNF,14,14
12,D12,5,DNF,4,4,3,DNF,DNF,DNF,DNF,DNF,DNF,DNF,5,10,DNF,14,14
13,D13,DNF,10,DNF,DNS,DNF,DNF,8,1,DNF,DNF,DNF,DNF,14,DNF,DNF,9,9
14,D14,DNF,DNF,6,DNF,DNF,DNF,DNF,DNF,DNF,DNF,DNF,DNF,4,,,4,4
15,D15,DNF,DNF,7,8,DNF,DNF,7,DNF,DNF,12,DNF,4,DNF,DNF,8,3,3
15,D16,7,12,DNF,7,DNF,DNF,DNQ,16,12,11,DNF,DNF,DNF,DNF,4,3,3
17,D17,,,,,,,,DNF,6,DNF,DNF,5,DNF,DNF,DNF,3,3
18,D18,8,7,12,9,8,DNF,6,15,DNF,6,DNF,6,DNF,DNQ,DNQ,3,3
19,D19,DNS,9,11,DNF,10,5,DNF,14,DNF,DNF,DNF,DNF,13,DNF,DNF,2,2
19,D20,DNS,DNF,DNF,DSQ,14,8,DNF,DNS,DNQ,DNF,DNF,DNF,11,DNF,5,2,2
21,D21,6,11,13,DNF,11,9,DNF,DNF,DNF,DNF,DNF,DNF,8,8,7,1,1
"""

POINTS = (9, 6, 4, 3, 2, 1)
BEST_11 = SeasonRules(blocks=(Block(best=11),), countback_depth=6)
BEST_4_AND_4 = SeasonRules(blocks=(Block(first=1, last=7, best=4), Block(first=8, last=15, best=4)), countback_depth=6)


def season(table):
    """(rank, id, gross, counted) as published, and the rounds with their points by place."""
    head, *lines = table.strip().split("\n")
    published, rounds = [], [[] for name in head.split(",") if name.startswith("R")]
    for line in lines:
        rank, key, *finishes, gross, counted = line.split(",")
        published.append((int(rank), key, int(gross), int(counted)))
        for results, finish in zip(rounds, finishes, strict=True):
            if finish:
                place = int(finish) if finish.isdigit() else None
                points = POINTS[place - 1] if place and place <= len(POINTS) else 0
                results.append(RoundResult(key, Decimal(points), place))
    return published, [Round(number, tuple(results)) for number, results in enumerate(rounds, 1)]


def told(standings):
    return [(row.place, row.key, int(row.gross), int(row.counted)) for row in standings]


def by_key(standings):
    return {row.key: row for row in standings}


@pytest.mark.parametrize(("table", "rules"), [(P01_1988, BEST_11), (P03_1979, BEST_4_AND_4)])
def test_the_published_table_comes_out_place_for_place(table, rules):
    published, rounds = season(table)
    assert told(rank_season(rounds, rules=rules)) == published


@pytest.mark.parametrize(("table", "rules"), [(P01_1988, BEST_11), (P03_1979, BEST_4_AND_4)])
def test_the_table_does_not_depend_on_the_order_of_results(table, rules):
    published, rounds = season(table)
    turned = [Round(each.number, each.results[::-1]) for each in rounds]
    assert told(rank_season(turned, rules=rules)) == published


def test_1988_without_drops_turns_the_title_round():
    _, rounds = season(P01_1988)
    first, second = rank_season(rounds, rules=SeasonRules(countback_depth=6))[:2]
    assert (first.key, first.counted, second.key, second.counted) == ("A02", 105, "A01", 94)


def test_1988_ties_are_parted_by_places_and_the_last_is_shared():
    rows = by_key(rank_season(season(P01_1988)[1], rules=BEST_11))
    assert rows["A07"].tied_with == ("A08",)
    assert rows["A07"].decided_by is rows["A08"].decided_by is SeasonTieBreak.COUNTBACK
    assert rows["A16"].shared
    assert rows["A17"].shared
    assert rows["A16"].decided_by is SeasonTieBreak.SHARED
    assert rows["A01"].decided_by is None


def test_counting_back_through_all_places_parts_what_six_leave_shared():
    _, rounds = season(P01_1988)
    rows = by_key(rank_season(rounds, rules=SeasonRules(blocks=(Block(best=11),))))
    assert (rows["A16"].place, rows["A17"].place, rows["A16"].shared) == (16, 17, False)
    _, rounds = season(P03_1979)
    rows = by_key(rank_season(rounds, rules=SeasonRules(blocks=BEST_4_AND_4.blocks)))
    assert not rows["D15"].shared


def test_1979_drops_are_taken_block_by_block():
    row = by_key(rank_season(season(P03_1979)[1], rules=BEST_4_AND_4))["D01"]
    counting = [(score.round_number, int(score.points)) for score in row.rounds if not score.is_dropped]
    # 9, 9, 6, 6 of the first seven; 9, 6, 3, 3 of the last eight, where of three 3s the earliest goes.
    assert sum(points for number, points in counting if number <= 7) == 30
    assert sum(points for number, points in counting if number >= 8) == 21
    assert len(counting) == 8


def low_season(finishes):
    """Rounds from each boat's scores, all of which may be dropped."""
    boats = {key: [Decimal(each) for each in scores.split()] for key, scores in finishes.items()}
    count = len(next(iter(boats.values())))
    return [
        Round(n + 1, tuple(RoundResult(key, scores[n], int(scores[n])) for key, scores in boats.items()))
        for n in range(count)
    ]


LOW = SeasonRules(mode=PointsMode.LOW, blocks=(Block(drop=1),), tie_breaks=SAILING_TIES)


def test_p05_three_boats_on_sixteen():
    rounds = low_season({"A": "3 4 1 6 2 7", "B": "4 3 2 1 6 6", "C": "1 2 7 3 3 14"})
    standings = rank_season(rounds, rules=LOW)
    assert [(row.place, row.key, row.counted) for row in standings] == [(1, "C", 16), (2, "B", 16), (3, "A", 16)]
    assert [row.decided_by for row in standings] == [
        SeasonTieBreak.COUNTED_SCORES,
        SeasonTieBreak.COUNTED_SCORES,
        SeasonTieBreak.LAST_ROUND,
    ]


def test_p05_of_two_equal_worst_scores_the_earliest_is_dropped():
    # RRS A2.1; boat B has a 6 in the last two races.
    rounds = low_season({"A": "3 4 1 6 2 7", "B": "4 3 2 1 6 6", "C": "1 2 7 3 3 14"})
    row = by_key(rank_season(rounds, rules=LOW))["B"]
    assert [score.round_number for score in row.rounds if score.is_dropped] == [5]


def test_p07_ten_races_one_dropped_and_a_double_medal_race_that_is_not():
    boats = {
        "NZL": ("19 3 5 6 14 17 13 6 12 1", 8),
        "FRA": ("11 10 4 17 5 47 3 15 19 2", 4),
    }
    rounds = low_season({key: scores for key, (scores, _) in boats.items()})
    medal = [RoundResult(key, Decimal(points), points // 2, can_drop=False) for key, (_, points) in boats.items()]
    standings = rank_season([*rounds, Round(11, tuple(medal))], rules=LOW)
    assert [(row.key, row.counted) for row in standings] == [("NZL", 85), ("FRA", 90)]
    assert by_key(standings)["FRA"].gross == 137


def test_the_points_table_of_the_season_is_the_table_of_the_races():
    awards = award_points([Placed(key, key) for key in range(1, 9)], table=TABLES["first_six"])
    assert [int(award.points) for award in awards] == [*POINTS, 0, 0]

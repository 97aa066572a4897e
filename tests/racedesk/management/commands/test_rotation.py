import json
from io import StringIO
from itertools import combinations

import pytest
from django.core.management import CommandError, call_command


def printed(*arguments):
    out = StringIO()
    call_command("rotation", *arguments, stdout=out)
    return out.getvalue()


def test_the_json_report_has_the_documented_form():
    answer = json.loads(printed("--drivers", "14", "--lanes", "6", "--seed", "1", "--json"))

    assert {key: answer[key] for key in ("drivers", "lanes", "seed", "preset")} == {
        "drivers": 14,
        "lanes": 6,
        "seed": 1,
        "preset": "opponents",
    }
    assert len(answer["heats"]) == 14
    assert sorted(row[0] for row in answer["heats"]) == list(range(1, 15))
    assert answer["report"] == {
        "meetings_min": 2,
        "meetings_max": 3,
        "sum_of_squares": 504,
        "bound": 504,
        "status": "optimal",
        "back_to_back": 26,
        "longest_wait": 3,
        "never_meet": 0,
        "neighbors_min": 0,
        "neighbors_max": 1,
    }


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["--drivers", "16", "--lanes", "6"], "optimal"),
        (["--drivers", "2", "--lanes", "3"], "optimal"),
        (["--drivers", "20", "--lanes", "8"], "unreachable"),
        (["--drivers", "17", "--lanes", "6"], "open"),
        (["--drivers", "24", "--lanes", "8", "--preset", "usual"], "improvable"),
    ],
)
def test_the_report_says_what_is_known_of_the_bound(arguments, status):
    assert json.loads(printed(*arguments, "--seed", "1", "--json"))["report"]["status"] == status


def test_an_empty_lane_is_null_in_the_json():
    answer = json.loads(printed("--drivers", "2", "--lanes", "3", "--seed", "1", "--json"))

    assert [row.count(None) for row in answer["heats"]] == [1, 1, 1]


def test_the_usual_preset_follows_the_order_given():
    own = json.loads(printed("--drivers", "5", "--lanes", "3", "--seed", "1", "--lane-order", "2, 3 1", "--json"))
    asked = json.loads(
        printed("--drivers", "5", "--lanes", "3", "--seed", "1", "--preset", "usual", "--lane-order", "2,3,1", "--json")
    )

    assert own == asked
    assert own["preset"] == "usual"
    first, second = own["heats"][:2]
    assert second[2] == first[1]
    assert second[0] == first[2]


def test_without_json_people_read_a_table():
    text = printed("--drivers", "3", "--lanes", "4", "--in-order", "--seed", "9").splitlines()

    assert text[0] == "3 drivers, 4 lanes, 4 heats; opponents preset, seed 9"
    assert text[2].split() == ["heat", "lane", "1", "lane", "2", "lane", "3", "lane", "4"]
    assert text[3].split() == ["1", "1", "-", "2", "3"]
    assert "A pair meets 4 to 4 times; 0 pairs of 3 never meet." in text


def test_without_a_seed_one_is_drawn_and_shown_so_that_the_draw_can_be_made_again():
    first = json.loads(printed("--drivers", "9", "--lanes", "4", "--json"))
    again = json.loads(printed("--drivers", "9", "--lanes", "4", "--seed", str(first["seed"]), "--json"))

    assert again == first


def test_rounds_lanes_each_and_empty_lanes_are_drawn_as_asked():
    rounds = json.loads(printed("--drivers", "9", "--lanes", "4", "--rounds", "2", "--seed", "1", "--json"))
    fewer = json.loads(printed("--drivers", "20", "--lanes", "8", "--lanes-each", "4", "--seed", "1", "--json"))
    empty = json.loads(printed("--drivers", "9", "--lanes", "4", "--empty", "2", "--seed", "1", "--json"))

    assert (len(rounds["heats"]), rounds["rounds"]) == (18, 2)
    assert (len(fewer["heats"]), fewer["lanes_each"]) == (10, 4)
    assert {heat[1] for heat in empty["heats"]} == {None}
    assert (empty["lanes_each"], empty["report"]["status"]) == (3, "optimal")


def night(tmp_path, **more):
    path = tmp_path / "night.json"
    path.write_text(json.dumps({"lanes": 3, "drivers": 5, "heats_run": [[1, 2, 3]]} | more))
    return str(path)


def test_a_state_is_drawn_again_with_what_was_run_kept(tmp_path):
    answer = json.loads(printed("--state", night(tmp_path, withdrawn=[2], lanes_out=[3]), "--steps", "500", "--json"))

    assert (answer["drivers"], answer["heats_run"], answer["seed"]) == ([1, 3, 4, 5], 1, 1)
    assert len(answer["heats"]) == answer["fewest"] == 4
    assert answer["owed"] == [{"driver": 1, "lane": 3}, {"driver": 4, "lane": 3}, {"driver": 5, "lane": 3}]
    assert set(answer["report"]) == {
        "meetings_min", "meetings_max", "sum_of_squares", "bound", "status", "back_to_back", "longest_wait",
        "never_meet", "neighbors_min", "neighbors_max",
    }  # fmt: skip
    again = printed("--state", night(tmp_path, withdrawn=[2], lanes_out=[3]), "--steps", "500", "--json")
    assert json.loads(again) == answer


def test_the_report_of_a_state_counts_the_whole_night(tmp_path):
    answer = json.loads(printed("--state", night(tmp_path, joined=[6]), "--steps", "0", "--json"))

    meetings = {frozenset(pair): 0 for pair in combinations(range(1, 7), 2)}
    for heat in [[1, 2, 3], *answer["heats"]]:
        for pair in combinations([driver for driver in heat if driver], 2):
            meetings[frozenset(pair)] += 1
    assert answer["report"]["sum_of_squares"] == sum(times**2 for times in meetings.values())
    assert answer["report"]["never_meet"] == list(meetings.values()).count(0)


def test_a_night_with_nobody_left_has_no_report(tmp_path):
    answer = json.loads(printed("--state", night(tmp_path, withdrawn=[1, 2, 3, 4]), "--json"))

    assert (answer["drivers"], answer["report"]) == ([5], None)


def test_people_read_what_is_left_and_who_is_owed(tmp_path):
    text = printed("--state", night(tmp_path, lanes_out=[3]), "--steps", "0").splitlines()

    assert text[0] == "4 heats to come; no plan has fewer than 4; seed 1, 0 steps"
    assert text[3].split()[0] == "2"
    assert "Driver 5 is owed lane 3." in text


def test_the_schema_of_the_state_is_printed():
    assert json.loads(printed("--schema"))["required"] == ["lanes", "drivers"]


def test_all_531_sizes_are_legal_and_counted_alike_by_other_means():
    rows = [json.loads(line) for line in printed("--all", "--json-lines").splitlines()]

    assert len({(row["drivers"], row["lanes"]) for row in rows}) == len(rows) == 531
    assert [row for row in rows if row["problems"]] == []
    fewer = [row for row in rows if row["drivers"] < row["lanes"]]
    assert len(fewer) == 36
    assert {row["status"] for row in fewer} == {"optimal"}
    real = [row for row in rows if row["drivers"] >= row["lanes"] + 2]
    assert len(real) == 477
    assert sum(row["status"] == "optimal" for row in real) >= 436
    assert all(10 * (row["sum_of_squares"] - row["bound"]) <= row["bound"] for row in rows)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--drivers", "1", "--lanes", "6"], "A draw needs at least 2 drivers, not 1."),
        (["--drivers", "9", "--lanes", "0"], "A track has at least 1 lane, not 0."),
        (["--drivers", "9", "--lanes", "3", "--lane-order", "1,2"], "names each lane from 1 to 3 once"),
        (["--drivers", "9", "--lanes", "3", "--lane-order", "1;2;3"], "lane numbers with commas"),
        (["--drivers", "9", "--lanes", "3", "--lane-order", ""], "lane numbers with commas"),
        (["--drivers", "9", "--lanes", "3", "--lane-order", "1,2,3", "--preset", "rest"], "Only the usual preset"),
        (["--drivers", "9", "--lanes", "3", "--steps", "0"], "at least 1 step"),
        (["--drivers", "nine", "--lanes", "3"], "invalid int value"),
        (["--drivers", "9"], "--lanes"),
        (["--drivers", "9", "--lanes", "3", "--rounds", "0"], "1 to 20 rounds"),
        (["--drivers", "9", "--lanes", "3", "--lanes-each", "4"], "drives 1 to 3 lanes"),
        (["--drivers", "9", "--lanes", "3", "--empty", "4"], "lanes of the track"),
        (["--state", "no-such-file.json"], "no-such-file.json cannot be read"),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_a_sentence(arguments, message):
    with pytest.raises(CommandError, match=message):
        printed(*arguments)

import json
from io import StringIO

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
    ],
)
def test_what_cannot_be_drawn_is_refused_in_a_sentence(arguments, message):
    with pytest.raises(CommandError, match=message):
        printed(*arguments)

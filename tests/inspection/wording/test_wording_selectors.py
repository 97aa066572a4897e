"""Limits and conditions in words, in both systems of measures."""

import pytest

from inspection.models import Characteristic, Clause
from inspection.wording import selectors

WIDTH = Characteristic(
    code="w", name="Width", kind="length", unit="mm", plausible_low="20 mm", plausible_high="130 mm", group="across"
)
TEETH = Characteristic(code="t", name="Pinion", kind="count")
TIRES = Characteristic(code="m", name="Tire material", kind="choice")
DRIVER = Characteristic(code="d", name="Driver figure", kind="yes_no")


def clause(**fields):
    return Clause(**{"number": "1", "text": "Words.", "measuring_point": "at the widest"} | fields)


@pytest.mark.parametrize(
    ("fields", "words", "short"),
    [
        (
            {"characteristic": WIDTH, "comparator": "at_least", "lower": "19.00 mm"},
            "At least 19.00 mm (0.748 in)",
            "at least 19.00 mm",
        ),
        # 3.25 in is 82.55 mm, never 82.5 (1 in = 25.4 mm exactly, international agreement of 1959)
        (
            {"characteristic": WIDTH, "comparator": "at_most", "upper": "3.25 in"},
            "At most 3.250 in (82.55 mm)",
            "at most 3.250 in",
        ),
        # 2 1/16 * 25.4 = 52.3875
        (
            {"characteristic": WIDTH, "comparator": "at_most", "upper": "2 1/16 in"},
            "At most 2 1/16 in (52.39 mm)",
            "at most 2 1/16 in",
        ),
        (
            {"characteristic": WIDTH, "comparator": "between", "lower": "60 mm", "upper": "2 1/2 in"},
            "Between 60.00 mm (2.362 in) and 2 1/2 in (63.50 mm)",
            "between 60.00 mm and 2 1/2 in",
        ),
        (
            {"characteristic": WIDTH, "comparator": "equal_within", "nominal": "3/32 in", "tolerance": "0.05 mm"},
            "3/32 in (2.38 mm), give or take 0.05 mm (0.002 in)",
            "3/32 in, give or take 0.05 mm",
        ),
        ({"characteristic": TEETH, "comparator": "equal_within", "nominal": "12"}, "Exactly 12", "exactly 12"),
        (
            {"characteristic": TIRES, "comparator": "one_of", "choices": ["rubber", "urethane"]},
            "One of: rubber, urethane",
            "one of: rubber, urethane",
        ),
        (
            {"characteristic": TIRES, "comparator": "one_of", "choices": ["can, short", "can, long"]},
            "One of: can, short; can, long",
            "one of: can, short; can, long",
        ),
        ({"characteristic": DRIVER, "comparator": "yes_no"}, "Yes", "yes"),
        ({"characteristic": DRIVER, "comparator": "yes_no", "expected_answer": False}, "No", "no"),
        ({"comparator": "judge_decides"}, "Judge decides", "judge decides"),
        (
            {"characteristic": WIDTH, "comparator": "judge_decides", "nominal": ".063 in"},
            "Judge decides; written: 0.063 in (1.60 mm)",
            "judge decides; written: 0.063 in",
        ),
        ({}, "", ""),
        ({"characteristic": WIDTH, "lower": "7 mm"}, "7.00 mm (0.276 in)", "7.00 mm"),
        ({"characteristic": WIDTH, "comparator": "at_least"}, "At least ?", "at least ?"),
    ],
)
def test_limits_in_words(fields, words, short):
    stored = clause(**fields)

    assert (selectors.limit_words(stored), selectors.limit_words_short(stored)) == (words, short)


def test_limits_are_written_with_the_club_s_decimal_mark():
    stored = clause(characteristic=WIDTH, comparator="at_least", lower="19.00 mm")

    assert selectors.limit_words(stored, decimal_mark=",") == "At least 19,00 mm (0,748 in)"


def test_phases_in_words():
    assert selectors.phase_words(["after", "before"]) == "Before the race, after the race"
    assert selectors.phase_words([]) == "Before the race"

"""Limits and conditions in words, in both systems of measures."""

import pytest

from inspection.conformity.clauses import Comparator
from inspection.contents.selectors import ClauseContent, LimitRow, Requirement
from inspection.models import Characteristic, ChoiceList, Clause
from inspection.units import Kind, parse_quantity
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


# What more than one thing is asked, under conditions, by lists and by comparison.

OTHER = Characteristic(code="r", name="Rear width", kind="length", unit="mm")
OPEN = Characteristic(code="open", name="Open cockpit", kind="yes_no")
SPEED = Characteristic(code="s", name="Motor speed", kind="rotation_speed", unit="rpm")
BODY = Characteristic(pk=7, code="b", name="Body", kind="choice")
MOTORS = ChoiceList(name="Motors")
WIDTHS = ChoiceList(name="Axle widths", keyed_by=BODY)
REGISTER = {one.code: one for one in (WIDTH, TEETH, OTHER, OPEN, SPEED, BODY)}


def mm(text):
    return parse_quantity(text, Kind.LENGTH, default_unit="mm", allow_negative=True)


def asked(comparator, characteristic=WIDTH, **said):
    return Requirement(characteristic=characteristic, comparator=Comparator(comparator), **said)


def content(comparator, characteristic=WIDTH, **said):
    return ClauseContent(
        number="1",
        text="Words.",
        characteristic=characteristic,
        comparator=Comparator(comparator),
        spoken_of=REGISTER,
        **said,
    )


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (
            content("at_most", other=OTHER, offset=mm("2 mm")),
            "At most 2.00 mm (0.079 in) more than the rear width",
        ),
        (
            content("at_least", other=OTHER, factor="0.8", offset=mm("-2 mm")),
            "At least 2.00 mm (0.079 in) less than 0.8 times the rear width",
        ),
        (content("at_most", other=OTHER), "At most the rear width"),
        (
            content("equal_within", other=OTHER, tolerance=mm("1 mm")),
            "The rear width, give or take 1.00 mm (0.039 in)",
        ),
        (content("one_of", TIRES, choice_list=MOTORS, list_revision=3), "One of the list Motors, revision 3"),
        (content("one_of", TIRES, choice_list=MOTORS), "One of the list Motors"),
        (
            content("at_most", choice_list=WIDTHS, list_revision=2),
            "At most what the list says (one of the list Axle widths, revision 2, for its body)",
        ),
        (
            content("yes_no", DRIVER, applies_when={"about": "characteristic", "name": "open", "is": "yes"}),
            "If open cockpit is yes: yes",
        ),
        (
            content("yes_no", DRIVER, unless={"about": "class", "is": "one_of", "values": ["Saloons", "Tinted"]}),
            "Yes; not if the class is Saloons or Tinted",
        ),
        (
            content(
                "any_of",
                None,
                parts=(
                    asked("one_of", TIRES, choices=("rubber",)),
                    asked("all_of", None, parts=(asked("yes_no", DRIVER), asked("at_most", upper=mm("60 mm")))),
                ),
            ),
            "Either tire material: rubber; or driver figure: yes; and width: at most 60.00 mm (2.362 in)",
        ),
        (
            content("as_supplied", TIRES, choices=("glued", "trued")),
            "As supplied, but for: glued, trued",
        ),
        (
            content(
                "at_least",
                lower=mm("1 mm"),
                rows=(LimitRow(when={"about": "phase", "is": "one_of", "values": ["after"]}, lower=mm("0.6 mm")),),
            ),
            "If after the race: at least 0.60 mm (0.024 in); otherwise at least 1.00 mm (0.039 in)",
        ),
        (
            content("at_most", upper=mm("60 mm"), allowance="10 %"),
            "At most 60.00 mm (2.362 in), with a tolerance of 10 %",
        ),
        (
            content("at_least", lower=mm("19 mm"), readings_wanted=3, counts="mean"),
            "At least 19.00 mm (0.748 in), as the mean of 3 readings",
        ),
    ],
)
def test_every_kind_of_clause_says_itself_in_plain_words(said, words):
    assert selectors.limit_words(said) == words


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        ({"about": "date", "is": "at_least", "values": ["2027-01-01"]}, "from Jan. 1, 2027"),
        ({"about": "flag", "name": "host tires", "is": "no"}, "the night has not “host tires”"),
        ({"about": "junior", "is": "yes"}, "the driver is a junior"),
        ({"about": "clause", "name": "4.2", "is": "failed"}, "clause 4.2 failed"),
        ({"about": "restricted", "name": "s", "is": "yes"}, "a clause limits the motor speed"),
        (
            {"about": "characteristic", "name": "r", "is": "between", "values": ["60 mm", "65 mm"]},
            "rear width is between 60.00 mm (2.362 in) and 65.00 mm (2.559 in)",
        ),
        ({"about": "characteristic", "name": "gone", "is": "no"}, "gone is no"),
        ({"about": "phase", "is": "none_of", "values": ["during"]}, "not during the race"),
        (
            {
                "any": [
                    {"about": "track", "is": "one_of", "values": ["Attic"]},
                    {"all": [{"about": "junior", "is": "no"}, {"about": "scale", "is": "one_of", "values": ["1:32"]}]},
                ]
            },
            "the track is Attic or the driver is no junior and the scale is 1:32",
        ),
    ],
)
def test_a_condition_says_itself_in_plain_words(condition, words):
    said = selectors.limit_words(content("yes_no", DRIVER, applies_when=condition))

    assert said == f"If {words}: yes"


def test_what_is_struck_says_so():
    assert selectors.limit_words(ClauseContent(number="4", text="", is_struck=True)) == "Does not apply here"

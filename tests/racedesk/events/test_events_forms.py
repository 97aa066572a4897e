"""Amounts, lengths of time and times of a night, as people type them."""

import datetime as dt
import zoneinfo
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from racedesk.events.forms import AmountField, LengthOfTimeField, night_moments

VIENNA = zoneinfo.ZoneInfo("Europe/Vienna")
FRIDAY = dt.date(2026, 11, 27)


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("7.50", "7.50"),
        ("7,50", "7.50"),
        ("7,5", "7.50"),
        ("7", "7.00"),
        (" 12.00 EUR", "12.00"),
        ("€ 5", "5.00"),
        ("0", "0.00"),
    ],
)
def test_an_amount_is_read_with_a_point_or_a_comma(typed, amount):
    assert AmountField().clean(typed) == Decimal(amount)


@pytest.mark.parametrize(
    "typed",
    [
        "-5",
        "1,000",
        "1.234,50",
        "NaN",
        "1e3",
        "1e999",
        "Infinity",
        "five",
        "\u0667",
        "1234567",
        "7.505",
        "1" + " " * 200_000 + "x",
    ],
)
def test_what_is_no_amount_is_refused_rather_than_guessed(typed):
    with pytest.raises(ValidationError):
        AmountField().clean(typed)


@pytest.mark.parametrize(
    ("typed", "seconds"), [("3:00", 180), ("2:30", 150), ("3", 180), ("3 min", 180), ("180 s", 180), ("90s", 90)]
)
def test_a_length_of_time_is_read_as_people_write_it(typed, seconds):
    assert LengthOfTimeField().clean(typed) == seconds


@pytest.mark.parametrize("typed", ["3:60", "180", "soon", "-3:00", "0:05", "1e3 s"])
def test_a_doubtful_length_of_time_is_refused(typed):
    with pytest.raises(ValidationError):
        LengthOfTimeField(low=10).clean(typed)


def test_times_after_midnight_belong_to_the_next_day():
    doors, racing, closes = night_moments(FRIDAY, [dt.time(18), dt.time(19, 30), dt.time(0, 30)], VIENNA)

    assert doors == dt.datetime(2026, 11, 27, 17, tzinfo=dt.UTC)
    assert racing == dt.datetime(2026, 11, 27, 18, 30, tzinfo=dt.UTC)
    assert closes == dt.datetime(2026, 11, 27, 23, 30, tzinfo=dt.UTC)


def test_a_time_before_five_alone_belongs_to_the_night_too():
    assert night_moments(FRIDAY, [None, dt.time(1)], VIENNA) == [None, dt.datetime(2026, 11, 28, 0, tzinfo=dt.UTC)]


def test_the_night_on_which_the_clocks_go_back_keeps_its_times():
    closes = night_moments(dt.date(2026, 10, 24), [dt.time(18), dt.time(4)], VIENNA)[1]

    assert closes == dt.datetime(2026, 10, 25, 3, tzinfo=dt.UTC)

"""The kit: what stands on every page and sheet of paper in one hand."""

import re
from decimal import Decimal
from types import SimpleNamespace

import pytest
import segno
from django.template import Context, Template
from django.test import RequestFactory

from inspection.conformity.verdicts import Outcome
from inspection.templatetags.kit import STATES, laps_text, state_of

CLUB = SimpleNamespace(currency="EUR", decimal_mark=".", units="mm")


def drawn(source, **context):
    return Template("{% load kit %}" + source).render(Context(context))


@pytest.mark.parametrize(
    ("outcome", "word", "kind"),
    [
        ("pass", "Pass", "ok"),
        ("fail", "Fail", "bad"),
        ("too_close", "Too close", "near"),
        ("not_checked", "Not checked", "unchecked"),
        ("judge_decides", "Judge decides", "judge"),
        (None, "Not checked", "unchecked"),
        ("", "Not checked", "unchecked"),
    ],
)
def test_a_verdict_is_a_shape_and_a_word(outcome, word, kind):
    html = drawn("{% verdict outcome %}", outcome=outcome)

    assert f'class="verdict {kind}"' in html
    assert html.count("<svg") == 1
    assert re.search(rf">\s*{word}</span>", html)


def test_a_reading_too_close_says_so_first_and_then_what_it_counts_as():
    html = drawn("{% verdict 'fail' True %}")

    assert 'class="verdict near"' in html
    assert "Too close" in html
    assert "counts as Fail" in html


def test_a_clause_too_close_without_an_outcome_counts_as_nothing():
    assert "counts as" not in drawn("{% verdict 'too_close' True %}")


def test_every_outcome_of_the_engine_has_a_word_and_a_shape():
    assert {str(outcome) for outcome in Outcome} == set(STATES)
    assert state_of(Outcome.JUDGE_DECIDES) == "judge_decides"


def test_an_unknown_outcome_is_a_bug():
    with pytest.raises(KeyError):
        state_of("good enough")


def test_each_shape_differs_and_is_hidden_from_readers():
    shapes = {drawn("{% state_shape outcome %}", outcome=outcome) for outcome in STATES}

    assert len(shapes) == 5
    assert all('aria-hidden="true"' in shape for shape in shapes)


def test_a_lane_is_its_number_its_swatch_and_its_name_in_that_order():
    html = drawn("{% lane lane 'large' %}", lane={"number": 4, "name": "Gr<een", "color": "#1b8346"})

    assert html.index("<b>4</b>") < html.index('fill="#1b8346"') < html.index("Gr&lt;een")
    assert "lane-large" in html
    assert "style=" not in html


def test_a_swatch_has_a_border_so_that_white_shows_on_white():
    assert 'stroke="#000000"' in drawn("{% swatch '#ffffff' %}")


@pytest.mark.parametrize(
    ("sections", "divisor", "text"),
    [
        (405, 20, "20.25"),
        (400, 20, "20.00"),
        (0, 20, "0.00"),
        (1, 20, "0.05"),
        (199, 10, "19.9"),
        (1234, 100, "12.34"),
        (7, 4, "1.75"),
        (20, 1, "20"),
        (175, 24, "7 7/24"),
        (168, 24, "7"),
        (31, 12, "2 7/12"),
    ],
)
def test_laps_are_written_exactly(sections, divisor, text):
    assert laps_text(sections, divisor) == text


def test_laps_take_the_clubs_decimal_mark():
    comma = SimpleNamespace(decimal_mark=",")

    assert drawn("{% laps 405 20 %}", club=comma) == "20,25"
    assert drawn("{% laps 405 20 %}") == "20.25"
    assert drawn("{% laps nothing 20 %}", nothing=None) == ""


@pytest.mark.parametrize(
    ("amount", "currency", "mark", "text"),
    [
        (Decimal("12.5"), "EUR", ".", "12.50 EUR"),
        (Decimal("12.5"), "EUR", ",", "12,50 EUR"),
        (Decimal("1200.00"), "JPY", ".", "1200 JPY"),
        (Decimal(-3), "USD", ".", "-3.00 USD"),
        (0, "KWD", ".", "0.000 KWD"),
    ],
)
def test_money_has_the_decimals_of_its_currency(amount, currency, mark, text):
    club = SimpleNamespace(currency=currency, decimal_mark=mark)

    assert drawn("{% money amount club %}", amount=amount, club=club).replace("\N{NO-BREAK SPACE}", " ") == text


def test_no_amount_is_nothing():
    assert drawn("{% money nothing club %}", nothing=None, club=CLUB) == ""


@pytest.mark.parametrize(
    ("value", "kind", "unit", "units", "text"),
    [
        (Decimal("6.350"), "length", "mm", "mm", "6.35 mm (0.250 in)"),
        (Decimal("6.350"), "length", "mm", "in", "0.250 in (6.35 mm)"),
        (Decimal("21.5"), "length", "m", "mm", "21.50 m (70.54 ft)"),
        (Decimal(12), "voltage", "V", "in", "12.00 V"),
        (None, "length", "mm", "mm", "\N{EN DASH}"),
    ],
)
def test_a_quantity_stands_in_both_systems_the_clubs_first(value, kind, unit, units, text):
    club = SimpleNamespace(decimal_mark=".", units=units)

    assert drawn("{% quantity value kind unit %}", value=value, kind=kind, unit=unit, club=club) == text


def test_a_quantity_takes_the_clubs_decimal_mark():
    club = SimpleNamespace(decimal_mark=",", units="mm")

    assert drawn("{% quantity value 'length' 'mm' %}", value=Decimal("6.35"), club=club) == "6,35 mm (0,250 in)"


def dark_modules(svg):
    """The dark modules that the path of a QR code draws, as (row, column) without the quiet zone."""
    found = set()
    for x, y, run in re.findall(r"M(\d+) (\d+)\.5h(\d+)", svg):
        found |= {(int(y) - 4, int(x) - 4 + step) for step in range(int(run))}
    return found


def test_a_qr_code_draws_each_dark_module_and_no_other():
    url = "https://racedesk.example/quarry/r5/?a=1&b=2"
    rows = segno.make(url, error="m", micro=False).matrix

    svg = drawn("{% qr url %}", url=url)

    assert dark_modules(svg) == {(y, x) for y, row in enumerate(rows) for x, module in enumerate(row) if module}
    side = len(rows) + 8
    assert f'viewBox="0 0 {side} {side}"' in svg
    assert 'fill="#ffffff"' in svg


def test_a_qr_code_says_where_it_leads():
    assert 'aria-label="QR code: the wall board"' in drawn("{% qr 'https://racedesk.example/' 'the wall board' %}")


ITEMS = [
    {"label": "Club", "name": "club-detail", "url": "/quarry/club/"},
    {"label": "Log", "name": "log-list", "url": "/quarry/club/log/"},
]


def test_the_current_word_is_the_longest_address_that_the_pages_own_begins_with():
    request = RequestFactory().get("/quarry/club/log/")

    html = drawn("{% navigation items %}", items=ITEMS, request=request)

    assert html.count('aria-current="page"') == 1
    assert re.search(r'/quarry/club/log/" aria-current="page"', html)


def test_a_page_elsewhere_may_name_its_word():
    request = RequestFactory().get("/quarry/tracks/")

    html = drawn("{% navigation items %}", items=ITEMS, request=request, here="club-detail")

    assert re.search(r'/quarry/club/" aria-current="page"', html)


def test_a_page_without_a_request_has_words_and_none_current():
    html = drawn("{% navigation items %}", items=ITEMS)

    assert html.count("<a ") == 2
    assert "aria-current" not in html


def test_a_word_whose_page_is_not_to_be_had_is_left_out():
    assert drawn("{% word '' 'Day' 'event-day' %}").strip() == ""
    assert "Day" in drawn("{% word '/quarry/day/' 'Day' 'event-day' %}")

"""What is typed about gauges and characteristics, and what is refused with a word on what to do."""

import pytest

from inspection.gauges.forms import GaugeForm
from inspection.models import Gauge
from inspection.register.forms import CharacteristicForm
from tests import factories

pytestmark = pytest.mark.django_db

GAUGE = {
    "name": "Caliper",
    "kind": "reading",
    "measures": "length",
    "unit": "mm",
    "resolution": "0.01",
    "max_permissible_error": "0.03 mm",
}
WIDTH = {"name": "Chassis plate", "kind": "length", "unit": "in", "group": "chassis", "plausible_low": "1/8"}


def test_a_bare_number_is_in_the_gauge_s_own_unit():
    form = GaugeForm(GAUGE, club=factories.club())

    assert form.is_valid(), form.errors
    assert form.content().resolution.canonical == "0.01 mm"


def test_a_decimal_comma_is_read_and_shown_by_the_club_s_habit():
    club = factories.club(decimal_mark=",")
    form = GaugeForm(GAUGE | {"resolution": "0,02 mm"}, club=club)

    assert form.is_valid(), form.errors
    assert form.content().resolution.canonical == "0.02 mm"
    assert GaugeForm(club=club, gauge=Gauge(resolution="0.02 mm")).initial["resolution"] == "0,02 mm"


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"resolution": "0.01 g"}, "resolution"),
        ({"resolution": "NaN mm"}, "resolution"),
        ({"resolution": "1e999"}, "resolution"),
        ({"resolution": "0 mm"}, "resolution"),
        ({"resolution": "-0.01 mm"}, "resolution"),
        ({"max_permissible_error": "63.4 in and more"}, "max_permissible_error"),
        ({"unit": "parsec"}, "unit"),
        ({"unit": ""}, "unit"),
        ({"measures": "wisdom"}, "measures"),
        ({"name": "x" * 61}, "name"),
        ({"note": "x" * 1000}, "note"),
        ({"calibrated_on": "2026-11-27", "calibration_due": "2026-11-26"}, "calibration_due"),
        ({"calibration_due": "31.02.2026"}, "calibration_due"),
    ],
)
def test_what_a_gauge_cannot_be(typed, field):
    form = GaugeForm(GAUGE | typed, club=factories.club())

    assert not form.is_valid()
    assert next(iter(form.errors)) == field


def test_a_block_needs_neither_unit_nor_figures():
    typed = GAUGE | {"kind": "go_no_go", "unit": "", "resolution": "", "max_permissible_error": ""}

    assert GaugeForm(typed, club=factories.club()).is_valid()


def test_another_spelling_of_a_unit_is_kept_as_its_symbol():
    form = GaugeForm(GAUGE | {"unit": "inches"}, club=factories.club())

    assert form.is_valid(), form.errors
    assert form.content().unit == "in"


def test_the_plausible_band_is_read_in_the_usual_unit():
    form = CharacteristicForm(WIDTH, club=factories.club())

    assert form.is_valid(), form.errors
    assert form.content().plausible_low.canonical == "1/8 in"


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"unit": "g"}, "unit"),
        ({"plausible_low": "3 in", "plausible_high": "2 in"}, "plausible_high"),
        ({"plausible_high": "2 g"}, "plausible_high"),
        ({"kind": "beauty"}, "kind"),
        ({"measuring_point": "x" * 1000}, "measuring_point"),
    ],
)
def test_what_a_characteristic_cannot_be(typed, field):
    form = CharacteristicForm(WIDTH | typed, club=factories.club())

    assert not form.is_valid()
    assert field in form.errors


def test_an_answer_has_neither_unit_nor_band():
    form = CharacteristicForm(WIDTH | {"kind": "yes_no"}, club=factories.club())

    assert form.is_valid(), form.errors
    assert (form.content().unit, form.content().plausible_low) == ("", None)


def test_a_scale_is_not_the_usual_gauge_of_a_width():
    club = factories.club()
    scale = factories.gauge(club, measures="mass", unit="g")

    form = CharacteristicForm(WIDTH | {"default_gauge": scale.pk}, club=club)

    assert not form.is_valid()
    assert list(form.errors) == ["default_gauge"]

"""The register, what people type, and how far a gauge can be trusted."""

import datetime as dt
from fractions import Fraction

import pytest

from inspection.conformity.clauses import CharacteristicKind
from inspection.gauges import selectors
from inspection.models import Characteristic, Gauge
from inspection.units import Kind, UnitsError, as_unit
from tests import factories

REGISTER = selectors.built_in_register()


def gauge(**fields):
    return Gauge(
        **(
            {
                "name": "Caliper",
                "measures": "length",
                "unit": "mm",
                "resolution": "0.01 mm",
                "max_permissible_error": "0.03 mm",
            }
            | fields
        )
    )


@pytest.mark.parametrize("fields", REGISTER["characteristics"], ids=lambda fields: fields["code"])
def test_every_built_in_characteristic_is_whole(fields):
    built_in = Characteristic(**fields | {"default_gauge": None})

    kind = CharacteristicKind(built_in.kind).quantity_kind
    built_in.clean_fields(exclude=["club", "default_gauge"])
    if kind is None:
        assert (built_in.unit, built_in.plausible_low, built_in.plausible_high) == ("", "", "")
    else:
        assert as_unit(built_in.unit, kind).symbol == built_in.unit
        band = selectors.plausible_band_of(built_in)
        assert band is not None
        assert band.lower.base < band.upper.base


def test_built_in_codes_names_and_places_stand_once():
    for key in ("code", "name", "position"):
        values = [fields[key] for fields in REGISTER["characteristics"]]
        assert len(values) == len(set(values)), key


def test_the_usual_gauge_of_a_built_in_characteristic_measures_its_kind():
    gauges = {fields["name"]: Gauge(**fields) for fields in REGISTER["gauges"]}
    for fields in REGISTER["characteristics"]:
        if fields["default_gauge"]:
            assert selectors.can_measure(gauges[fields["default_gauge"]], Kind(fields["kind"])), fields["code"]


def test_what_a_build_declares_is_in_the_register():
    asked_for = {fields["code"] for fields in REGISTER["characteristics"] if fields["on_build_sheet"]}

    assert asked_for >= {
        *("pinion-teeth", "driven-gear-teeth", "pinion-outside-diameter", "driven-gear-outside-diameter"),
        *("rear-tire-diameter", "rear-tire-width", "front-tire-diameter", "front-tire-width", "rear-rim-diameter"),
        *("front-rim-diameter", "axle-diameter", "guide-blade-length", "guide-blade-depth", "guide-shaft-diameter"),
        *("wheelbase", "overall-width", "width-over-rear-tires", "width-over-front-tires", "ground-clearance"),
        *("weight-ready-to-race", "body-weight", "motor-speed", "tire-material", "motor-type", "chassis-type", "body"),
    }


def test_the_variance_of_a_gauge_follows_the_gum():
    # JCGM 100:2008 F.2.2.1 (step / sqrt 12) and 4.3.7 (half-width / sqrt 3), by hand:
    # 0.01^2/12 + 0.03^2/3 = 0.0001/12 + 0.0009/3 = 0.00030833...
    spec = selectors.gauge_spec(gauge())

    assert spec.variance == Fraction(1, 120000) + Fraction(3, 10000)


def test_what_studies_have_found_widens_the_doubt():
    studied = {"repeatability": "0.02 mm", "reproducibility": "0.01 mm", "bias": "-0.03 mm"}
    plain, known = selectors.gauge_spec(gauge()), selectors.gauge_spec(gauge(**studied))

    assert known.variance == plain.variance + Fraction(4 + 1 + 9, 10000)
    assert selectors.gauge_spec(gauge(repeatability="0.02 g")) is None


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "sure to 0.036 mm"),  # 2 * sqrt(0.00030833) = 0.03512
        ({"measures": "mass", "unit": "g", "resolution": "0.1 g", "max_permissible_error": "0.2 g"}, "sure to 0.24 g"),
        ({"unit": "in", "resolution": ".0005 in", "max_permissible_error": ".001 in"}, "sure to 0.0012 in"),
        ({"kind": "go_no_go"}, "goes or does not go"),
        ({"resolution": ""}, "doubt not known"),
        ({"max_permissible_error": "0.2 g"}, "doubt not known"),
        ({"measures": "no such kind"}, "doubt not known"),
    ],
)
def test_the_doubt_of_a_gauge_in_words(fields, words):
    assert selectors.doubt_words(gauge(**fields)) == words


def test_the_doubt_is_written_with_the_club_s_decimal_mark():
    assert selectors.doubt_words(gauge(), decimal_mark=",") == "sure to 0,036 mm"


def test_a_scale_reads_magnetic_pull_and_a_caliper_does_not():
    scale = gauge(measures="mass", unit="g", resolution="0.1 g", max_permissible_error="0.2 g")

    assert selectors.gauge_spec(scale, kind=Kind.MAGNETIC_PULL).kind is Kind.MAGNETIC_PULL
    assert selectors.gauge_spec(gauge(), kind=Kind.MAGNETIC_PULL) is None


@pytest.mark.parametrize(
    ("due", "state"),
    [
        (None, "none"),
        (dt.date(2026, 11, 26), "overdue"),
        (dt.date(2026, 11, 27), "soon"),
        (dt.date(2026, 12, 27), "soon"),
        (dt.date(2026, 12, 28), "valid"),
    ],
)
def test_when_calibration_is_due(due, state):
    assert selectors.calibration_state(gauge(calibration_due=due), dt.date(2026, 11, 27)) == state


@pytest.mark.parametrize(
    ("typed", "kind", "canonical"),
    [
        ("7 mm", Kind.LENGTH, "7 mm"),
        ("2 1/16 in", Kind.LENGTH, "2 1/16 in"),
        ("85 g", Kind.MASS, "85 g"),
        ("22000 rpm", Kind.ROTATION_SPEED, "22000 rpm"),
        ("3.4", Kind.RATIO, "3.4"),
    ],
)
def test_a_limit_without_a_subject_is_known_by_its_unit(typed, kind, canonical):
    found = selectors.read_typed(typed, kind=None)

    assert (found.kind, found.canonical) == (kind, canonical)


def test_a_limit_of_no_known_unit_is_refused():
    with pytest.raises(UnitsError):
        selectors.read_typed("7 bananas", kind=None)


def test_a_stored_limit_of_another_kind_comes_back_as_what_it_is():
    found = selectors.read_stored("85 g", Kind.LENGTH, "mm")

    assert found.kind is Kind.MASS


@pytest.mark.parametrize("text", ["", "  ", "nonsense", "1e999"])
def test_a_stored_text_that_is_no_quantity_is_none(text):
    assert selectors.read_stored(text, Kind.LENGTH, "mm") is None


@pytest.mark.django_db
def test_gauges_in_use_leave_out_the_retired():
    club = factories.club()
    kept = factories.gauge(club)
    factories.gauge(club, retired_at=dt.datetime(2026, 1, 1, tzinfo=dt.UTC))
    factories.gauge(club, measures="mass")

    assert list(selectors.gauges_in_use(club, measures="length")) == [kept]

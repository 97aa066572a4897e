"""What a finding was decided by reads back exactly, whatever the club sets or changes afterwards."""

from fractions import Fraction

import pytest

from inspection.inspections.services import open_inspection, record_measurement
from inspection.readings.selectors import assessment_of
from inspection.units import Kind, parse_quantity, read_exact, write_exact
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db

READINGS = ["63.97", "63.98 mm", "64.00", "64.01", "2 33/64 in", "2.5197 in", "2519.7 thou", "6.4 cm", "64.0000000001"]


def judged(finding, clause):
    assessment, reading = assessment_of(finding, clause)
    return (assessment.clears, assessment.too_close, assessment.zone, assessment.margin, reading.canonical)


@pytest.mark.parametrize("typed", READINGS)
@pytest.mark.parametrize("mark", [".", ","])
def test_neither_the_decimal_mark_nor_the_units_of_a_club_change_a_decision(typed, mark):
    club = factories.club(decimal_mark=mark)
    occasion = worlds.occasion(club, worlds.WIDTH | {"gauge": worlds.caliper(club)})
    clause = occasion.revision.clauses.select_related("characteristic", "gauge", "revision").get()
    card = open_inspection(occasion=occasion, car=factories.car(club), by=None)
    finding = record_measurement(inspection=card, clause=clause, text=typed.replace(".", mark), by=None).finding

    before = judged(finding, clause)
    club.decimal_mark, club.units = {".": ",", ",": "."}[mark], "in"
    club.save()
    finding.refresh_from_db()

    assert judged(finding, clause) == before
    assert (finding.outcome == "pass", finding.is_too_close, finding.zone) == (before[0], before[1], before[2].value)
    # And from the text alone, by hand: at most 64 mm, simple acceptance, on the limit passes.
    exact = parse_quantity(finding.reading, Kind.LENGTH, default_unit=None).base
    assert (exact <= 64) == (finding.outcome == "pass")
    # u2 = resolution2 / 12 + error2 / 3 of a caliper of 0.01 mm and 0.03 mm (GUM F.2.2.1 and 4.3.7)
    assert read_exact(finding.variance) == Fraction(1, 100) ** 2 / 12 + Fraction(3, 100) ** 2 / 3


def test_a_gauge_written_in_the_oddest_fractions_still_leaves_an_exact_trace():
    club = factories.club()
    steps = {"resolution": "1/99999989999989 oz", "max_permissible_error": "1/99999989999971 oz"}
    odd = factories.gauge(club, measures="mass", unit="oz", **steps)
    occasion = worlds.occasion(club, worlds.WEIGHT | {"gauge": odd})
    card = open_inspection(occasion=occasion, car=factories.car(club), by=None)

    finding = record_measurement(
        inspection=card, clause=occasion.revision.clauses.get(), text="3.1 oz", by=None
    ).finding

    finding.refresh_from_db()
    assert len(finding.variance) > 110
    assert write_exact(read_exact(finding.variance)) == finding.variance

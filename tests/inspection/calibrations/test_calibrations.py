"""Checks before the cars, the page of a gauge and the calibration sheet."""

import datetime as dt

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from inspection.calibrations.errors import ErrorNotStated
from inspection.calibrations.selectors import calibration_sheet, checks_tonight, is_within
from inspection.calibrations.services import record_check
from inspection.models import GaugeCheck, LogEntry, Role
from inspection.studies.errors import NothingToRead
from inspection.studyoutcomes.services import adopt_study
from inspection.units import Kind, parse_quantity
from tests import factories
from tests.inspection.studies.measured import manual_study

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club, client):
    who = factories.member(club, Role.TECH_INSPECTOR, name="Lou Quarrie")
    client.force_login(who)
    return who


@pytest.fixture
def gauge(club):
    return factories.gauge(club, name="Caliper")


def quantity(text, kind=Kind.LENGTH):
    return parse_quantity(text, kind, default_unit=None)


def check(gauge, reading, by=None, nominal="20 mm"):
    return record_check(gauge=gauge, nominal=quantity(nominal), reading=quantity(reading), by=by)


@pytest.mark.parametrize(
    ("reading", "within"),
    [("20.03 mm", True), ("19.97 mm", True), ("20.030001 mm", False), ("19.969 mm", False), ("20 mm", True)],
)
def test_on_the_permissible_error_is_within_and_a_hair_beyond_is_not(gauge, reading, within):
    assert check(gauge, reading).is_within is within


def test_the_units_do_not_matter_to_a_check(gauge):
    gauge.max_permissible_error = "1/1000 in"  # 0.0254 mm
    assert is_within(gauge, quantity("20 mm"), quantity("20.0254 mm")) is True
    assert is_within(gauge, quantity("20 mm"), quantity("20.0255 mm")) is False


def test_an_error_in_fahrenheit_is_a_difference(club):
    kind = Kind.TEMPERATURE
    thermometer = factories.gauge(
        club, measures="temperature", unit="°C", resolution="0.1 °C", max_permissible_error="1.8 °F"
    )
    assert is_within(thermometer, quantity("20 °C", kind), quantity("21 °C", kind)) is True
    assert is_within(thermometer, quantity("20 °C", kind), quantity("21.1 °C", kind)) is False


def test_a_check_is_logged_and_the_same_one_sent_twice_is_one(gauge, by):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        first, again = check(gauge, "20.02 mm", by), check(gauge, "20.02 mm", by)
        clock.shift(dt.timedelta(minutes=1))
        later = check(gauge, "20.02 mm", by)

    assert first == again != later
    assert LogEntry.objects.filter(action="checked gauge").count() == 2
    assert LogEntry.objects.first().detail == {"nominal": "20 mm", "reading": "20.02 mm", "within": True}


def test_a_gauge_without_a_reading_or_without_an_error_cannot_be_checked(club):
    with pytest.raises(NothingToRead):
        check(factories.gauge(club, kind="go_no_go"), "20 mm")
    with pytest.raises(ErrorNotStated):
        check(factories.gauge(club, max_permissible_error=""), "20 mm")


def test_tonight_lists_what_is_unchecked_then_what_reads_wrong_then_the_rest(club, django_assert_num_queries):
    fine, wrong, unchecked, retired = (factories.gauge(club, name=name) for name in "ABCD")
    factories.gauge(club, name="E", kind="go_no_go", max_permissible_error="")
    retired.retired_at = timezone.now()
    retired.save()
    check(fine, "21 mm")
    check(fine, "20 mm")
    check(wrong, "21 mm")
    GaugeCheck.objects.create(
        gauge=unchecked, nominal="20 mm", reading="20 mm", is_within=True, at=timezone.now() - dt.timedelta(days=2)
    )

    with django_assert_num_queries(2):
        tonight = checks_tonight(club, timezone.localdate())

    assert [(each.gauge.name, each.check and each.check.is_within) for each in tonight] == [
        ("C", None), ("B", False), ("A", True),
    ]  # fmt: skip


def test_tonight_says_which_gauge_is_past_its_date(club):
    factories.gauge(club, calibration_due=dt.date(2020, 1, 1))

    assert [each.is_overdue for each in checks_tonight(club, dt.date(2026, 11, 27))] == [True]


def address(gauge):
    return reverse("gauge-detail", args=[gauge.club.slug, gauge.public_id])


def test_the_page_says_at_once_whether_the_gauge_may_be_used_and_remembers_the_piece(client, gauge, by):
    good = client.post(address(gauge), {"nominal": "20 mm", "reading": "20.02"}, follow=True)
    bad = client.post(address(gauge), {"nominal": "20 mm", "reading": "20.2"}, follow=True)

    assert "within its error" in good.content.decode()
    assert good.context["form"]["nominal"].value() == "20 mm"
    assert "Do not measure with it tonight" in bad.content.decode()
    assert list(GaugeCheck.objects.values_list("reading", flat=True)) == ["20.2 mm", "20.02 mm"]


def test_what_is_no_reading_stays_typed(client, gauge, by):
    answer = client.post(address(gauge), {"nominal": "20 mm", "reading": "20 g"})

    assert answer.status_code == 422
    assert answer.context["form"]["reading"].value() == "20 g"
    assert not GaugeCheck.objects.exists()


def test_a_gauge_past_its_date_warns_and_a_retired_one_keeps_what_it_measured(client, gauge, by):
    gauge.calibration_due, gauge.retired_at = dt.date(2020, 1, 31), timezone.now()
    gauge.save()

    shown = client.get(address(gauge)).content.decode()

    assert "Calibration was due on 31 January 2020" in shown
    assert "What it measured stays" in shown


def test_a_go_no_go_gauge_has_a_page_without_checks_and_studies(client, club, by):
    shown = client.get(address(factories.gauge(club, kind="go_no_go"))).content.decode()

    assert "Check before the cars" not in shown
    assert "Studies" not in shown


def test_more_checks_and_studies_take_no_more_queries(client, gauge, by, django_assert_max_num_queries):
    check(gauge, "20 mm", by)
    factories.gauge_study(gauge)
    client.get(address(gauge))
    with django_assert_max_num_queries(15) as few:
        client.get(address(gauge))
    for n in range(20):
        check(gauge, f"20.{n} mm", by)
        factories.gauge_study(gauge)

    with django_assert_max_num_queries(len(few)):
        client.get(address(gauge))


def test_the_sheet_has_every_gauge_with_study_and_check(client, club, gauge, by, django_assert_num_queries):
    check(gauge, "20.02 mm", by)
    adopt_study(study=manual_study(gauge, name="Tires"), by=by)
    factories.gauge(club, name="Old", retired_at=timezone.now(), resolution="")

    with django_assert_num_queries(3):
        rows = calibration_sheet(club, dt.date(2026, 11, 27))

    assert [row.gauge.name for row in rows] == ["Caliper", "Old"]
    assert (rows[0].u, rows[0].expanded, rows[0].repeatability) == ("0.31 mm", "0.61 mm", "0.2 mm")
    assert (rows[0].study.name, rows[0].reading, rows[0].nominal) == ("Tires", "20.02 mm", "20 mm")
    assert (rows[1].u, rows[1].study, rows[1].check) == ("", None, None)
    page = client.get(reverse("gauge-print", args=[club.slug]) + "?as=page").content.decode()
    assert all(word in page for word in ("Caliper", "0.61 mm", "20.02 mm for 20 mm", "between 0.227 mm", "retired"))


def test_each_gauge_in_use_has_a_label_whose_code_leads_to_its_page(client, club, gauge, by):
    factories.gauge(club, name="Old", retired_at=timezone.now())

    page = client.get(reverse("gauge-label-print", args=[club.slug]) + "?as=page")

    assert [(row.gauge.name, link) for row, link in page.context["labels"]] == [
        ("Caliper", f"http://testserver{address(gauge)}")
    ]
    assert "sure to 0.036 mm" in page.content.decode()


@pytest.mark.pdf
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_sheet_comes_out_as_a_pdf(client, club, gauge, by, paper):
    club.paper = paper
    club.save()

    answer = client.get(reverse("gauge-print", args=[club.slug]))

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


@pytest.mark.parametrize("role", [Role.ENTRY_DESK, Role.DRIVER])
def test_who_does_not_inspect_does_not_check(client, gauge, role):
    client.force_login(factories.member(gauge.club, role))

    assert client.get(address(gauge)).status_code == 403
    assert client.post(address(gauge), {"nominal": "20 mm", "reading": "20"}).status_code == 403
    assert not GaugeCheck.objects.exists()


def test_the_tech_line_says_which_gauges_were_checked_and_leads_to_the_others(client, club, gauge, by):
    occasion = factories.occasion(club, date=timezone.localdate())
    scale = factories.gauge(club, name="Scale of the hall", calibration_due=dt.date(2020, 1, 1))
    check(gauge, "20.2 mm", by)
    line = reverse("occasion-detail", args=[club.slug, occasion.public_id])

    shown = client.get(line).content.decode()

    assert "outside its error: do not measure with it" in shown
    assert "not checked yet, past its calibration date" in shown
    assert f'href="{address(scale)}"' in shown
    client.force_login(factories.member(club, Role.DRIVER))
    assert "Scale of the hall" not in client.get(line).content.decode()


@pytest.mark.parametrize(
    ("at", "counts"),
    [("2026-11-26 22:59", False), ("2026-11-26 23:10", True), ("2026-11-28 01:30", True), ("2026-11-28 06:00", False)],
)
def test_a_night_that_touches_midnight_has_the_checks_on_its_other_side_too(club, at, counts):
    GaugeCheck.objects.filter(pk=check(factories.gauge(club), "20 mm").pk).update(
        at=dt.datetime.fromisoformat(at).replace(tzinfo=dt.UTC)
    )

    assert [bool(each.check) for each in checks_tonight(club, dt.date(2026, 11, 27))] == [counts]

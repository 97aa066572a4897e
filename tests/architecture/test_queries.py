"""No page asks the database more often because a club has more of everything."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspection.clubs.services import write_log
from inspection.models import Gauge, GaugeCheck, Inspection, Role
from racedesk.models import Payment, Penalty, Race, Round, Season
from tests import factories, race_factories
from tests.addresses import ADDRESSES, url_of
from tests.architecture.conftest import club_with_everything

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("undrawn_paper")]

MANY = 20
# Each asks for every card one by one: a document of so many cards, not a list of them.
DOCUMENTS = {"cards-print"}


def nights(count):
    """So many nights before, and as many to come, each with races in a season that is over."""

    def make(club, event):
        for n in range(count):
            season = Season.objects.create(club=club, name=f"Season {n}", points=["9"], is_active=False)
            for date in (dt.date(2001, 1, 1), dt.date(2099, 1, 1)):
                night = race_factories.event(club, track_layout=event.track_layout, date=date + dt.timedelta(days=n))
                scored = race_factories.race(night, racing_class=factories.racing_class(club))
                Round.objects.create(season=season, race=scored, number=date.year % 99 + 1)
            race_factories.race(event, racing_class=factories.racing_class(club))

    return make


def club_with_few():
    return club_with_more(drivers=4, count=1)


def club_with_many():
    return club_with_more(drivers=MANY, count=MANY)


def club_with_more(*, drivers, count):
    club = club_with_everything(drivers=drivers, before=nights(count))
    race, season = Race.objects.of(club).latest("pk"), Season.objects.of(club).latest("pk")
    owner = race.result_sheets.first().published_by
    last = race.entries.last()
    card = Inspection.objects.of(club).get()
    for n in range(count):
        driver = factories.driver(club)
        car = factories.car(club, driver, racing_class=factories.racing_class(club))
        factories.build(car)
        factories.build(card.car)
        Inspection.objects.create(occasion=race.tech_occasion, car=car, opened_by=owner)
        factories.occasion(club, race.rule_revision)
        factories.gauge(club)
        factories.track_layout(club)
        factories.member(club, Role.DRIVER)
        write_log(club=club, action="did something", subject=car, by=owner)
        Payment.objects.create(event=race.event, driver=driver, kind="paid", amount=1, by=owner)
        Payment.objects.create(event=race.event, driver=driver, entry=last, kind="waived", amount=1, by=owner)
        Penalty.objects.create(race=race, entry=last, laps=1, reason=f"reason {n}", by=owner)
        Round.objects.create(season=season, race=race_of_before(club, n), number=n + 2)
    for _ in range(count):  # a clause comes with a characteristic, a sheet with three
        factories.published_sheet(club)
    measured_with = Gauge.objects.of(club).latest("pk")
    for _ in range(count):
        factories.gauge_study(measured_with)
        GaugeCheck.objects.create(gauge=measured_with, nominal="20 mm", reading="20 mm", is_within=True, by=owner)
    return club


def race_of_before(club, n):
    return Race.objects.of(club).order_by("pk")[n]


def queries_by_page(client, club, who):
    client.force_login(factories.member(club, who))
    found = {}
    for name, address in ADDRESSES.items():
        if address.posts or name in DOCUMENTS:
            continue
        url = url_of(name, club)
        if name.endswith("print"):
            url = f"{url}{'&' if '?' in url else '?'}as=page"
        client.get(url)  # what a process reads once is read by now
        with CaptureQueriesContext(connection) as captured:
            status = client.get(url).status_code
        assert status == address.status, url
        found[name] = len(captured)
    return found


def test_twenty_of_everything_cost_no_more_queries_than_two(client):
    few, many = (queries_by_page(client, made(), Role.OWNER) for made in (club_with_few, club_with_many))

    assert {name: (few[name], many[name]) for name in few if many[name] > few[name]} == {}

"""A club as its first evening finds it, and its people at their own screens."""

import pytest
from django.test import Client

from inspection.clubs.services import ClubContent
from inspection.founding.services import first_run_code, found_club
from inspection.models import Club, Role, TrackLayout
from tests import factories


@pytest.fixture
def club(db):
    """A club just founded: its track of six lanes, the usual gauges and what can be measured; no rule, no driver."""
    found_club(
        code=first_run_code(),
        slug="harbor",
        content=ClubContent(name="Harbor Street Slot Club", time_zone="Europe/Vienna"),
        track_name="The Long Room",
        lane_names=["White", "Red", "Blue", "Green", "Yellow", "Black"],
        username="hedda",
        name="Hedda Lorne",
        password="correct horse 42",
    )
    return Club.objects.get()


@pytest.fixture
def director(club):
    """The screen of the race director, signed in."""
    screen = Client()
    screen.force_login(club.memberships.first().user)
    return screen


@pytest.fixture
def inspector(club):
    """The screen of a tech inspector, signed in."""
    screen = Client()
    screen.force_login(factories.member(club, Role.TECH_INSPECTOR, name="Lou Quarrie"))
    return screen


@pytest.fixture
def anybody():
    """A screen that nobody has signed in at."""
    return Client()


@pytest.fixture
def layout(club):
    """The club's track as it is laid out now, in twentieths of a lap."""
    made = TrackLayout.objects.get(track__club=club)
    made.divisor = 20
    made.save()
    return made

"""What the club has set: saved, logged, and never overwritten unseen."""

import pytest

from inspection.clubs import services
from inspection.clubs.errors import ClubChangedMeanwhile
from inspection.clubs.services import ClubContent, club_version
from inspection.models import LogEntry
from tests import factories

pytestmark = pytest.mark.django_db


def log(club):
    return list(LogEntry.objects.of(club).order_by("id").values_list("action", flat=True))


def test_settings_are_saved_and_logged():
    club = factories.club()

    services.change_club(
        club=club, content=ClubContent(name="New", currency="USD"), version=club_version(club), by=None
    )

    club.refresh_from_db()
    assert (club.name, club.currency) == ("New", "USD")
    assert log(club) == ["changed club"]


def test_two_people_saving_settings_the_second_is_told_who_was_first():
    club = factories.club()
    first = factories.member(club)
    opened = club_version(club)
    services.change_club(club=club, content=ClubContent(name="First"), version=opened, by=first)

    with pytest.raises(ClubChangedMeanwhile) as refusal:
        services.change_club(club=club, content=ClubContent(name="Second"), version=opened, by=None)

    club.refresh_from_db()
    assert club.name == "First"
    assert str(first) in str(refusal.value)

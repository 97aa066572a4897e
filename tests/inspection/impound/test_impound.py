"""A car that passed is marked and put away; a touch takes its clearance, and the line says so."""

import pytest
from django.urls import reverse

from inspection.impound import services
from inspection.impound.errors import NotClear, NotInImpound, TouchNeedsReason
from inspection.inspections.selectors import Standing, clearances
from inspection.inspections.services import open_inspection, record_measurement, sign_card
from inspection.models import LogEntry, Role
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


@pytest.fixture
def card(club, inspector):
    occasion = worlds.occasion(club, worlds.WIDTH)
    return open_inspection(occasion=occasion, car=factories.car(club), by=inspector)


def clear(card, by, **more):
    for clause in worlds.clauses_of(card.occasion):
        record_measurement(inspection=card, clause=clause, text="63.4", by=by)
    return sign_card(inspection=card, by=by, **more)


def standing(card):
    return clearances(card.occasion, [card.car_id])[card.car_id]


def test_a_car_that_passes_is_sealed_and_put_away_with_the_signature(card, inspector):
    clear(card, inspector, seal_number=" 1047 ")
    card.refresh_from_db()
    assert (card.seal_number, card.impounded_by) == ("1047", inspector)
    assert card.impounded_at == card.signed_at


def test_a_car_that_is_clear_goes_into_impound_later_too(card, inspector):
    clear(card, inspector)
    services.put_in_impound(inspection=card, seal_number="", by=inspector)
    card.refresh_from_db()
    assert card.impounded_at is not None
    assert standing(card).state is Standing.CLEAR


def test_no_other_car_goes_into_impound(card, inspector):
    with pytest.raises(NotClear):
        services.put_in_impound(inspection=card, by=inspector)
    clear(card, inspector)
    factories.build(card.car)
    with pytest.raises(NotClear):
        services.put_in_impound(inspection=card, by=inspector)


def test_a_touch_takes_the_clearance_until_somebody_signs_again(card, inspector):
    clear(card, inspector, seal_number="1047")
    services.record_touch(inspection=card, reason="A lead wire was soldered.", by=inspector)
    found = standing(card)
    assert (found.is_clear, found.state, found.touched) == (False, Standing.TOUCHED, "A lead wire was soldered.")
    assert LogEntry.objects.filter(action="touched in impound").count() == 1
    sign_card(inspection=card, by=inspector)
    assert standing(card).is_clear


def test_a_touch_says_what_was_done_to_a_car_that_is_there(card, inspector):
    with pytest.raises(NotInImpound):
        services.record_touch(inspection=card, reason="a wire", by=inspector)
    clear(card, inspector, seal_number="1047")
    with pytest.raises(TouchNeedsReason):
        services.record_touch(inspection=card, reason="  ", by=inspector)
    assert standing(card).is_clear


def test_another_reading_takes_the_car_out_of_impound(card, inspector):
    clear(card, inspector, seal_number="1047")
    record_measurement(inspection=card, clause=worlds.clauses_of(card.occasion)[0], text="63.1", by=inspector)
    card.refresh_from_db()
    assert (card.impounded_at, card.seal_number) == (None, "")


class TestPages:
    @pytest.fixture(autouse=True)
    def _signed_in(self, client, inspector):
        client.force_login(inspector)

    def url(self, name, card):
        return reverse(name, args=[card.occasion.club.slug, card.public_id])

    def test_a_touch_is_told_on_the_card_and_in_the_line(self, client, card, inspector):
        clear(card, inspector)
        client.post(self.url("inspection-impound", card), {"seal_number": "77"})
        assert "In impound since" in client.get(self.url("inspection-detail", card) + "?at=sign").content.decode()
        assert client.get(self.url("touch-create", card)).status_code == 200
        answer = client.post(self.url("touch-create", card), {"reason": "A tire was glued."}, follow=True)
        assert "Not clear: touched in impound" in answer.content.decode()
        line = client.get(reverse("occasion-detail", args=[card.occasion.club.slug, card.occasion.public_id]))
        assert "A tire was glued." in line.content.decode()

    def test_what_is_refused_is_said_and_nothing_is_lost(self, client, card):
        answer = client.post(self.url("touch-create", card), {"reason": "A tire was glued."})
        assert answer.status_code == 422
        assert "A tire was glued." in answer.content.decode()
        told = client.post(self.url("inspection-impound", card), {"seal_number": "77"}, follow=True)
        assert "sign the card first" in told.content.decode()

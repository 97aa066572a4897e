import pytest
from django.test import Client
from django.urls import reverse

from inspection.models import Role
from racedesk.heats.selectors import heats_of
from racedesk.racecontrol.services import enter_laps
from racedesk.runningorder.selectors import running_order
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def event():
    """Two races of six drivers each on three lanes; two drivers are in both."""
    made = race_factories.event(lanes=3, posts=0)
    one, two = race_factories.race(made, name="Steel", position=1), race_factories.race(made, name="Loan", position=2)
    both = [entry.drivers.get().driver for entry in race_factories.entries(one, 6)[:2]]
    for driver in both:
        race_factories.entry(two, driver)
    race_factories.entries(two, 4)
    race_factories.drawn(one)
    race_factories.drawn(two)
    return made


def test_every_heat_stands_once_and_each_race_keeps_its_order(event):
    order = running_order(event)

    for race in event.races.all():
        own = [turn.card.number for turn in order.turns if turn.race.pk == race.pk]
        assert own == [heat.number for heat in heats_of(race)]
    assert order.shared == 2
    assert order.on_end <= order.one_after_another
    assert sum(len(turn.again) for turn in order.turns) == order.on_end
    assert [turn.about for turn in order.turns] == sorted(turn.about for turn in order.turns)


def test_what_has_begun_stands_first_and_the_rest_follows_on_it(event):
    by = factories.member(event.club, Role.RACE_DIRECTOR)
    second = event.races.get(name="Loan")
    first_heat = heats_of(second)[0]
    for each in first_heat.lanes.all():
        enter_laps(heat=first_heat, lane=each.lane, text="20", confirmed=True, by=by)

    order = running_order(event)

    assert order.turns[0].card.heat == first_heat
    assert [turn.is_over for turn in order.turns] == [True] + [False] * 11


def test_the_page_leads_the_director_to_the_next_heat_and_is_public(event, django_assert_max_num_queries):
    by = factories.member(event.club, Role.RACE_DIRECTOR)
    address = reverse("running-order", args=[event.club.slug, event.public_id])
    client = Client()
    assert client.get(address).status_code == 200
    client.force_login(by)

    with django_assert_max_num_queries(45):
        page = client.get(address)

    turn = page.context["next_turn"]
    assert reverse("heat-run", args=[event.club.slug, turn.card.public_id]) in page.content.decode()
    empty = race_factories.event(event.club, lanes=3)
    assert (
        "once they are drawn"
        in client.get(reverse("running-order", args=[event.club.slug, empty.public_id])).content.decode()
    )

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inspection.models import Role
from racedesk.boards.selectors import board_of, table_of
from racedesk.clocks.selectors import now_ms
from racedesk.heats.selectors import heat_cards, heats_of
from racedesk.raceday.selectors import night_of
from racedesk.runningorder.selectors import running_order
from racedesk.runningorder.services import set_turns
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


@pytest.fixture
def in_turn(event):
    set_turns(event=event, takes_turns=True, by=factories.member(event.club, Role.RACE_DIRECTOR))
    event.refresh_from_db()
    return event


def test_every_heat_stands_once_and_each_race_keeps_its_order(event):
    order = running_order(event)

    for race in event.races.all():
        own = [turn.card.number for turn in order.rows if turn.race.pk == race.pk]
        assert own == [heat.number for heat in heats_of(race)]
    assert order.turns.shared == 2
    assert order.turns.on_end <= order.turns.one_after_another
    assert sum(len(turn.again) for turn in order.rows) == order.turns.on_end
    assert [turn.about for turn in order.rows] == sorted(turn.about for turn in order.rows)


def test_what_has_begun_stands_first_and_the_rest_follows_on_it(event):
    first_heat = heats_of(event.races.get(name="Loan"))[0]
    race_factories.driven(first_heat)

    order = running_order(event)

    assert order.rows[0].card.heat == first_heat
    assert [turn.is_over for turn in order.rows] == [True] + [False] * 11


def test_turns_that_are_kept_stay_as_they_were_printed(event):
    planned = [turn.card.heat for turn in running_order(event).rows]
    for done in range(5):
        race_factories.driven(planned[done])
        assert [turn.card.heat for turn in running_order(event).rows] == planned


def test_turns_that_were_not_kept_are_made_anew_for_the_rest(event):
    planned = [turn.card.heat for turn in running_order(event).rows]
    straight = [heat for race in event.races.all() for heat in heats_of(race)]
    assert planned != straight
    for heat in straight[:4]:
        race_factories.driven(heat)

    rows = running_order(event).rows

    assert [turn.card.heat for turn in rows[:4]] == straight[:4]
    assert {turn.card.heat for turn in rows[4:]} == set(straight[4:])


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


def test_the_director_lets_the_races_take_turns_and_takes_it_back(event, client):
    client.force_login(factories.member(event.club, Role.RACE_DIRECTOR))
    address = reverse("turns-set", args=[event.club.slug, event.public_id])

    page = client.post(address, {"turns": "yes"}, follow=True).content.decode()
    event.refresh_from_db()
    assert event.takes_turns
    assert "The races take turns" in page
    assert "One race after the other</button>" in page

    client.post(address, {"turns": "no"})
    event.refresh_from_db()
    assert not event.takes_turns


class TestANightInTurn:
    def test_each_heat_leads_to_the_next_in_turn_whatever_race_it_is_of(self, in_turn, client):
        client.force_login(factories.member(in_turn.club, Role.RACE_DIRECTOR))
        planned = [turn.card.heat for turn in running_order(in_turn).rows]
        for heat, following in zip(planned, [*planned[1:], None], strict=True):
            race_factories.driven(heat)
            page = client.get(reverse("heat-run", args=[in_turn.club.slug, heat.public_id]))
            table = page.context["table"]
            assert (table.next_card.heat if table.next_card else None) == following
            assert table.is_last == (following is None)
            other = following is not None and following.draw.stage.race_id != heat.draw.stage.race_id
            assert (table.next_race is not None) == other
            if other:
                assert f"<b>{table.next_race.name}</b>" in page.content.decode()

    def test_without_turns_each_race_goes_on_by_itself(self, event):
        race = event.races.get(name="Steel")
        heats = heats_of(race)
        table = table_of(heats[0].draw.stage.race, heats[0], at_ms=now_ms())
        assert table.next_card.heat == heats[1]
        assert table.next_race is None

    def test_the_wall_and_the_day_show_the_next_in_turn(self, in_turn):
        planned = [turn.card.heat for turn in running_order(in_turn).rows]
        races = [heat.draw.stage.race.name for heat in planned]
        assert len(set(races[:3])) == 2
        for heat in planned[:4]:
            assert board_of(in_turn, at_ms=now_ms()).table.card.heat == heat
            assert night_of(in_turn, now=timezone.now()).headline.act.public_id == heat.public_id
            race_factories.driven(heat)

    def test_times_of_every_page_are_those_of_the_turns(self, in_turn):
        order = running_order(in_turn)
        for race in in_turn.races.all():
            about = {card.heat.pk: card.about for card in heat_cards(race)}
            for turn in order.rows:
                if turn.race.pk == race.pk:
                    assert about[turn.card.heat.pk] == turn.about
        night = night_of(in_turn, now=timezone.now())
        starts = [turn.about for turn in order.rows]
        assert [span.start for span in night.spans] == [
            min(turn.about for turn in order.rows if turn.race.pk == span.race.pk) for span in night.spans
        ]
        assert max(span.end for span in night.spans) > starts[-1]

    def test_who_drives_twice_on_end_is_told_across_races(self, event):
        one, two = event.races.all()
        last, first = heats_of(one)[-1], heats_of(two)[0]
        for heat in heats_of(one)[:-1]:
            race_factories.driven(heat)
        set_turns(event=event, takes_turns=True, by=factories.member(event.club, Role.RACE_DIRECTOR))
        again = {lane.seat.entry.drivers.get().driver_id for lane in last.lanes.all()} & {
            lane.seat.entry.drivers.get().driver_id for lane in first.lanes.all()
        }
        one.event.refresh_from_db()

        table = table_of(one, last, at_ms=now_ms())

        assert table.next_card.heat == first
        told = {lane.assignment.seat.entry.drivers.get().driver_id for lane in table.next_card.lanes if lane.is_again}
        assert told == again

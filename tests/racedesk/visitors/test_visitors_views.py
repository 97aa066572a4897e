"""What is shown to people who do not sign in, and what is not."""

import datetime as dt

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from inspection.models import Role, RuleSheet, RuleSheetRevision
from racedesk.heats.selectors import heat_cards, heats_of
from racedesk.models import Entry, Round, Season
from racedesk.results.services import publish_results
from tests import factories, race_factories
from tests.racedesk.raceday import nights
from tests.racedesk.raceday.nights import at

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _evening():
    with time_machine.travel(at(19, 0), tick=False), timezone.override("Europe/Vienna"):
        yield


@pytest.fixture
def event():
    return nights.event()


def text_of(client, name, *args):
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def home(client, club):
    return text_of(client, "club-home", club.slug)


def mine(client, entry):
    return text_of(client, "driver-page-part", entry.race.event.club.slug, entry.public_id)


class TestClubHome:
    def test_stands_at_the_clubs_short_name_and_swallows_no_other_page(self, client, event):
        assert reverse("club-home", args=["quarry-hall"]) == "/quarry-hall/"
        assert client.get("/sign-in/").status_code == 200
        assert client.get("/no-such-club/").status_code == 404

    def test_shows_tonight_and_how_to_enter(self, client, event):
        nights.race(event, 3, fee=5, junior_fee=3, cap=20, entries_close_at=at(19, 25))

        page = home(client, event.club)

        assert "Tonight, Friday 27 November" in page
        assert "Racing from</dt><dd>19:30" in page
        assert "3 entered of 20, closes 19:25, fee 5.00\xa0EUR, juniors 3.00\xa0EUR" in page
        assert reverse("event-day", args=["quarry-hall", event.public_id]) not in page

    def test_shows_the_next_night_when_none_is_on(self, client, event):
        with time_machine.travel(at(19) - dt.timedelta(days=5), tick=False):
            assert "Next night: Friday 27 November" in home(client, event.club)

    def test_still_shows_tonight_after_midnight(self, client, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)

        with time_machine.travel(at(23, 59) + dt.timedelta(minutes=40), tick=False):
            page = home(client, event.club)

        assert "Round 5" in page
        assert "Tonight" in page

    def test_shows_the_heat_that_is_on_and_who_is_next(self, client, event):
        race = nights.race(event, 8)
        race_factories.drawn(race)
        nights.begin(heats_of(race)[0], at(19, 0))

        with time_machine.travel(at(19, 1), tick=False):
            page = home(client, event.club)
            cards = heat_cards(race)

        assert "Heat 1, now" in page
        assert "Heat 2, next" in page
        for lane in (*cards[0].lanes, *cards[1].lanes):
            assert f"<td>{lane.name}</td>" in page
        assert reverse("heat-board", args=["quarry-hall", event.public_id]) in page

    def test_shows_winners_leaders_and_rules_in_force(self, client, event):
        race = nights.race(event, 6, name="GT 32")
        race_factories.drawn(race)
        nights.run_all(race, at(19, 30))
        winner = race.entries.first()
        with time_machine.travel(at(20, 30), tick=False):
            sheet = publish_results(race=race, by=nights.director(event))
        sheet.rows.exclude(entry=winner).update(place=2)
        season = Season.objects.create(club=event.club, name="Winter season", points=[25, 20])
        Round.objects.create(season=season, number=1, race=race)
        factories.published_sheet(event.club)
        draft = RuleSheet.objects.create(club=event.club, name="A draft sheet")
        RuleSheetRevision.objects.create(rule_sheet=draft, number=1)

        page = home(client, event.club)

        assert 'class="winner">Ada Brandt</span>' in page
        assert "leads with 25 points" in page
        assert "Winter season" in page
        assert "revision 1, in force from 1 January 2026" in page
        assert "A draft sheet" not in page

    def test_an_empty_club_says_what_to_do_next_to_its_staff_alone(self, client):
        club = factories.club()
        public = home(client, club)
        client.force_login(factories.member(club, Role.OWNER))
        owner = home(client, club)

        assert "No night is planned" in public
        assert "What to do next" not in public
        assert "What to do next" in owner
        assert reverse("event-create", args=[club.slug]) in owner
        assert owner.count("button primary") == 1

    def test_leads_staff_to_what_needs_attention_tonight(self, client, event):
        client.force_login(factories.member(event.club, Role.ENTRY_DESK))

        page = home(client, event.club)

        assert "Needs attention tonight" in page
        assert reverse("event-day", args=["quarry-hall", event.public_id]) in page

    def test_costs_no_more_queries_with_more_entries(self, client, django_assert_max_num_queries):
        counts = []
        for drivers in (12, 30):
            event = nights.event(factories.club())
            race = nights.race(event, drivers)
            race_factories.drawn(race)
            nights.begin(heats_of(race)[0], at(19, 0))
            with django_assert_max_num_queries(45) as captured:
                home(client, event.club)
            counts.append(len(captured))

        assert counts[0] == counts[1]


class TestDriverPage:
    def test_tells_the_next_heat_its_time_lane_and_the_heats_before_it(self, client, event):
        race = nights.race(event, 8)
        race_factories.drawn(race)
        cards = heat_cards(race)
        entry = cards[3].lanes[0].entry
        first = next(each for each in cards if any(lane.entry == entry for lane in each.lanes))
        lane = next(lane.lane for lane in first.lanes if lane.entry == entry)

        page = mine(client, entry)

        assert f"<dd>{first.number}</dd>" in page
        assert f"<b>{lane.number}</b>" in page
        assert f"<span>{lane.name}</span>" in page
        assert f"<dd>{timezone.localtime(first.about):%H:%M}</dd>" in page
        before = first.number - 1
        words = {0: "It is the next heat.", 1: "1 heat before it."}.get(before, f"{before} heats before it.")
        assert words in page

    def test_moves_on_as_heats_are_run(self, client, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        first, second = heats_of(race)[:2]
        entry = first.lanes.first().seat.entry
        assert "It is the next heat." in mine(client, entry)

        nights.run(first, at(19, 30), text="17.25")
        nights.begin(second, at(19, 35))
        with time_machine.travel(at(19, 36), tick=False):
            page = mine(client, entry)

        assert "It is on now." in page
        assert "17.25" in page

    def test_counts_the_heats_of_the_races_before(self, client, event):
        first, second = nights.race(event, 6), nights.race(event, name="Saloon", position=2)
        guest = race_factories.entry(second, factories.driver(event.club, "Guest Only"))
        nights.enter(second, 5)
        for race in (first, second):
            race_factories.drawn(race)
        number = next(heat.number for heat in heats_of(second) if heat.lanes.filter(seat__entry=guest).exists())

        assert f"{6 + number - 1} heats before it." in mine(client, guest)

    def test_gathers_the_drivers_races_of_the_night_on_one_page(self, client, event):
        race, other = nights.race(event, 6), nights.race(event, name="Saloon", position=2)
        entry = race.entries.first()
        race_factories.entry(other, entry.drivers.get().driver)
        race_factories.drawn(race)

        page = mine(client, entry)

        assert "GT 32, checked in; Saloon, checked in" in page
        assert "Saloon: the heats are not drawn yet." in page

    def test_names_the_marshal_post(self, client, event):
        race = nights.race(event, 10)
        race_factories.drawn(race)
        duty = heats_of(race)[0].marshals.select_related("seat__entry", "post").first()

        page = mine(client, duty.seat.entry)

        assert "I marshal next" in page
        assert f'class="post">{duty.post.number} {duty.post.name}' in page

    def test_before_the_draw_says_so_and_sends_to_the_desk(self, client, event):
        race = nights.race(event, 1)
        race.entries.update(state=Entry.State.ENTERED)

        page = mine(client, race.entries.get())

        assert "the heats are not drawn yet. Racing is from 19:30." in page
        assert "Tell the entry desk that you are here." in page

    def test_shows_the_card_clause_by_clause_without_readings(self, client, event):
        race = nights.race_with_tech(event, 2)
        entry = race.entries.first()
        inspector = factories.member(event.club, Role.TECH_INSPECTOR, name="Ilse Inspector")
        nights.inspect(entry, inspector, width="63.99 mm", weight="82.2 g", looks=None, sign=False)

        page = mine(client, entry)

        for word in ("Fail", "Too close", "Judge decides"):
            assert f"{word}</span>" in page
        assert "Not checked" in mine(client, race.entries.last())
        for private in ("82.2", "63.99", "Ilse", str(inspector), "seen from above"):
            assert private not in page

    def test_says_clear_to_race(self, client, event):
        entry = nights.race_with_tech(event, 1).entries.get()
        nights.inspect(entry, factories.member(event.club, Role.TECH_INSPECTOR))

        assert "Clear to race" in mine(client, entry)

    def test_shows_the_result_once_published(self, client, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        nights.run_all(race, at(19, 30))
        entry = race.entries.first()
        assert "My result" not in mine(client, entry)

        with time_machine.travel(at(20, 30), tick=False):
            publish_results(race=race, by=nights.director(event))
            page = mine(client, entry)

        assert "You have driven all your heats." in page
        assert "Place 1" in page
        assert reverse("result-detail", args=["quarry-hall", race.public_id]) in page

    def test_knows_no_entry_of_another_club(self, client, event):
        entry = nights.race(event, 1).entries.get()
        other = factories.club()

        for name in ("driver-page", "driver-page-part"):
            assert client.get(reverse(name, args=[other.slug, entry.public_id])).status_code == 404

    def test_the_part_is_sent_again_only_when_it_changed(self, client, event):
        entry = nights.race(event, 1).entries.get()
        address = reverse("driver-page-part", args=["quarry-hall", entry.public_id])
        first = client.get(address)

        assert client.get(address, headers={"if-none-match": first["ETag"]}).status_code == 304

    def test_costs_no_more_queries_with_more_entries(self, client, django_assert_max_num_queries):
        counts = []
        for drivers in (12, 30):
            event = nights.event(factories.club())
            race = nights.race(event, drivers)
            race_factories.drawn(race)
            with django_assert_max_num_queries(45) as captured:
                mine(client, race.entries.first())
            counts.append(len(captured))

        assert counts[0] == counts[1]


class TestPrivacy:
    @pytest.fixture
    def junior(self, event):
        race = nights.race(event, 5)
        child = factories.driver(
            event.club, "Tomasina Realname", public_name="Tommy O.", is_junior=True, contact="parent@example.org",
            note="asthma",
        )  # fmt: skip
        entry = race_factories.entry(race, child, fee_due=5)
        race_factories.drawn(race)
        nights.begin(next(h for h in heats_of(race) if h.lanes.filter(seat__entry=entry).exists()), at(19, 0))
        return entry

    def test_no_public_page_tells_a_juniors_name_contact_note_or_fee(self, client, event, junior):
        pages = [
            home(client, event.club),
            mine(client, junior),
            text_of(client, "driver-page", "quarry-hall", junior.public_id),
            text_of(client, "driver-find", "quarry-hall", event.public_id),
        ]

        assert all("Tommy O." in page for page in pages)
        for page in pages:
            for private in ("Realname", "parent@example.org", "asthma", "owed", "Unpaid"):
                assert private not in page

    def test_a_leader_of_the_season_is_shown_by_the_public_name(self, client, event, junior):
        race = junior.race
        with time_machine.travel(at(21), tick=False):
            season = Season.objects.create(club=event.club, name="Winter season", points=[25])
            Round.objects.create(season=season, number=1, race=race)
            for n, heat in enumerate(heats_of(race)[1:]):
                nights.run(heat, at(19, 10 + 5 * n))
            heat = heats_of(race)[0]
            from racedesk.racecontrol.services import enter_heat_laps  # noqa: PLC0415

            typed = {lane.lane.number: "18.45" for lane in heat.lanes.select_related("lane")}
            enter_heat_laps(heat=heat, typed=typed, at_ms=nights.ms(at(20)), confirmed=True, by=None)
            sheet = publish_results(race=race, by=nights.director(event))
        sheet.rows.filter(entry=junior).update(place=1)
        sheet.rows.exclude(entry=junior).update(place=2)

        page = home(client, event.club)

        assert 'class="winner">Tommy O.</span> leads with' in page
        assert "Realname" not in page


class TestFind:
    def test_lists_everybody_once_by_shown_name(self, client, event):
        race, other = nights.race(event, 3), nights.race(event, name="Saloon", position=2)
        race_factories.entry(other, race.entries.first().drivers.get().driver)
        race_factories.entry(race, factories.driver(event.club, "Gone Home"), state=Entry.State.WITHDRAWN)

        page = text_of(client, "driver-find", "quarry-hall", event.public_id)

        assert page.count("Ada Brandt") == 1
        assert "Gone Home" not in page

    def test_remembers_the_phone_after_one_tap(self, client, event):
        entry = nights.race(event, 3).entries.first()
        find = reverse("driver-find", args=["quarry-hall", event.public_id])
        own = reverse("driver-page", args=["quarry-hall", entry.public_id])
        assert client.get(find).status_code == 200

        chosen = client.get(f"{own}?mine=yes")
        again = client.get(find)

        assert (chosen.status_code, chosen["Location"]) == (302, own)
        assert (again.status_code, again["Location"]) == (302, own)
        assert client.cookies["mine"]["httponly"]
        assert client.cookies["mine"]["path"] == find

    def test_lets_another_person_choose(self, client, event):
        entry = nights.race(event, 3).entries.first()
        client.get(reverse("driver-page", args=["quarry-hall", entry.public_id]) + "?mine=yes")

        page = client.get(reverse("driver-find", args=["quarry-hall", event.public_id]) + "?again=yes")

        assert page.status_code == 200
        assert b"Who are you?" in page.content

    def test_a_made_up_or_foreign_memory_leads_nowhere(self, client, event):
        elsewhere = nights.race(nights.event(factories.club()), 1).entries.get()
        find = reverse("driver-find", args=["quarry-hall", event.public_id])
        for value in ("nonsense", elsewhere.public_id, "//example.org"):
            client.cookies["mine"] = value

            assert client.get(find).status_code == 200

    def test_costs_no_more_queries_with_more_names(self, client, django_assert_max_num_queries):
        counts = []
        for drivers in (2, 40):
            event = nights.event(factories.club())
            nights.race(event, drivers)
            with django_assert_max_num_queries(12) as captured:
                text_of(client, "driver-find", event.club.slug, event.public_id)
            counts.append(len(captured))

        assert counts[0] == counts[1]

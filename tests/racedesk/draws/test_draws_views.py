"""The page where a draw is chosen, who may be let into it, and the page of a draw."""

import re
from collections import Counter

import pytest
from django.urls import reverse

from inspection.models import LogEntry, Role
from racedesk.entries.selectors import ready_entries
from racedesk.heats.documents import balance_words
from racedesk.heats.selectors import heats_of
from racedesk.heats.services import plan_heats
from racedesk.models import Draw, Entry
from racedesk.racecontrol.services import start_heat
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    race = race_factories.race()
    race_factories.entries(race, 8)
    return race


@pytest.fixture
def director(race, client):
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def page_of(race, query="?seed=4471"):
    return reverse("draw-create", args=[race.event.club.slug, race.public_id]) + query


def post(client, race, **fields):
    return client.post(page_of(race, ""), {"preset": "opponents", "seed": 4471, "replaces": 0} | fields)


def test_three_presets_stand_side_by_side_with_their_balance(client, race, director):
    page = client.get(page_of(race)).content.decode()
    assert [word for word in ("Usual order", "Opponents", "Rest") if f"Use {word}, print the heat sheets" in page] == [
        "Usual order",
        "Opponents",
        "Rest",
    ]
    assert page.count("A pair meets") >= 3
    assert page.count('class="matrix"') == 3
    assert "Seed 4471" in page


def test_without_a_seed_the_page_takes_one_and_shows_it(client, race, director):
    answer = client.get(page_of(race, ""))
    assert answer.status_code == 302
    assert re.search(r"\?seed=\d{4}$", answer.url)


def test_a_seed_that_is_none_does_no_harm(client, race, director):
    assert client.get(page_of(race, "?seed=abc&preset=best")).status_code == 200


def test_using_a_draw_makes_the_heats_and_goes_on_to_printing(client, race, director):
    answer = post(client, race, preset="rest")
    made = Draw.objects.get(stage__race=race)
    assert answer.url == reverse("draw-detail", args=[race.event.club.slug, made.public_id])
    assert (made.preset, made.seed, made.drawn_by) == ("rest", 4471, director)
    page = client.get(answer.url).content.decode()
    assert reverse("heat-print", args=[race.event.club.slug, made.public_id, "wall"]) in page


def first_heat_shown(page):
    found = re.search(r'section for-opponents">.*?heat-number">1</th>(.*?)</tr>', page, re.DOTALL)
    return re.findall(r"<td>([^<]+)</td>", found[1])


def first_heat_drawn(race):
    return [each.seat.entry.drivers.get().driver.name for each in heats_of(race)[0].lanes.all()]


def test_what_the_page_showed_is_what_is_drawn(client, race, director):
    shown = first_heat_shown(client.get(page_of(race)).content.decode())
    post(client, race)
    assert first_heat_drawn(race) == shown


def test_it_is_so_again_when_somebody_entered_long_ago_comes_late(client, race, director):
    first = race.entries.first()
    type(first).objects.filter(pk=first.pk).update(state=Entry.State.ENTERED)
    post(client, race)
    type(first).objects.filter(pk=first.pk).update(state=Entry.State.CHECKED_IN)
    shown = first_heat_shown(client.get(page_of(race)).content.decode())
    post(client, race, replaces=1, reason="came late")
    assert first_heat_drawn(race) == shown
    assert first.seats.get().number == 8


def test_the_second_of_two_people_is_told_and_nothing_is_drawn_over(client, race, director):
    post(client, race)
    answer = post(client, race, reason="mine")
    assert answer.status_code == 409
    assert "Somebody has drawn these heats" in answer.content.decode()
    assert Draw.objects.filter(stage__race=race).count() == 1


def test_drawing_again_asks_for_a_reason_and_keeps_what_was_typed(client, race, director):
    post(client, race)
    assert post(client, race, replaces=1, reason="  ").status_code == 409
    answer = post(client, race, replaces=1, reason="one came late")
    assert answer.status_code == 302
    assert list(Draw.objects.filter(stage__race=race).values_list("number", "reason")) == [
        (2, "one came late"),
        (1, ""),
    ]


def test_once_a_heat_has_begun_the_draw_stands(client, race, director):
    post(client, race)
    start_heat(heat=heats_of(race)[0], at_ms=1_000, by=None)
    answer = post(client, race, replaces=1, reason="other lanes")
    assert answer.status_code == 409
    assert "Heat 1 has begun" in answer.content.decode()
    assert 'value="other lanes"' in answer.content.decode()


def test_one_driver_alone_is_refused_in_plain_words(client, director, race):
    lonely = race_factories.race(race.event)
    race_factories.entry(lonely)
    page = client.get(page_of(lonely)).content.decode()
    assert "A draw needs at least 2 drivers who are ready." in page
    assert "print the heat sheets" not in page
    answer = post(client, lonely)
    assert answer.status_code == 409
    assert "at least 2 drivers who are ready; there are 1" in answer.content.decode()


class TestAnotherWay:
    """Several rounds, fewer lanes each, lanes left empty; the track has six lanes."""

    def test_is_worked_out_drawn_kept_and_said(self, client, race, director):
        query = "?seed=4471&rounds=2&each=4&empty=3"
        page = client.get(page_of(race, query)).content.decode()
        words = "Everyone drives 4 of the 5 lanes in each of 2 rounds. Lane 3 stays empty."
        assert words in page
        shown = first_heat_shown(page)
        answer = client.post(page_of(race, query), {"preset": "opponents", "seed": 4471, "replaces": 0})
        made = Draw.objects.get(stage__race=race)
        assert made.report["way"] == {"rounds": 2, "lanes_each": 4, "empty": [3]}
        assert words in client.get(answer.url).content.decode()
        runs = Counter()
        for heat in heats_of(race):
            for each in heat.lanes.all():
                assert each.lane.number != 3
                runs[each.seat_id] += 1
        assert set(runs.values()) == {8}
        assert first_heat_drawn(race) == [name for name in shown if name]

    def test_the_same_way_gives_the_same_heats(self, client, race, director):
        for number in range(2):
            fields = {"preset": "rest", "seed": 7, "replaces": number, "reason": "again"}
            client.post(page_of(race, "?rounds=3&each=2"), fields)
        older, newer = Draw.objects.filter(stage__race=race).order_by("number")
        assert older.report == newer.report
        assert older.report["heats"] == 9  # 8 drivers, 2 of 6 lanes, 3 rounds: 48 runs, 6 a heat at most

    @pytest.mark.parametrize(
        ("query", "words"),
        [
            ("", "Everyone drives every lane once."),
            ("&rounds=2", "Everyone drives every lane 2 times."),
            ("&empty=1&empty=6", "Everyone drives every lane in use once. Lanes 1, 6 stay empty."),
            ("&rounds=3&empty=2", "Everyone drives every lane in use 3 times. Lane 2 stays empty."),
            ("&each=3", "Everyone drives 3 of the 6 lanes."),
            # What no track has or no draw can do is passed over.
            ("&rounds=0&each=9&empty=77", "Everyone drives every lane once."),
            ("&rounds=x&each=-1&empty=", "Everyone drives every lane once."),
            ("&empty=1&empty=2&empty=3&empty=4&empty=5&empty=6", "Everyone drives every lane once."),
        ],
    )
    def test_every_way_has_words_that_are_true(self, client, race, director, query, words):
        assert words in client.get(page_of(race, "?seed=4471" + query)).content.decode()

    def test_more_heats_end_later(self, client, race, director):
        assert "16 heats of" in client.get(page_of(race, "?seed=4471&rounds=2")).content.decode()

    def test_another_seed_keeps_it(self, client, race, director):
        page = client.get(page_of(race, "?seed=4471&rounds=2&empty=3")).content.decode()
        assert len(re.findall(r"\?seed=\d{4}&amp;preset=\w+&amp;rounds=2&amp;empty=3\"", page)) == 3
        assert client.get(page_of(race, "?rounds=2")).url.endswith("&rounds=2")


class TestWishes:
    """Said on the page, kept in its address, met by moving drivers, kept with the draw."""

    @pytest.fixture
    def race(self):
        race = race_factories.race()
        race_factories.entries(race, 16)
        return race

    def add(self, client, race, number, kind, value, query="?seed=4471&preset=usual", **more):
        who = race.entries.order_by("pk")[number - 1].public_id
        fields = "".join(f"&{name}={each}" for name, each in more.items())
        answer = client.get(page_of(race, f"{query}&driver={who}&kind={kind}&number={value}{fields}"))
        return "?" + answer.url.split("?")[1]

    def test_is_added_met_drawn_and_kept(self, client, race, director):
        query = self.add(client, race, 2, "not_before", 6)
        query = self.add(client, race, 3, "apart", 4, query)
        query = self.add(client, race, 5, "first_lane", 3, query, soft="on")
        page = client.get(page_of(race, query)).content.decode()
        names = [entry.drivers.get().driver.name for entry in race.entries.order_by("pk")]
        words = [
            f"{names[1]} drives in no heat before 6",
            f"{names[2]} and {names[3]} in no heat together",
            f"{names[4]} first on lane 3, if it can be",
        ]
        usual = re.search(r'<ul class="rows said for-usual".*?</ul>', page, re.DOTALL)[0]
        assert re.findall(r"<b>(.*?)</b> <span>met</span>", usual) == words

        made = client.post(page_of(race, query), {"preset": "usual", "seed": 4471, "replaces": 0})
        detail = client.get(made.url).content.decode()
        assert re.findall(r"<b>(.*?)</b> <span>met</span>", detail) == words
        in_heat = [{each.seat.number: each.lane.number for each in heat.lanes.all()} for heat in heats_of(race)]
        assert all(2 not in heat for heat in in_heat[:5])
        assert not any({3, 4} <= heat.keys() for heat in in_heat)
        assert next(heat[5] for heat in in_heat if 5 in heat) == 3

    def test_what_cannot_be_met_is_said_so(self, client, race, director):
        query = self.add(client, race, 3, "apart", 4)
        page = client.get(page_of(race, query)).content.decode()
        opponents = re.search(r'<ul class="rows said for-opponents".*?</ul>', page, re.DOTALL)[0]
        assert re.search(r'class="wish-missed">not met, in \d heats?<', opponents)

    def test_of_who_is_not_in_the_draw_any_more_is_said_so_and_can_be_taken_back(self, client, race, director):
        query = self.add(client, race, 2, "not_before", 6)
        gone = race.entries.order_by("pk")[1]
        gone.state = Entry.State.WITHDRAWN
        gone.save(update_fields=["state"])

        page = client.get(page_of(race, query)).content.decode()

        passed_over = re.search(r'aria-label="Wishes passed over">(.*?)</ul>', page, re.DOTALL)[1]
        assert f"{gone.drivers.get().driver.name} drives in no heat before 6" in passed_over
        assert "passed over: not in this draw" in passed_over
        back = re.findall(r'href="(\?[^"]*)">Take back', passed_over)[0].replace("&amp;", "&")
        assert "Wishes passed over" not in client.get(page_of(race, back)).content.decode()

    def test_is_taken_back_with_one_tap(self, client, race, director):
        query = self.add(client, race, 2, "not_before", 6, "?seed=4471&preset=usual&rounds=2")
        page = client.get(page_of(race, query)).content.decode()
        back = re.findall(r'href="(\?[^"]*)">Take back', page)[0].replace("&amp;", "&")
        assert back == "?seed=4471&preset=usual&rounds=2"
        assert "drives in no heat before 6" not in client.get(page_of(race, back)).content.decode()

    def test_a_later_heat_takes_the_place_of_an_earlier_one(self, client, race, director):
        query = self.add(client, race, 2, "not_before", 6)
        assert self.add(client, race, 2, "not_before", 4, query).count("wish=") == 1

    @pytest.mark.parametrize(("kind", "value"), [("apart", 2), ("apart", 99), ("not_before", "x"), ("faster", 1)])
    def test_what_is_none_is_said_and_adds_nothing(self, client, race, director, kind, value):
        query = self.add(client, race, 2, kind, value)
        assert "wish=" not in query
        assert "Give a driver, a wish and a number" in client.get(page_of(race, query)).content.decode()

    def test_an_address_that_names_nobody_or_nothing_does_no_harm(self, client, race, director):
        who = race.entries.first().public_id
        query = "".join(
            f"&wish={text}"
            for text in (
                "x",
                f"apart.{who}.{who}",
                "not_before.abcdefgh.3",
                f"first_lane.{who}.77",
                f"apart.{who}.zzzz",
            )
        )
        page = client.get(page_of(race, "?seed=1&seeding=odd" + query))
        assert page.status_code == 200
        assert "rows said" not in page.content.decode()

    def test_fast_and_slow_are_mixed_by_their_last_results(self, client, race, director):
        for number, seeding in enumerate(("mixed", "apart")):
            address = page_of(race, f"?seeding={seeding}")
            answer = client.post(address, {"preset": "usual", "seed": 9, "replaces": number, "reason": "seeded"})
            made = Draw.objects.get(stage__race=race, superseded_at=None)
            assert made.report["seeding"] == seeding
            # Nobody has a result yet, so the order is that of the draw.
            assert made.report["order"] == list(range(1, 17))
            assert "Fast drivers meet" in client.get(answer.url).content.decode()
        mixed, apart = (
            sum(abs(a - b) * draw.report["meetings"][a][b] for a in range(16) for b in range(a))
            for draw in Draw.objects.filter(stage__race=race).order_by("number")
        )
        assert mixed > apart


def chosen_preset(page):
    return re.search(r'name="preset" value="(\w+)" checked', page)[1]


def test_the_page_opens_with_the_preset_of_the_clubs_last_draw(client, race, director):
    assert chosen_preset(client.get(page_of(race)).content.decode()) == "opponents"
    post(client, race, preset="usual")
    post(client, race, preset="rest", replaces=1, reason="they want rest")
    following = race_factories.race(race.event)
    race_factories.entries(following, 4)
    elsewhere = race_factories.drawn_race()
    assert elsewhere.event.club != race.event.club
    assert chosen_preset(client.get(page_of(following)).content.decode()) == "rest"
    assert chosen_preset(client.get(page_of(following, "?seed=1&preset=usual")).content.decode()) == "usual"


class TestWhoIsNotReady:
    @pytest.fixture
    def race(self):
        race = race_factories.race_with_tech()
        race_factories.entry(race)
        race_factories.entry(race, state=Entry.State.ENTERED)
        return race

    def admit(self, client, entry, reason=""):
        address = reverse("draw-override", args=[entry.race.event.club.slug, entry.public_id])
        return client.post(address, {"reason": reason}, follow=True)

    def test_is_listed_with_the_cause(self, client, race, director):
        page = client.get(page_of(race)).content.decode()
        assert "not checked in" in page
        assert "not checked<" in page

    def test_races_by_one_recorded_decision(self, client, race, director):
        entry = race.entries.first()
        self.admit(client, entry, "first night, car looked at by hand")
        entry.refresh_from_db()
        assert (entry.override_by, entry.override_reason) == (director, "first night, car looked at by hand")
        assert LogEntry.objects.filter(action="overrode tech").count() == 1

    def test_without_a_reason_nothing_is_decided(self, client, race, director):
        entry = race.entries.first()
        page = self.admit(client, entry).content.decode()
        entry.refresh_from_db()
        assert entry.override_at is None
        assert "Give the reason" in page

    def test_is_checked_in_and_let_race_in_one_step_or_not_at_all(self, client, race, director):
        entry = race.entries.last()
        self.admit(client, entry)
        entry.refresh_from_db()
        assert entry.state == Entry.State.ENTERED
        self.admit(client, entry, "seen")
        entry.refresh_from_db()
        assert (entry.state, entry.override_reason) == (Entry.State.CHECKED_IN, "seen")

    def test_is_not_for_the_tech_inspector_to_decide(self, client, race):
        client.force_login(factories.member(race.event.club, Role.TECH_INSPECTOR))
        assert self.admit(client, race.entries.first(), "x").status_code == 403


def test_anybody_reads_how_a_draw_was_made(client):
    race = race_factories.drawn_race(drivers=14)
    made = Draw.objects.get(stage__race=race)
    page = client.get(reverse("draw-detail", args=[race.event.club.slug, made.public_id])).content.decode()
    assert "2 or 3 times" in page
    assert "as even as 14 on 6 lanes can be" in page
    assert "4471" in page
    assert re.search(r"63 pairs 2.?, 28 pairs 3", page)


def test_a_junior_appears_by_the_name_the_club_shows(client):
    race = race_factories.race()
    race_factories.entry(race, factories.driver(race.event.club, "Full Name", public_name="Speedy", is_junior=True))
    race_factories.entries(race, 3)
    made = race_factories.drawn(race)
    for address in (
        reverse("draw-detail", args=[race.event.club.slug, made.public_id]),
        reverse("heat-list", args=[race.event.club.slug, race.public_id]),
    ):
        page = client.get(address).content.decode()
        assert "Speedy" in page
        assert "Full Name" not in page


def test_the_draw_page_takes_no_more_queries_with_more_drivers(client, race, director, django_assert_max_num_queries):
    big = race_factories.race(race.event)
    race_factories.entries(big, 40)
    for each in (race, big):
        with django_assert_max_num_queries(40):
            assert client.get(page_of(each)).status_code == 200


class TestAnOwnOrder:
    """A director's own order of criteria arranges each draw, marks the best, and is kept with the one that is used."""

    ORDER = "&first=on_end&first=beside"

    def test_it_arranges_every_draw_and_marks_the_best(self, client, race, director):
        big = race_factories.race(race.event)
        race_factories.entries(big, 14)
        plain = client.get(page_of(big)).content.decode()
        assert "best by your own order" not in plain

        order = "&first=meetings&first=on_end&first=beside"
        page = client.get(page_of(big, "?seed=4471" + order))
        options, page = page.context["options"], page.content.decode()

        assert 1 <= page.count("best by your own order") < 3
        assert next(each for each in options if each.preset == "opponents").is_best
        assert '<option value="on_end" selected>' in page
        assert '<option value="beside" selected>' in page

    def test_where_all_are_alike_none_is_marked(self, client, race, director):
        # Each preset has every two of 8 drivers on 6 lanes meet 4 or 5 times, with one sum of squares.
        page = client.get(page_of(race, "?seed=4471&first=meetings")).content.decode()
        assert '<option value="meetings" selected>' in page
        assert "best by your own order" not in page

    def test_what_is_used_is_what_was_shown_and_says_how_it_was_arranged(self, client, race, director):
        query = "?seed=4471&preset=usual" + self.ORDER
        shown = client.get(page_of(race, query)).context["options"][0]

        made = client.post(page_of(race, query), {"preset": "usual", "seed": 4471, "replaces": 0})

        drawn = Draw.objects.latest("pk")
        assert drawn.report["criteria"] == ["on_end", "beside"]
        assert shown.words.back_to_back == balance_words(drawn.report).back_to_back
        plain = plan_heats(race=race, entries=ready_entries(race), preset="usual", seed=4471)
        assert (drawn.report["back_to_back"], drawn.report["sum_of_squares"]) <= (
            plain.balance.back_to_back,
            plain.balance.sum_of_squares,
        )
        heats = [frozenset(heat.lanes.values_list("seat__number", flat=True)) for heat in heats_of(race)]
        assert Counter(heats) == Counter(plain.plan.drivers_in(heat) for heat in range(len(heats)))
        detail = client.get(made.url).content.decode()
        assert "own order: few heats back to back, then side by side evenly." in detail

    @pytest.mark.parametrize("query", ["&first=luck", "&first=", "&first=wait&rounds=2", "&first=wait&each=2"])
    def test_what_is_none_or_has_no_choice_left_is_passed_over(self, client, race, director, query):
        page = client.get(page_of(race, "?seed=4471" + query))
        assert page.status_code == 200
        assert "best by your own order" not in page.content.decode()

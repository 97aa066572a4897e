"""Seasons add up published results only; drops, ties and shared points show."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.models import ResultRow, ResultSheet
from racedesk.seasons import errors
from racedesk.seasons.forms import SeasonForm
from racedesk.seasons.selectors import standings_of
from racedesk.seasons.services import add_round, create_season, remove_round
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def drivers(club):
    return [factories.driver(club, name) for name in ("Ada", "Ben", "Cleo")]


def finished(club, places):
    """A race with a published result: {driver: place}."""
    race = race_factories.race(race_factories.event(club))
    sheet = ResultSheet.objects.create(race=race, number=1, tie_rule="shared")
    values = list(places.values())
    for driver, place in places.items():
        entry = race_factories.entry(race, driver)
        ResultRow.objects.create(
            sheet=sheet, entry=entry, place=place, is_shared=values.count(place) > 1, driver_name=driver.name
        )
    return race


def season_with(club, *races, **rules):
    season = create_season(club=club, name="Winter", points=[Decimal(9), Decimal(6), Decimal(4)], by=None, **rules)
    for number, race in enumerate(races, start=1):
        add_round(season=season, race=race, number=number, by=None)
    return season


def lines(season):
    return [(row.place, row.driver.name, row.counted, row.gross) for row in standings_of(season).rows]


def test_points_add_up_over_rounds(club, drivers):
    ada, ben, cleo = drivers
    season = season_with(club, finished(club, {ada: 1, ben: 2, cleo: 3}), finished(club, {ben: 1, ada: 2}))

    assert lines(season) == [(1, "Ada", 15, 15), (1, "Ben", 15, 15), (3, "Cleo", 4, 4)]


def test_the_worst_rounds_are_dropped_and_shown_so(club, drivers):
    ada, ben, _ = drivers
    season = season_with(club, finished(club, {ada: 1, ben: 2}), finished(club, {ben: 1, ada: 2}), rounds_that_count=1)
    row = standings_of(season).rows[0]

    assert (row.counted, row.gross) == (9, 15)
    assert [cell.is_dropped for cell in row.rounds] == [False, True]


def test_drivers_who_share_a_place_get_the_mean_of_the_places_they_take_up(club, drivers):
    ada, ben, cleo = drivers
    season = season_with(club, finished(club, {ada: 1, ben: 1, cleo: 3}))

    assert [row.counted for row in standings_of(season).rows] == [Decimal("7.50"), Decimal("7.50"), 4]


def test_only_published_results_count_and_only_the_latest(club, drivers):
    ada, ben, _ = drivers
    race = finished(club, {ada: 1, ben: 2})
    first = race.result_sheets.get()
    first.superseded_at = first.published_at
    first.save()
    second = ResultSheet.objects.create(race=race, number=2, tie_rule="shared", change_note="turned round")
    for row in first.rows.all():
        ResultRow.objects.create(sheet=second, entry=row.entry, place=3 - row.place, driver_name=row.driver_name)
    season = season_with(club, race, race_factories.race(race_factories.event(club)))

    table = standings_of(season)

    assert table.run == (1,)
    assert [row.driver.name for row in table.rows] == ["Ben", "Ada"]


def test_an_excluded_entry_scores_nothing(club, drivers):
    ada, ben, _ = drivers
    race = finished(club, {ada: 1, ben: 2})
    ResultRow.objects.filter(entry__drivers__driver=ben).update(place=None, status="excluded")

    assert [row.driver.name for row in standings_of(season_with(club, race)).rows] == ["Ada"]


def test_a_race_scores_once_in_a_season_and_a_round_holds_one_race(club, drivers):
    race = finished(club, {drivers[0]: 1})
    season = season_with(club, race)

    with pytest.raises(errors.RaceScoresAlready):
        add_round(season=season, race=race, number=2, by=None)
    with pytest.raises(errors.RoundTaken):
        add_round(season=season, race=finished(club, {drivers[1]: 1}), number=1, by=None)
    with pytest.raises(errors.SeasonNameTaken):
        create_season(club=club, name="Winter", points=[Decimal(1)], by=None)


def test_a_round_with_a_result_stays(club, drivers):
    season = season_with(club, finished(club, {drivers[0]: 1}), race_factories.race(race_factories.event(club)))

    with pytest.raises(errors.RoundPublished):
        remove_round(scored_round=season.rounds.get(number=1), by=None)
    remove_round(scored_round=season.rounds.get(number=2), by=None)

    assert season.rounds.count() == 1


@pytest.mark.parametrize(
    ("text", "points"),
    [("25 18 15", ["25", "18", "15"]), ("8.5; 6; 3,5", ["8.5", "6", "3.5"]), ("9-6-4", ["9", "6", "4"])],
)
def test_points_are_read_as_people_write_them(text, points):
    form = SeasonForm({"name": "Winter", "points": text})

    assert form.is_valid(), form.errors
    assert form.cleaned_data["points"] == [Decimal(each) for each in points]


@pytest.mark.parametrize(
    ("text", "code"), [("a b", "not_numbers"), ("1 2", "order"), ("NaN", "range"), ("1e9", "range"), ("", "required")]
)
def test_points_that_make_no_table_are_refused(text, code):
    assert SeasonForm({"name": "Winter", "points": text}).errors.as_data()["points"][0].code == code


def test_the_table_is_public_and_shows_the_public_name_of_a_junior(client, club):
    junior = factories.driver(club, "Jonathan Berg", public_name="Jonny B", is_junior=True)
    season = season_with(club, finished(club, {junior: 1}))
    address = reverse("season-detail", args=[club.slug, season.public_id])

    for page in (address, address + "?export=csv"):
        text = client.get(page).content.decode()
        assert "Jonny B" in text
        assert "Jonathan" not in text


def test_the_table_takes_no_more_queries_with_more_drivers(client, club, django_assert_max_num_queries):
    drivers = [factories.driver(club) for _ in range(30)]
    season = season_with(club, *(finished(club, {d: n for n, d in enumerate(drivers, start=1)}) for _ in range(2)))

    with django_assert_max_num_queries(7):
        standings_of(season)


def test_the_director_plans_a_season_and_adds_a_round_in_the_browser(client, club):
    client.force_login(factories.member(club, Role.RACE_DIRECTOR))
    race = race_factories.race(race_factories.event(club))

    planned = client.post(
        reverse("season-create", args=[club.slug]), {"name": "Spring", "points": "9 6 4"}, follow=True
    )
    season = planned.context["season"]
    client.post(reverse("round-create", args=[club.slug, season.public_id]), {"race": race.pk, "number": 1})

    assert season.rounds.get().race == race

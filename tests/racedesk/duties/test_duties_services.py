"""Exemptions, helpers and missed duties: what they do to the roster, before the draw, after it, and on the night."""

import random
from collections import Counter

import pytest

from inspection.models import LogEntry, Role
from racedesk.duties.errors import (
    ExemptionNeedsReason,
    HelperNeedsName,
    HelperRaces,
    HelperStandsElsewhere,
    MissedAlready,
    NobodyMissedYet,
    NoSuchDuty,
    NoTariff,
    PostHasHelper,
)
from racedesk.duties.selectors import roster_page
from racedesk.duties.services import end_exemption, exempt, miss_duty, name_helper, release_helper
from racedesk.heats.selectors import heat_cards, heats_of
from racedesk.models import Entry, LaneAssignment, MarshalDuty, Race
from racedesk.redraws.services import accept_rest
from racedesk.restplans.selectors import Choices, night_of
from racedesk.results.selectors import outcome_of
from racedesk.results.services import withdraw_penalty
from tests import factories, race_factories
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db


def drawn(drivers=8, lanes=3, posts=2, **fields) -> Race:
    return race_factories.drawn_race(drivers=drivers, lanes=lanes, posts=posts, **fields)


def duties(race: Race) -> dict[int, dict[int, int]]:
    """By number of the heat, which seat stands at which post."""
    found: dict[int, dict[int, int]] = {heat.number: {} for heat in heats_of(race)}
    rows = MarshalDuty.objects.filter(heat__in=heats_of(race))
    for heat, post, seat in rows.values_list("heat__number", "post__number", "seat__number"):
        found[heat][post] = seat
    return found


def driving(race: Race) -> set[tuple[int, int]]:
    rows = LaneAssignment.objects.filter(heat__in=heats_of(race))
    return set(rows.values_list("heat__number", "seat__number"))


def standing(race: Race) -> set[tuple[int, int]]:
    return {(heat, seat) for heat, row in duties(race).items() for seat in row.values()}


def seat_of(entry: Entry) -> int:
    return entry.seats.get().number


class TestExemptions:
    def test_before_the_draw_the_draw_leaves_the_entry_out_of_the_roster(self):
        race = race_factories.race(lanes=3, posts=2)
        entries = race_factories.entries(race, 6)
        exempt(entry=entries[2], reason="broken wrist", by=None)
        race_factories.drawn(race)

        turns = Counter(seat for row in duties(race).values() for seat in row.values())
        assert turns[seat_of(entries[2])] == 0
        assert set(turns) == {seat_of(entry) for entry in entries if entry != entries[2]}

    def test_after_the_draw_the_roster_is_made_anew_and_stays_even(self):
        race = drawn()
        entry = race.entries.first()
        exempt(entry=entry, reason="times the heats", by=None)

        turns = Counter(seat for row in duties(race).values() for seat in row.values())
        assert turns[seat_of(entry)] == 0
        assert max(turns.values()) - min(turns.values()) <= 1
        assert sum(turns.values()) == 8 * 2
        report = race.stages.get().draws.get().report
        assert dict(zip(report["seats"], report["duties"], strict=True)) == {n: turns[n] for n in report["seats"]}

    def test_what_was_run_stays_as_it_was_and_counts(self):
        race = drawn()
        run(race, only=4)
        before = duties(race)
        entry = race.entries.last()
        exempt(entry=entry, reason="had to sit down", by=None)

        after = duties(race)
        assert [after[heat] for heat in range(1, 5)] == [before[heat] for heat in range(1, 5)]
        assert all(seat_of(entry) not in after[heat].values() for heat in range(5, 9))
        turns = Counter(seat for row in after.values() for seat in row.values())
        others = [turns[seat_of(each)] for each in race.entries.all() if each != entry]
        assert max(others) - min(others) <= 1

    def test_an_exemption_ends(self):
        race = drawn()
        before = duties(race)
        entry = race.entries.first()
        exempt(entry=entry, reason="times the heats", by=None)
        entry.refresh_from_db()
        end_exemption(entry=entry, by=None)

        assert duties(race) == before

    def test_it_needs_a_reason_and_is_logged(self):
        race = drawn()
        director = factories.member(race.event.club, Role.RACE_DIRECTOR)
        entry = race.entries.first()
        with pytest.raises(ExemptionNeedsReason):
            exempt(entry=entry, reason="  ", by=director)
        exempt(entry=entry, reason="broken wrist", by=director)

        line = LogEntry.objects.get(club=race.event.club, action="exempted from marshalling")
        assert (line.by, line.reason) == (director, "broken wrist")

    def test_who_has_left_does_not_marshal_after_that(self):
        race = drawn()
        gone, other = race.entries.all()[:2]
        Entry.objects.filter(pk=gone.pk).update(state=Entry.State.WITHDRAWN)
        exempt(entry=other, reason="times the heats", by=None)

        assert not {seat_of(gone), seat_of(other)} & {seat for _heat, seat in standing(race)}


class TestHelpers:
    def test_a_helper_holds_the_post_in_every_heat_and_the_drivers_share_the_rest(self):
        race = drawn()
        post = race.event.track_layout.posts.first()
        name_helper(race=race, post=post, name=" Mara  Lind ", by=None)

        for card in heat_cards(race):
            assert [(each.name, each.seat_number) for each in card.marshals if each.post == post] == [("Mara Lind", 0)]
            assert len(card.marshals) == 2
        turns = Counter(seat for row in duties(race).values() for seat in row.values())
        assert set(turns.values()) == {1}

    def test_from_the_middle_of_the_night_on_and_released_again(self):
        race = drawn()
        post = race.event.track_layout.posts.first()
        run(race, only=2)
        helper = name_helper(race=race, post=post, name="Mara Lind", by=None)
        run(race, only=5)
        release_helper(helper=helper, by=None)

        where = [
            next(each.seat_number == 0 for each in card.marshals if each.post == post) for card in heat_cards(race)
        ]
        assert where == [False, False, True, True, True, False, False, False]

    def test_released_before_a_heat_was_run_leaves_nothing_behind(self):
        race = drawn()
        before = duties(race)
        helper = name_helper(race=race, post=race.event.track_layout.posts.first(), name="Mara Lind", by=None)
        release_helper(helper=helper, by=None)

        assert duties(race) == before
        assert not race.helpers.exists()

    def test_a_helper_stays_when_the_heats_are_drawn_again(self):
        race = drawn()
        post = race.event.track_layout.posts.first()
        run(race, only=2)
        name_helper(race=race, post=post, name="Mara Lind", by=None)
        director = factories.member(race.event.club, Role.RACE_DIRECTOR)
        choices = Choices(out=(seat_of(race.entries.last()),))
        seen = night_of(race, choices).seen
        accept_rest(race=race, choices=choices, steps=0, seen=seen, reason="left early", by=director)

        for card in heat_cards(race)[2:]:
            assert [each.name for each in card.marshals if each.post == post] == ["Mara Lind"]

    def test_who_races_or_stands_elsewhere_is_refused_and_so_is_a_second_one(self):
        race = drawn()
        first, second = race.event.track_layout.posts.all()
        with pytest.raises(HelperRaces):
            name_helper(race=race, post=first, name=str(race.entries.first()).upper(), by=None)
        with pytest.raises(HelperNeedsName):
            name_helper(race=race, post=first, name="  ", by=None)
        name_helper(race=race, post=first, name="Mara Lind", by=None)
        with pytest.raises(HelperStandsElsewhere):
            name_helper(race=race, post=second, name="mara lind", by=None)
        with pytest.raises(PostHasHelper):
            name_helper(race=race, post=first, name="Jo Falk", by=None)


class TestMissedDuties:
    def test_one_tap_takes_the_tariff_and_the_result_shows_it(self):
        race = drawn(missed_duty_laps=5)
        run(race)
        heat = heats_of(race)[0]
        seat = next(iter(duties(race)[1].values()))
        before = {row.entry_id: row for row in outcome_of(race).rows}
        penalty = miss_duty(heat=heat, seat_number=seat, by=None)

        after = {row.entry_id: row for row in outcome_of(race).rows}
        assert (penalty.laps, penalty.missed_heat, seat_of(penalty.entry)) == (5, heat, seat)
        assert after[penalty.entry_id].penalty_laps == before[penalty.entry_id].penalty_laps + 5
        assert "heat 1" in penalty.reason

    def test_twice_for_one_heat_is_refused_until_it_was_taken_back(self):
        race = drawn()
        run(race)
        heat = heats_of(race)[0]
        seat = next(iter(duties(race)[1].values()))
        penalty = miss_duty(heat=heat, seat_number=seat, by=None)
        with pytest.raises(MissedAlready):
            miss_duty(heat=heat, seat_number=seat, by=None)
        withdraw_penalty(penalty=penalty, reason="was at the desk on the director's word", by=None)

        assert miss_duty(heat=heat, seat_number=seat, by=None).pk != penalty.pk

    def test_only_who_was_on_the_roster_and_only_once_the_heat_is_at_the_track(self):
        race = drawn()
        heats = heats_of(race)
        not_on_duty = next(seat for heat, seat in driving(race) if heat == 1)
        with pytest.raises(NoSuchDuty):
            miss_duty(heat=heats[0], seat_number=not_on_duty, by=None)
        with pytest.raises(NobodyMissedYet):
            miss_duty(heat=heats[3], seat_number=next(iter(duties(race)[4].values())), by=None)
        assert miss_duty(heat=heats[0], seat_number=next(iter(duties(race)[1].values())), by=None).laps == 1

    def test_a_race_without_a_tariff_takes_nothing(self):
        race = drawn(missed_duty_laps=0)
        with pytest.raises(NoTariff):
            miss_duty(heat=heats_of(race)[0], seat_number=next(iter(duties(race)[1].values())), by=None)


class TestTheRosterPage:
    def test_it_says_who_relieves_whom_and_when_a_marshal_races_next(self):
        race = drawn()
        page = roster_page(race)
        lanes = {card.number: {each.seat_number for each in card.lanes} for card in heat_cards(race)}
        for row, following in zip(page.rows, page.rows[1:], strict=False):
            for stood, stands in zip(row.standing, following.standing, strict=True):
                assert stands.relieves == ("" if stood.name == stands.name else stood.name)
        for row in page.rows:
            for each in row.standing:
                later = [number for number, seats in lanes.items() if number > row.card.number]
                assert each.races_next == next((n for n in later if each.seat_number in lanes[n]), None)

    def test_duties_by_driver_are_those_of_the_heats(self):
        race = drawn(drivers=7)
        page = roster_page(race)
        assert sum(len(each.at) for each in page.people) == len(standing(race))
        assert (page.fewest, page.most, page.is_even, page.empty) == (2, 2, True, 0)

    def test_its_queries_do_not_grow_with_the_field(self, django_assert_max_num_queries):
        for drivers in (4, 24):
            race = drawn(drivers=drivers)
            with django_assert_max_num_queries(22):
                roster_page(race)


KINDS = ("exempt", "end", "helper", "release", "run")


@pytest.mark.parametrize("seed", range(30))
def test_nobody_marshals_and_drives_whatever_is_done_to_the_roster(seed):
    lot = random.Random(seed)
    race = drawn(drivers=lot.randint(3, 7))
    entries, posts = list(race.entries.all()), list(race.event.track_layout.posts.all())
    done = 0
    for _ in range(lot.randint(1, 5)):
        what, entry, post = lot.choice(KINDS), lot.choice(entries), lot.choice(posts)
        kept = {heat: row for heat, row in duties(race).items() if heat <= done}
        helper = race.helpers.filter(post=post, last_heat=None).first()
        if what == "exempt":
            exempt(entry=entry, reason="a reason", by=None)
        elif what == "end":
            end_exemption(entry=entry, by=None)
        elif what == "helper" and helper is None:
            name_helper(race=race, post=post, name=f"Helper {post.number}", by=None)
        elif what == "release" and helper is not None:
            release_helper(helper=helper, by=None)
        elif what == "run":
            done = min(done + 1, len(heats_of(race)))
            run(race, only=done)
        assert not standing(race) & driving(race)
        assert {heat: row for heat, row in duties(race).items() if heat in kept} == kept
        excused = {seat_of(each) for each in race.entries.exclude(no_duty_reason="")}
        assert not {seat for heat, seat in standing(race) if heat > done} & excused
        for card in heat_cards(race):
            assert len({each.post.pk for each in card.marshals}) == len(card.marshals)

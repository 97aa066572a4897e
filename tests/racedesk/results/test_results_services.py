"""Publishing and correcting a result: immutable revisions, nothing published with a heat unrun."""

import pytest
from django.db import IntegrityError
from django.utils import timezone

from inspection.models import Driver, LogEntry, Role
from racedesk.heats.selectors import heats_of
from racedesk.models import Entry, Penalty, ResultSheet
from racedesk.racecontrol.services import enter_heat_laps, enter_laps
from racedesk.results import errors
from racedesk.results.selectors import changes_between, outcome_of, shown_rows
from racedesk.results.services import add_penalty, correct_results, publish_results, withdraw_penalty
from tests import factories, race_factories

pytestmark = pytest.mark.django_db

AT_MS = 1_795_804_200_000


def run(race, *, laps=lambda seat: f"{20 - seat}.00", only=None):
    """Type laps for every heat: a driver's laps a lane follow from the number of the seat."""
    for heat in heats_of(race)[:only]:
        lanes = heat.lanes.select_related("lane", "seat")
        typed = {each.lane.number: laps(each.seat.number) for each in lanes}
        enter_heat_laps(heat=heat, typed=typed, confirmed=True, at_ms=AT_MS, by=None)


@pytest.fixture
def race():
    made = race_factories.drawn_race(drivers=4, lanes=3)
    run(made)
    return made


def test_the_result_adds_every_lane_and_orders_by_laps(race):
    sheet = publish_results(race=race, by=None)

    rows = list(sheet.rows.all())
    assert [row.place for row in rows] == [1, 2, 3, 4]
    assert [row.sections / row.divisor for row in rows] == [57, 54, 51, 48]
    assert rows[0].lanes == {"1": 380, "2": 380, "3": 380}
    assert sheet.number == 1
    assert sheet.tech_note == "No tech tonight"


def test_what_is_previewed_is_what_is_published(race):
    before = [(row.place, row.driver_name, row.sections) for row in outcome_of(race).rows]

    sheet = publish_results(race=race, by=None)

    assert [(row.place, row.driver_name, row.sections) for row in sheet.rows.all()] == before


def test_a_result_with_a_heat_unrun_is_refused_and_names_the_heat():
    race = race_factories.drawn_race(drivers=4, lanes=3)
    run(race, only=3)

    with pytest.raises(errors.HeatsUnrun) as refusal:
        publish_results(race=race, by=None)

    assert "4" in str(refusal.value)
    assert not ResultSheet.objects.exists()


def test_a_race_without_heats_has_nothing_to_publish():
    with pytest.raises(errors.NotDrawn):
        publish_results(race=race_factories.race(), by=None)


def test_a_result_is_published_once(race):
    publish_results(race=race, by=None)

    with pytest.raises(errors.AlreadyPublished):
        publish_results(race=race, by=None)


def test_a_tie_is_broken_by_the_better_lane_and_says_so():
    race = race_factories.drawn_race(drivers=2, lanes=2, tie_rule="best_lane")
    heats = heats_of(race)
    laps = {1: ["18.00", "19.00"], 2: ["18.50", "18.50"]}
    for n, heat in enumerate(heats):
        typed = {each.lane.number: laps[each.seat.number][n] for each in heat.lanes.select_related("lane", "seat")}
        enter_heat_laps(heat=heat, typed=typed, confirmed=True, at_ms=AT_MS, by=None)

    sheet = publish_results(race=race, by=None)
    rows = list(sheet.rows.all())

    assert f"{rows[0].driver_name} and {rows[1].driver_name}: tied on 37.00" in sheet.notes[0]
    assert [row.entry.seats.get().number for row in rows] == [1, 2]
    assert not rows[0].is_shared
    assert rows[0].decided_by


def test_equal_laps_share_the_place_when_the_race_says_so():
    race = race_factories.drawn_race(drivers=3, lanes=2, tie_rule="shared")
    run(race, laps=lambda seat: "18.00" if seat < 3 else "19.00")

    rows = list(publish_results(race=race, by=None).rows.all())

    assert [(row.place, row.is_shared) for row in rows] == [(1, False), (2, True), (2, True)]


def test_a_correction_is_a_new_revision_that_says_what_changed(race):
    first = publish_results(race=race, by=None)
    heat = heats_of(race)[0]
    lane = heat.lanes.select_related("lane").first()
    enter_laps(heat=heat, lane=lane.lane, text="25.00", confirmed=True, reason="missed by the counter", by=None)

    second = correct_results(race=race, change_note="Heat 1: laps were missed", by=None)

    first.refresh_from_db()
    assert first.superseded_at is not None
    assert first.rows.count() == second.rows.count()
    assert (second.number, second.change_note) == (2, "Heat 1: laps were missed")
    assert any("missed by the counter" in note for note in second.notes)


def test_a_correction_that_changes_nothing_is_refused_and_leaves_the_first_in_force(race):
    first = publish_results(race=race, by=None)

    with pytest.raises(errors.NothingChanged):
        correct_results(race=race, change_note="because", by=None)

    assert ResultSheet.objects.current().get() == first


def test_a_correction_without_words_is_refused(race):
    publish_results(race=race, by=None)

    with pytest.raises(errors.ChangeNotSaid):
        correct_results(race=race, change_note="  ", by=None)


def test_there_is_no_correcting_before_publishing(race):
    with pytest.raises(errors.NotPublished):
        correct_results(race=race, change_note="early", by=None)


def test_the_database_too_refuses_a_corrected_result_without_words(race):
    sheet = publish_results(race=race, by=None)
    ResultSheet.objects.filter(pk=sheet.pk).update(superseded_at=sheet.published_at)

    with pytest.raises(IntegrityError):
        ResultSheet.objects.create(race=race, number=2, tie_rule="shared")


def test_a_penalty_is_its_own_line_and_moves_the_place(race):
    winner = outcome_of(race).rows[0].entry
    add_penalty(race=race, entry=winner, kind=Penalty.Kind.LAPS, laps=10, reason="missed marshal duty", by=None)

    rows = outcome_of(race).rows

    assert rows[-1].entry == winner
    assert (rows[-1].sections, rows[-1].penalty_laps) == (57 * 20, 10)


def test_the_same_penalty_sent_twice_is_given_once_and_taken_back_once(race):
    winner = race.entries.first()
    penalty = add_penalty(race=race, entry=winner, kind=Penalty.Kind.LAPS, laps=2, reason="missed duty", by=None)
    with pytest.raises(errors.ResultRefused) as refusal:
        add_penalty(race=race, entry=winner, kind=Penalty.Kind.LAPS, laps=2, reason="missed duty ", by=None)
    assert refusal.value.code == "penalty_given_already"

    withdraw_penalty(penalty=penalty, reason="he was there", by=None)
    with pytest.raises(errors.ResultRefused) as refusal:
        withdraw_penalty(penalty=penalty, reason="really", by=None)
    assert refusal.value.code == "penalty_taken_back"
    assert Penalty.objects.get().withdrawn_reason == "he was there"
    add_penalty(race=race, entry=winner, kind=Penalty.Kind.LAPS, laps=2, reason="missed duty", by=None)


def test_the_note_on_a_penalty_gives_a_public_name_even_of_who_is_not_in_the_draw(race):
    absent = race_factories.entry(race, state="no_show")
    Driver.objects.filter(entries__entry=absent).update(name="Real Name", public_name="Comet")
    add_penalty(race=race, entry=absent, kind=Penalty.Kind.EXCLUSION, reason="left without a word", by=None)

    notes = " ".join(publish_results(race=race, by=None).notes)

    assert "Comet: " in notes
    assert "Real Name" not in notes


def test_a_driver_who_takes_a_public_name_is_named_by_it_in_a_correction(race):
    first = publish_results(race=race, by=None)
    driver = race.entries.first().drivers.get().driver
    before, driver.public_name = driver.name, "Comet"
    driver.save()

    sheet = correct_results(race=race, change_note="shown by a public name", by=None)

    names = set(sheet.rows.values_list("driver_name", flat=True))
    assert "Comet" in names
    assert before not in names
    change = changes_between(list(first.rows.all()), list(sheet.rows.all()))[0]
    assert (before in change.before, "Comet" in change.after) == (True, True)


def test_a_penalty_taken_back_counts_no_more_and_stays_on_record(race):
    winner = outcome_of(race).rows[0].entry
    penalty = add_penalty(race=race, entry=winner, kind=Penalty.Kind.LAPS, laps=10, reason="missed duty", by=None)

    withdraw_penalty(penalty=penalty, reason="he was there", by=None)

    assert outcome_of(race).rows[0].entry == winner
    assert Penalty.objects.get().withdrawn_reason == "he was there"


@pytest.mark.parametrize(
    ("kind", "laps", "reason", "code"),
    [("laps", 0, "why", "penalty_needs_laps"), ("laps", 2, " ", "penalty_needs_reason")],
)
def test_a_penalty_needs_laps_and_a_reason(race, kind, laps, reason, code):
    entry = outcome_of(race).rows[0].entry

    with pytest.raises(errors.ResultRefused) as refusal:
        add_penalty(race=race, entry=entry, kind=kind, laps=laps, reason=reason, by=None)

    assert refusal.value.code == code


def test_a_car_that_raced_by_the_directors_decision_stands_on_the_result_with_the_reason(race):
    entry = outcome_of(race).rows[0].entry
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    values = {"override_reason": "nobody objects", "override_by": who, "override_at": timezone.now()}
    Entry.objects.filter(pk=entry.pk).update(**values)

    assert any("director's decision (nobody objects)" in note for note in outcome_of(race).notes)


def test_an_excluded_entry_has_no_place_and_stands_last(race):
    winner = outcome_of(race).rows[0].entry
    add_penalty(race=race, entry=winner, kind=Penalty.Kind.EXCLUSION, reason="motor not as allowed", by=None)

    rows = outcome_of(race).rows

    assert (rows[-1].entry, rows[-1].place, rows[-1].status) == (winner, None, "excluded")
    assert [row.place for row in rows[:-1]] == [1, 2, 3]


def test_who_withdrew_keeps_the_laps_made(race):
    entry = outcome_of(race).rows[1].entry
    Entry.objects.filter(pk=entry.pk).update(state=Entry.State.WITHDRAWN)

    row = outcome_of(race).rows[1]

    assert (row.entry, row.status, row.sections) == (entry, "withdrawn", 54 * 20)


def test_publishing_and_correcting_are_in_the_log(race):
    director = factories.member(race.event.club, Role.RACE_DIRECTOR)
    publish_results(race=race, by=director)
    winner = outcome_of(race).rows[0].entry
    add_penalty(race=race, entry=winner, kind=Penalty.Kind.LAPS, laps=10, reason="missed duty", by=director)
    correct_results(race=race, change_note="penalty added", by=director)

    actions = list(LogEntry.objects.filter(by=director).order_by("id").values_list("action", flat=True))

    assert actions == ["published result", "gave penalty", "corrected result"]


def test_the_best_of_each_lane_is_marked_and_gaps_are_to_the_first(race):
    shown = shown_rows(outcome_of(race).rows, [1, 2, 3])

    assert [figure.is_best for figure in shown[0].lanes] == [True, True, True]
    assert [row.behind for row in shown] == [0, 60, 120, 180]
    assert (shown[0].dot, shown[-1].dot) == (190, 10)


def test_the_outcome_takes_no_more_queries_with_more_drivers(django_assert_max_num_queries):
    few, many = race_factories.drawn_race(drivers=3, lanes=3), race_factories.drawn_race(drivers=16, lanes=3)

    for race in (few, many):
        with django_assert_max_num_queries(24):
            outcome_of(race)

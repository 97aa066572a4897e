"""Many entries at once: all or none, and never two spellings merged silently."""

import datetime as dt
import time
from decimal import Decimal

import pytest

from inspection.models import Car, Driver, DriverSpelling, LogEntry, name_key
from racedesk.checkin.services import withdraw
from racedesk.entries.errors import AlreadyEntered, EntriesClosed
from racedesk.entries.selectors import ready_entries
from racedesk.entrylists.errors import (
    AlreadyImported,
    ChoiceMissing,
    NameTwice,
    NameUnreadable,
    NothingTicked,
    RowsRefused,
    TooFewNames,
)
from racedesk.entrylists.selectors import NEW, OUT, TypedRow, last_time, plan_import
from racedesk.entrylists.services import enter_import, keep_import, repeat_entries, start_quick_race
from racedesk.models import Entry, Event, Payment
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 27, 17, 30, tzinfo=dt.UTC)
NAMES = ["Ada Brandt", "Tom Okafor", "Ferdinand Ochoa", "Ottoline Marsh", "Pia Lindqvist", "Sylvie Arnaud",
         "Lill Quarrie", "Jun Hara", "Rex Calloway", "Gus Petrakis", "Noor Haddad", "Mo Fairweather"]  # fmt: skip


# ---- typed names ----------------------------------------------------------------------------------------------------


def quick(club, names, layout=None):
    layout = layout or factories.track_layout(club)
    return start_quick_race(club=club, names=names, track=layout.track, heat_length_s=120, by=None, now=NOW)


def test_twelve_names_are_a_race_tonight_ready_to_draw():
    club = factories.club(time_zone="Europe/Vienna")

    race = quick(club, NAMES)

    assert [str(entry) for entry in ready_entries(race)] == NAMES
    assert (race.needs_tech, race.rule_revision, race.heat_length_s) == (False, None, 120)
    assert race.event.date == dt.date(2026, 11, 27)


def test_a_known_name_is_the_known_driver_however_it_is_spelled():
    club = factories.club()
    known = factories.driver(club, "Zoë O'Brien")

    race = quick(club, ["zoe  OBRIEN", "Jun Hara"])

    assert race.entries.first().drivers.get().driver == known
    assert Driver.objects.of(club).count() == 2


def test_after_midnight_in_the_clubs_zone_the_night_has_the_clubs_date():
    club = factories.club(time_zone="Pacific/Auckland")

    assert quick(club, NAMES).event.date == dt.date(2026, 11, 28)


@pytest.mark.parametrize(
    ("names", "refusal"),
    [
        ([], TooFewNames),
        (["", "  "], TooFewNames),
        (["Ada Brandt"], TooFewNames),
        (["Ada Brandt", "Jun Hara", "ADA  BRANDT"], NameTwice),
        (["Ada Brandt", "---"], NameUnreadable),
        (["Ada Brandt", "x" * 121], NameUnreadable),
    ],
)
def test_names_that_cannot_be_a_race_are_refused_and_nothing_is_left_behind(names, refusal):
    club = factories.club()

    with pytest.raises(refusal):
        quick(club, names)

    assert not Event.objects.of(club).exists()
    assert not Driver.objects.of(club).exists()


def test_two_spellings_of_one_driver_are_one_driver_twice():
    club = factories.club()
    ada = factories.driver(club, "Ada Brandt")
    DriverSpelling.objects.create(club=club, driver=ada, key="a brandt")

    with pytest.raises(NameTwice):
        quick(club, ["Ada Brandt", "A. Brandt", "Jun Hara"])


# ---- last time ------------------------------------------------------------------------------------------------------


def two_nights():
    club = factories.club()
    racing_class = factories.racing_class(club)
    before = race_factories.race(race_factories.event(club, date=dt.date(2026, 10, 30)), racing_class=racing_class)
    return before, race_factories.race(race_factories.event(club), racing_class=racing_class)


def test_who_raced_last_time_is_offered_with_the_car_of_last_time():
    before, race = two_nights()
    entries = race_factories.entries(before, 3)
    withdraw(entry=entries[2], reason="ill", by=None)
    race_factories.entry(race_factories.race(before.event, racing_class=factories.racing_class(before.event.club)))

    rows = last_time(race)

    assert {(row.driver, row.car) for row in rows} == {
        (entry.drivers.get().driver, entry.cars.get().car) for entry in entries[:2]
    }


def test_the_ticked_are_entered_in_one_step_or_not_at_all():
    before, race = two_nights()
    race_factories.entries(before, 3)
    chosen = [(row.driver, row.car) for row in last_time(race)]

    with pytest.raises(AlreadyEntered):
        repeat_entries(race=race, drivers=[*chosen, chosen[0]], by=None, now=NOW)
    assert not race.entries.exists()
    with pytest.raises(NothingTicked):
        repeat_entries(race=race, drivers=[], by=None, now=NOW)

    assert len(repeat_entries(race=race, drivers=chosen, by=None, now=NOW)) == 3
    assert all(row.entered for row in last_time(race))


def test_last_time_runs_no_more_queries_with_more_drivers(django_assert_max_num_queries):
    before, race = two_nights()
    race_factories.entries(before, 20)

    with django_assert_max_num_queries(8):
        assert len(last_time(race)) == 20


# ---- files ----------------------------------------------------------------------------------------------------------


def rows(*names, **typed):
    return [TypedRow(row=place, name=name, typed=dict(typed)) for place, name in enumerate(names, start=2)]


def kept(race, typed_rows):
    return keep_import(race=race, file_name="entries.csv", rows=typed_rows, by=None)


def enter(race, typed_rows, choices=None, **more):
    made = kept(race, typed_rows)
    return enter_import(entry_import=made, choices=choices or {}, by=None, now=NOW, **more)


def only(lines):
    (line,) = lines
    return line


def test_reading_a_file_enters_nobody():
    race = race_factories.race()

    kept(race, rows("Ada Brandt"))

    assert not race.entries.exists()
    assert not Driver.objects.of(race.event.club).exists()


def test_a_file_makes_drivers_cars_fees_and_payments():
    race = race_factories.race(fee=Decimal(8), junior_fee=Decimal(3))
    typed = [
        TypedRow(2, "Ada Brandt", {"number": "27", "car": "Zeta", "paid": "x"}),
        TypedRow(3, "Jun Hara", {"junior": "ja", "car": "Eta", "paid": "2,50", "contact": "jun@example.org"}),
        TypedRow(4, "Mo Fairweather", {"fee": "5,00", "paid": "no"}),
    ]

    entries = enter(race, typed)

    assert [str(entry) for entry in entries] == ["Ada Brandt", "Jun Hara", "Mo Fairweather"]
    assert [entry.fee_due for entry in entries] == [8, 3, 5]
    assert [(line.driver.name, line.amount) for line in Payment.objects.all()] == [
        ("Ada Brandt", 8),
        ("Jun Hara", Decimal("2.50")),
    ]
    assert [(car.number, car.name, car.owner.name) for car in Car.objects.of(race.event.club)] == [
        (1, "Eta", "Jun Hara"),
        (27, "Zeta", "Ada Brandt"),
    ]
    jun = Driver.objects.get(name="Jun Hara")
    assert (jun.is_junior, jun.contact) == (True, "jun@example.org")
    assert LogEntry.objects.get(action="entered drivers from file").detail["entries"] == 3


def test_a_known_driver_comes_with_the_car_of_last_time():
    before, race = two_nights()
    entry = race_factories.entry(before, factories.driver(before.event.club, "Ada Brandt"))

    (made,) = enter(race, rows("Ada Brandt"))

    assert made.cars.get().car == entry.cars.get().car


@pytest.mark.parametrize("spelled", ["Ada Brand", "Brandt Ada", "A. Brandt", "Ada Brnadt"])
def test_a_close_spelling_is_offered_and_never_merged_silently(spelled):
    race = race_factories.race()
    ada = factories.driver(race.event.club, "Ada Brandt")

    line = only(plan_import(race, rows(spelled)))
    assert (line.outcome, line.driver, line.near, line.is_same_key) == ("choose", None, (ada,), False)
    with pytest.raises(ChoiceMissing, match="2"):
        enter(race, rows(spelled))
    assert not race.entries.exists()


def test_the_same_name_but_for_accents_is_offered_too():
    race = race_factories.race()
    zoe = factories.driver(race.event.club, "Zoë O'Brien")

    line = only(plan_import(race, rows("ZOE OBRIEN")))

    assert (line.outcome, line.near, line.is_same_key) == ("choose", (zoe,), True)


def test_an_accepted_spelling_is_remembered_and_not_asked_about_again():
    race = race_factories.race()
    ada = factories.driver(race.event.club, "Ada Brandt")

    (entry,) = enter(race, rows("Ada Brand"), {2: ada.public_id})

    assert entry.drivers.get().driver == ada
    assert DriverSpelling.objects.get(key=name_key("Ada Brand")).driver == ada
    next_race = race_factories.race(race.event)
    line = only(plan_import(next_race, rows("Ada Brand")))
    assert (line.outcome, line.driver, line.notes) == ("enter", ada, ["a spelling of Ada Brandt"])


def test_a_new_person_with_a_like_name_is_a_new_driver():
    race = race_factories.race()
    factories.driver(race.event.club, "Ada Brandt")

    (entry,) = enter(race, rows("Ada Brand"), {2: NEW})

    assert entry.drivers.get().driver.name == "Ada Brand"
    assert Driver.objects.of(race.event.club).count() == 2


def test_a_row_can_be_left_out():
    race = race_factories.race()
    factories.driver(race.event.club, "Ada Brandt")

    entries = enter(race, rows("Ada Brand", "Jun Hara"), {2: OUT})

    assert [str(entry) for entry in entries] == ["Jun Hara"]


def test_two_rows_that_mean_one_driver_are_refused_with_their_numbers():
    race = race_factories.race()
    ada = factories.driver(race.event.club, "Ada Brandt")

    with pytest.raises(RowsRefused, match="3: the same driver as in row 2"):
        enter(race, rows("Ada Brandt", "Ada Brand"), {3: ada.public_id})


@pytest.mark.parametrize(
    ("typed", "error"),
    [
        ({"number": "12a"}, "is not a number"),
        ({"number": "0"}, "is not a number"),
        ({"number": "-3"}, "is not a number"),
        ({"number": "999999999999"}, "is not a number"),
        ({"number": "41"}, "is Theta, owned by Rex Calloway"),
        ({"fee": "lots"}, "is not an amount"),
        ({"fee": "-5"}, "is not an amount"),
        ({"paid": "maybe"}, "is not an amount"),
        ({"junior": "maybe"}, "is neither yes nor no"),
        ({"car": "x" * 81}, "longer than 80"),
    ],
)
def test_a_wrong_cell_is_an_error_of_its_row_and_nothing_is_entered(typed, error):
    race = race_factories.race()
    factories.car(race.event.club, factories.driver(race.event.club, "Rex Calloway"), number=41, name="Theta")
    file = [TypedRow(2, "Jun Hara", {}), TypedRow(3, "Ada Brandt", typed)]

    assert [line.outcome for line in plan_import(race, file)] == ["enter", "error"]
    with pytest.raises(RowsRefused, match=rf"3: .*{error}"):
        enter(race, file)
    assert not race.entries.exists()


def test_missing_double_and_entered_names_are_errors_of_their_rows():
    race = race_factories.race()
    race_factories.entry(race, factories.driver(race.event.club, "Gus Petrakis"))

    lines = plan_import(race, rows("Ada Brandt", "", "ada BRANDT", "Gus Petrakis", "?!"))

    assert [line.errors for line in lines] == [
        [],
        ["no name"],
        ["the same name as in row 2"],
        ["already entered (checked in)"],
        ["no name"],
    ]


def test_a_car_number_twice_in_the_file_is_an_error():
    race = race_factories.race()

    lines = plan_import(race, rows("Ada Brandt", "Jun Hara", number="27"))

    assert lines[1].errors == ["the same car number as in row 2"]


def test_rows_of_another_class_are_left_out_and_said_to_be():
    race = race_factories.race(name="Saloon")

    lines = plan_import(
        race, [TypedRow(2, "Ada Brandt", {"class": "saloon"}), TypedRow(3, "Jun Hara", {"class": "GT"})]
    )

    assert [(line.outcome, line.notes) for line in lines] == [("enter", []), ("skip", ["another class: GT"])]


def test_beyond_the_cap_rows_wait_and_the_preview_says_so():
    race = race_factories.race(cap=2)

    assert [line.waits for line in plan_import(race, rows(*NAMES[:4]))] == [False, False, True, True]
    assert [entry.state for entry in enter(race, rows(*NAMES[:4]))] == ["entered", "entered", "waiting", "waiting"]


def test_a_file_after_closing_needs_the_directors_reason():
    race = race_factories.race(entries_close_at=NOW)

    with pytest.raises(EntriesClosed):
        enter(race, rows(*NAMES))
    assert not Driver.objects.of(race.event.club).exists()
    assert len(enter(race, rows(*NAMES), late_reason="list was in the other bag")) == 12


def test_a_file_is_entered_once():
    race = race_factories.race()
    made = kept(race, rows("Ada Brandt"))
    enter_import(entry_import=made, choices={}, by=None, now=NOW)

    with pytest.raises(AlreadyImported):
        enter_import(entry_import=made, choices={}, by=None, now=NOW)
    assert race.entries.count() == 1


def test_a_formula_and_a_script_in_a_name_are_kept_as_text():
    race = race_factories.race()
    odd = ['=HYPERLINK("http://example.org","win")', "<script>alert(1)</script>"]

    entries = enter(race, rows(*odd))

    assert [str(entry) for entry in entries] == odd


# ---- ten thousand rows ----------------------------------------------------------------------------------------------


def big_file(count=10_000):
    def word(n):
        letters = ""
        for _ in range(4):
            n, place = divmod(n, 26)
            letters += chr(97 + place)
        return letters

    return [TypedRow(n + 2, f"{word(n * 7919)} {word(n * 104_729)} {n}", {"number": str(n + 1)}) for n in range(count)]


def test_ten_thousand_rows_are_entered_whole(django_assert_max_num_queries):
    race = race_factories.race(fee=Decimal(1))
    made = kept(race, big_file())
    began = time.process_time()

    with django_assert_max_num_queries(600):  # the database takes about a hundred rows at a time
        entries = enter_import(entry_import=made, choices={}, by=None, now=NOW)

    assert len(entries) == Entry.objects.filter(race=race).count() == 10_000
    assert Car.objects.of(race.event.club).count() == 10_000
    assert time.process_time() - began < 40  # seconds of one processor; a laptop takes about 6


def test_ten_thousand_rows_with_one_wrong_are_refused_whole_with_its_number():
    race = race_factories.race()
    file = big_file()
    file[6000].typed["number"] = "twelve"

    with pytest.raises(RowsRefused, match="6002: car number"):
        enter(race, file)

    assert not race.entries.exists()
    assert not Driver.objects.of(race.event.club).exists()

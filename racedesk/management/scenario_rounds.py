"""The four rounds of the season that are over; the last of them, a month ago, in every detail."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from inspection.models import Finding, Inspection
from racedesk.aftertech.services import call_to_tech
from racedesk.checkin.services import mark_no_show, withdraw
from racedesk.heats.selectors import heats_of
from racedesk.management.scenario_club import WEEKS_BETWEEN_ROUNDS, World, invented
from racedesk.management.scenario_nights import (
    HeatStory,
    arrive,
    cars_of,
    draw,
    enter,
    entry_of,
    evening,
    plan_night,
    plan_race,
    racing_cars,
    run_heats,
)
from racedesk.management.scenario_tech import inspect
from racedesk.models import Event, Payment, Penalty, Race
from racedesk.racecontrol.services import enter_laps
from racedesk.results.services import add_penalty, correct_results, publish_results
from racedesk.seasons.services import add_round, create_season
from racedesk.takings.services import record_payment

BRIDGE_CALL = (97, 41, "car under the bridge", "Marshal on the step")
HAIRPIN_CALL = (12, 28, "three cars off in the hairpin", "Race director")
CALL_SEED = 4412
BRAID_CALL = (141, 75, "braid lifted on lane 4", "Gus Petrakis")


# A race in the club's own cars: its cars need no tech, and its laps are counted whole.
LOAN_RACE = {
    "needs_tech": False,
    "rule_sheet": None,
    "fee": Decimal("3.00"),
    "junior_fee": Decimal("1.50"),
    "heat_length_s": 120,
    "lap_method": Race.LapMethod.WHOLE_LAPS,
}
LOAN_DRIVERS = (
    "Kit Marsh", "Noor Haddad", "Jun Hara", "Ferdinand Ochoa", "Mo Fairweather", "Lill Quarrie", "Ines Caldera",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """A round as it went."""

    number: int
    absent: tuple[str, ...] = ()
    did_not_come: tuple[str, ...] = ()
    calls: tuple[tuple[int, tuple[int, int, str, str]], ...] = ()
    out_from: tuple[tuple[str, int, str], ...] = ()


ROUNDS = (
    Round(
        number=1,
        absent=("Maximiliane Hohenwarter-Szabó", "Kit Marsh", "Noor Haddad"),
        calls=((3, HAIRPIN_CALL), (9, BRIDGE_CALL)),
    ),
    Round(
        number=2,
        absent=("Kit Marsh", "Jun Hara"),
        did_not_come=("Tom Okafor",),
        calls=((6, BRAID_CALL),),
    ),
    Round(
        number=3,
        absent=("Sylvie Arnaud", "Kit Marsh"),
        calls=((2, BRIDGE_CALL), (5, HAIRPIN_CALL), (12, BRIDGE_CALL)),
        out_from=(("Tom Okafor", 8, "motor gone"),),
    ),
    Round(
        number=4,
        absent=("Maximiliane Hohenwarter-Szabó",),
        calls=((4, BRIDGE_CALL), (10, HAIRPIN_CALL)),
    ),
)


def plan_season(world: World) -> None:
    """The season, planned before its first round."""
    about = invented("club")["season"]
    world.go_to(world.days_ago(7 * 4 * WEEKS_BETWEEN_ROUNDS + 9), "21:40")
    world.season = create_season(
        club=world.club,
        name=f"{about['name']} {world.tonight.year}",
        points=[Decimal(points) for points in about["points"]],
        rounds_that_count=about["rounds_that_count"],
        rounds_planned=about["rounds_planned"],
        by=world.users["director"],
    )


def day_of(world: World, number: int) -> dt.date:
    """The evening of a round; the fifth is tonight."""
    return world.days_ago(7 * WEEKS_BETWEEN_ROUNDS * (5 - number))


def run_round(world: World, told: Round) -> None:
    """A round of the season from its planning to its published result."""
    day = day_of(world, told.number)
    times = evening(world, day)
    world.go_to(day - dt.timedelta(days=20), "20:30")
    event = plan_night(world, name=f"Club night {told.number}", day=day, times=times)
    race = plan_race(world, event, "gt", times)
    add_round(season=world.season, race=race, number=told.number, by=world.users["director"])
    names = [row["name"] for row in invented("drivers") if row["name"] not in told.absent]
    world.chance.shuffle(names)
    enter(world, race, names, cars_of(world, "gt"), first=world.at(day - dt.timedelta(days=6), "09:00"))
    world.clock.set(times.doors)
    for name in names:
        if name not in told.did_not_come:
            world.clock.forward(world.chance.randint(60, 200))
            arrive(world, race, world.drivers[name])
    world.clock.set(times.tech)
    for _entry, car in racing_cars(race):
        inspect(world, race.tech_occasion, car)
    world.clock.set(times.tech_closes)
    for name in told.did_not_come:
        mark_no_show(entry=entry_of(race, world.drivers[name]), by=world.users["desk"])
    world.clock.forward(240)
    draw(world, race)
    world.clock.set(times.racing)
    story = HeatStory(
        calls=dict(told.calls),
        out_from={name: (heat, why) for name, heat, why in told.out_from},
        missed=((7, 3),) if told.number == 4 else (),
    )
    run_heats(world, race, story)
    for name, _heat, why in told.out_from:
        withdraw(entry=entry_of(race, world.drivers[name]), reason=why.capitalize(), by=world.users["director"])
    if told.number == 4:
        _after_the_fourth(world, event, race)
        return
    world.clock.forward(420)
    publish_results(race=race, by=world.users["director"])
    if told.number == 3:
        _loan_race(world, event)


# ---- last month's night ---------------------------------------------------------------------------------------------


def _after_the_fourth(world: World, event: Event, race: Race) -> None:
    """Tech after the race and its penalty, a second race in inches, the result, and its correction next morning."""
    world.clock.forward(200)
    _tech_after(world, race)
    world.clock.forward(500)
    publish_results(race=race, by=world.users["director"])
    _steel_race(world, event)
    paid = entry_of(race, world.drivers["Bram de Wit"])
    record_payment(
        entry=paid,
        kind=Payment.Kind.CREDIT_GIVEN,
        amount=Decimal("8.00"),
        note="Entered both races, drove one and a half: the second fee stands for next time",
        by=world.users["desk"],
        now=world.clock.now,
    )
    world.go_to(event.date + dt.timedelta(days=1), "10:20")
    _give_back_a_missed_lap(world, race)


def _tech_after(world: World, race: Race) -> None:
    """The first three and one by lot are called and looked at again: the last no longer clears the track."""
    cars = {entry.pk: car for entry, car in racing_cars(race)}
    call = call_to_tech(race=race, first_places=3, drawn=1, seed=CALL_SEED, by=world.users["director"])
    *first, entry = [one.entry for one in call.entries.select_related("entry").order_by("position")]
    for placed in first:
        inspect(world, race.tech_occasion, cars[placed.pk], phase=Inspection.Phase.AFTER)
    car = cars[entry.pk]
    card = inspect(world, race.tech_occasion, car, phase=Inspection.Phase.AFTER, found={"ground-clearance": "0.94 mm"})
    failed = card.findings.get(outcome=Finding.Outcome.FAIL, superseded_at__isnull=True)
    add_penalty(
        race=race,
        entry=entry,
        kind=Penalty.Kind.LAPS,
        laps=2,
        reason="Clearance 0.94 mm after the race, at least 1.00",
        finding=failed,
        by=world.users["director"],
    )


def _steel_race(world: World, event: Event) -> None:
    """A second race, in inches: eight cars through tech, and eight heats of two minutes."""
    after = world.clock.now
    times = evening(world, event.date)
    world.go_to(event.date - dt.timedelta(days=19), "20:40")
    race = plan_race(world, event, "steel", times, heat_length_s=120, fee=Decimal("5.00"), junior_fee=None)
    cars = cars_of(world, "steel")
    enter(world, race, list(cars), cars, first=world.at(event.date - dt.timedelta(days=5), "18:00"))
    world.clock.set(times.doors + dt.timedelta(minutes=20))
    for name in cars:
        world.clock.forward(40)
        arrive(world, race, world.drivers[name])
    world.clock.set(times.tech_closes - dt.timedelta(minutes=15))
    for _entry, car in racing_cars(race):
        inspect(world, race.tech_occasion, car)
    story = HeatStory(pace=1.09, calls={5: (66, 33, "body pin in the braid", "Marshal at the bank")})
    _run_and_publish(world, race, story, after=after)


def _loan_race(world: World, event: Event) -> None:
    """A race in the club's own cars, without tech, by whole laps."""
    after = world.clock.now
    times = evening(world, event.date)
    world.go_to(event.date - dt.timedelta(days=19), "20:40")
    race = plan_race(world, event, "loan", times, **LOAN_RACE)
    enter(world, race, LOAN_DRIVERS, {}, first=world.at(event.date - dt.timedelta(days=2), "17:00"))
    world.clock.set(times.doors + dt.timedelta(minutes=30))
    for name in LOAN_DRIVERS:
        world.clock.forward(30)
        arrive(world, race, world.drivers[name])
    _run_and_publish(world, race, HeatStory(pace=0.86), after=after)


def _run_and_publish(world: World, race: Race, story: HeatStory, *, after: dt.datetime) -> None:
    """The race of the night that follows another one's end."""
    world.clock.set(after + dt.timedelta(minutes=4))
    draw(world, race)
    world.clock.forward(180)
    run_heats(world, race, story)
    world.clock.forward(240)
    publish_results(race=race, by=world.users["director"])


def _give_back_a_missed_lap(world: World, race: Race) -> None:
    """Heat 7, lane 3: the lap that the counter missed is put back, and the result corrected."""
    director = world.users["director"]
    heat = next(heat for heat in heats_of(race) if heat.number == 7)
    lane = heat.lanes.select_related("lane").get(lane__number=3).lane
    before = heat.events.get(kind="laps_entered", lane=lane).detail
    enter_laps(
        heat=heat,
        lane=lane,
        text=f"{before['laps'] + 1}.{before['sections'] * 5:02d}",
        reason="one lap missed by the counter",
        at_ms=world.clock.ms,
        by=director,
    )
    world.clock.forward(300)
    correct_results(
        race=race, change_note="Heat 7, lane 3 Blue: one lap that the counter missed, seen by two marshals", by=director
    )

"""Tonight: entered, most of the drivers here, tech half-way through the cars."""

import datetime as dt

from inspection.inspections.services import open_inspection
from racedesk.checkin.services import check_in, override_tech, withdraw
from racedesk.entries.services import move_up_waiting
from racedesk.management.scenario_club import World
from racedesk.management.scenario_nights import (
    Times,
    arrive,
    cars_of,
    draw,
    enter,
    entry_of,
    pay,
    plan_night,
    plan_race,
)
from racedesk.management.scenario_rounds import LOAN_DRIVERS, LOAN_RACE, day_of
from racedesk.management.scenario_tech import cure, inspect, photograph
from racedesk.models import Event, Payment, Race
from racedesk.seasons.services import add_round
from racedesk.takings.services import take_back_payment

CAP = 14
AT_THE_TABLE = dt.timedelta(minutes=29)  # what the cards below take without the pauses between them
PAUSES = 12
TIME_TO_CURE = dt.timedelta(minutes=15)  # from now
ENTERED = (
    "Bram de Wit", "Ada Brandt", "Lill Quarrie", "Gus Petrakis", "Ottoline Marsh", "Tom Okafor", "Noor Haddad",
    "Sylvie Arnaud", "Jun Hara", "Ines Caldera", "Pia Lindqvist", "Ferdinand Ochoa", "Mo Fairweather", "Zoë O'Hanlon",
    "Maximiliane Hohenwarter-Szabó", "Kit Marsh",
)  # fmt: skip
NEWCOMERS = ("Tom Okafor", *LOAN_DRIVERS)
# In the order in which they came through the door; Maximiliane is on her way.
ARRIVED = (
    "Ottoline Marsh", "Gus Petrakis", "Ada Brandt", "Zoë O'Hanlon", "Pia Lindqvist", "Noor Haddad", "Lill Quarrie",
    "Bram de Wit", "Sylvie Arnaud", "Jun Hara", "Mo Fairweather", "Ines Caldera", "Ferdinand Ochoa",
)  # fmt: skip


def times_around(world: World, now: dt.datetime) -> Times:
    """Half-way through tech is now, whenever the demo is loaded: the night's times lie around it in quarter hours."""
    quarter = now.replace(minute=now.minute // 15 * 15, second=0, microsecond=0).astimezone(world.zone)
    return Times(
        doors=quarter - dt.timedelta(minutes=75),
        tech=quarter - dt.timedelta(minutes=45),
        tech_closes=quarter + dt.timedelta(minutes=30),
        racing=quarter + dt.timedelta(minutes=45),
        hall_closes=quarter + dt.timedelta(minutes=225),
    )


def plan_tonight(world: World, now: dt.datetime) -> tuple[Event, Race, Race]:
    """The fifth night, with a round of the season and a race in the club's own cars without tech."""
    times = times_around(world, now)
    world.go_to(world.days_ago(20), "20:30")
    event = plan_night(
        world,
        name="Club night 5",
        day=day_of(world, 5),
        times=times,
        note="Side door. Soup at the bar until racing starts.",
    )
    race = plan_race(world, event, "gt", times, cap=CAP)
    add_round(season=world.season, race=race, number=5, by=world.users["director"])
    loan = plan_race(world, event, "loan", times, **LOAN_RACE)
    return event, race, loan


def take_entries(world: World, race: Race, loan: Race) -> None:
    """Sixteen want fourteen places; one gives his back, so that the first in the queue moves up."""
    enter(world, race, ENTERED, cars_of(world, "gt"), first=world.at(world.days_ago(6), "07:30"))
    enter(world, loan, NEWCOMERS, {}, first=world.at(world.days_ago(2), "12:00"))
    world.clock.set(race.event.doors_at - dt.timedelta(minutes=95))
    tom = entry_of(race, world.drivers["Tom Okafor"])
    withdraw(entry=tom, reason="Motor gone at home, no spare; drives a loan car", by=world.users["desk"])
    move_up_waiting(race=race, by=world.users["desk"])


def open_the_desk(world: World, race: Race, loan: Race) -> None:
    """Who is here, and how each has paid: most in cash, one from credit, one waived, two not yet."""
    world.clock.set(race.event.doors_at)
    how = {
        "Ottoline Marsh": (Payment.Kind.WAIVED, "Marshals every heat"),
        "Bram de Wit": (Payment.Kind.CREDIT_USED, ""),
    }
    for name in ARRIVED:
        world.clock.forward(world.chance.randint(50, 130))
        driver = world.drivers[name]
        if name in {"Ines Caldera", "Ferdinand Ochoa"}:
            check_in(entry=entry_of(race, driver), by=world.users["desk"])
            continue
        kind, note = how.get(name, (Payment.Kind.PAID, ""))
        arrive(world, race, driver, kind=kind, note=note)
    _pay_twice_by_mistake(world, race)
    for name in NEWCOMERS:
        world.clock.forward(20)
        arrive(world, loan, world.drivers[name])


def _pay_twice_by_mistake(world: World, race: Race) -> None:
    line = pay(world, race, world.drivers["Lill Quarrie"], note="")
    world.clock.forward(45)
    take_back_payment(payment=line, reason="Taken twice", by=world.users["desk"])


def inspect_half(world: World, race: Race, *, until: dt.datetime) -> None:
    """Seven cars clear, one of them after a cure; one fails, one races by the director's decision, one lies within
    the caliper's doubt, one waits for a judge, one is on the table, one stands in line, one is not here yet.

    until: when the last of it happens; the inspector takes his time accordingly.
    """
    occasion = race.tech_occasion
    cars = cars_of(world, "gt")
    start = race.event.tech_opens_at + dt.timedelta(minutes=2)
    pause = max(10.0, ((until - start) - AT_THE_TABLE).total_seconds() / PAUSES)
    world.clock.set(start)
    for name in ("Gus Petrakis", "Ada Brandt", "Pia Lindqvist"):
        inspect(world, occasion, cars[name], seal="0417" if name == "Ada Brandt" else "")
        world.clock.forward(pause)
    wide = inspect(world, occasion, cars["Zoë O'Hanlon"], found={"overall-width": "64.12"})
    world.clock.forward(pause)
    for name in ("Lill Quarrie", "Ottoline Marsh"):
        inspect(world, occasion, cars[name])
        world.clock.forward(pause)
    light = inspect(world, occasion, cars["Noor Haddad"], cure_in=until - world.clock.now + TIME_TO_CURE)
    photograph(world, light, "body-weight", "On the scale with everything that is fixed to it")
    world.clock.forward(pause)
    cure(world, wide, {"overall-width": "63.91"})
    world.clock.forward(pause)
    inspect(world, occasion, cars["Sylvie Arnaud"])
    world.clock.forward(pause)
    inspect(world, occasion, cars["Jun Hara"], found={"width-over-rear-tires": "63.48"}, sign=False)
    world.clock.forward(pause)
    inspect(world, occasion, cars["Mo Fairweather"], found={"rear-tire-diameter": "18.96"})
    world.clock.forward(pause)
    override_tech(
        entry=entry_of(race, world.drivers["Mo Fairweather"]),
        reason="Tires worn 0.04 mm below the limit, no other set in the hall; the field agreed. New tires for round 6.",
        by=world.users["director"],
        now=world.clock.now,
    )
    inspect(world, occasion, cars["Bram de Wit"], leaving=("driver-figure",), sign=False)
    world.clock.forward(pause)
    open_inspection(occasion=occasion, car=cars["Ferdinand Ochoa"], by=world.users["inspector"])
    inspect(world, occasion, cars["Ines Caldera"], stop_after=9)


def draw_loan_race(world: World, loan: Race) -> None:
    """The race without tech is drawn already: its heats hang on the wall."""
    world.clock.set(loan.event.tech_opens_at + dt.timedelta(minutes=25))
    draw(world, loan)

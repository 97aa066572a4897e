"""The demo's scenario: an invented club half-way through an invented night, made by the services alone.

What the club is stands in fixtures/demo; what happened stands in the scenario_* modules beside this one. Days are
counted from today, so that tonight is tonight; everything else follows from one seed.
"""

import datetime as dt
import random
from collections.abc import Callable
from functools import partial
from typing import Protocol

from django.db import transaction
from django.utils import timezone

from racedesk.management import (
    scenario_bench,
    scenario_bench_sheets,
    scenario_club,
    scenario_gauges,
    scenario_rounds,
    scenario_rules,
    scenario_runs,
    scenario_tonight,
    server,
)
from racedesk.management.scenario_clock import ScenarioClock
from racedesk.management.scenario_club import World

SEED = 20_618


class Progress(Protocol):
    """Told after each step how far the loading is."""

    def __call__(self, done: int, total: int, what: str) -> None: ...


def load_scenario(*, progress: Progress) -> None:
    """Make the whole scenario in an empty database, all or nothing. progress(done, total, what) after each step."""
    now = timezone.now()
    zone = server.local_zone()
    clock = ScenarioClock(now)
    world = World(
        clock=clock,
        zone=zone,
        tonight=now.astimezone(zone).date(),
        chance=random.Random(SEED),  # noqa: S311  an invented night, no secret
    )
    steps = _steps(world)
    with transaction.atomic(), clock:
        for done, (what, step) in enumerate(steps, start=1):
            step()
            progress(done, len(steps), what)


def _steps(world: World) -> list[tuple[str, Callable[[], object]]]:
    night = _Tonight(world)
    return [
        ("the club", partial(scenario_club.found_club, world)),
        ("the track", partial(scenario_club.lay_track, world)),
        ("gauges", partial(scenario_club.bring_gauges, world)),
        ("studies of gauges", partial(scenario_gauges.study_gauges, world)),
        ("rule sheets", partial(scenario_club.write_rules, world)),
        ("next year's class", partial(scenario_rules.prepare_next_year, world)),
        ("drivers", partial(scenario_club.enter_drivers, world)),
        ("cars and builds", partial(scenario_club.enter_cars, world)),
        ("parts in the drawers", partial(scenario_bench.fill_drawers, world)),
        ("at the bench", partial(scenario_bench_sheets.build_at_the_bench, world)),
        ("the season", partial(scenario_rounds.plan_season, world)),
        *(
            (f"round {told.number}, run and published", partial(scenario_rounds.run_round, world, told))
            for told in scenario_rounds.ROUNDS
        ),
        ("runs and prep sheets", partial(scenario_runs.write_bench, world)),
        ("single motors", partial(scenario_bench.measure_motors, world)),
        ("a job for somebody", partial(scenario_bench.take_a_job, world)),
        ("tonight's entries", night.enter),
        ("tonight's desk", night.open_desk),
        ("tonight's tech, half-way", night.inspect),
    ]


class _Tonight:
    """The steps of the night that goes on, which hand its races on from one to the next."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.now = world.clock.now

    def enter(self) -> None:
        self.event, self.race, self.loan = scenario_tonight.plan_tonight(self.world, self.now)
        scenario_tonight.take_entries(self.world, self.race, self.loan)

    def open_desk(self) -> None:
        scenario_tonight.open_the_desk(self.world, self.race, self.loan)

    def inspect(self) -> None:
        scenario_tonight.draw_loan_race(self.world, self.loan)
        scenario_gauges.check_gauges(self.world, at=self.event.tech_opens_at - dt.timedelta(minutes=6))
        scenario_tonight.inspect_half(self.world, self.race, until=self.now - dt.timedelta(seconds=90))

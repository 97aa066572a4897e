"""Invented clubs whose nights go as they go: how, the forecaster is not told, and it assumes otherwise.

Change-overs are skewed (gamma) and slow down with a night's own factor and with the hour; calls come in bursts of a
night's own rate (gamma) and are exponential in length; now and then something breaks. Python's own generator draws
them, not the engine's.
"""

import random
from dataclasses import dataclass

from racedesk.forecast.seen import SeenHeat, SeenNight, Settings


@dataclass(frozen=True)
class Club:
    settings: Settings
    changeover_s: float
    shape: float
    night_spread: float
    calls_a_minute: float
    calls_shape: float
    call_s: float
    stop_chance: float
    slower_by_hour: float


def invent_club(chance: random.Random) -> Club:
    planned = chance.choice([60, 90, 120, 180])
    return Club(
        settings=Settings(heat_length_s=chance.choice([120, 150, 180, 240, 300]), changeover_s=planned),
        changeover_s=planned * chance.uniform(0.8, 2.2),
        shape=chance.uniform(3, 15),
        night_spread=chance.uniform(0.05, 0.3),
        calls_a_minute=chance.uniform(0.02, 0.35),
        calls_shape=chance.uniform(2, 12),
        call_s=chance.uniform(12, 60),
        stop_chance=chance.uniform(0, 0.015),
        slower_by_hour=chance.uniform(0, 0.06),
    )


def run_night(club: Club, heats: int, chance: random.Random) -> list[SeenHeat]:
    pace = chance.lognormvariate(0, club.night_spread)
    rate = club.calls_a_minute * chance.gammavariate(club.calls_shape, 1 / club.calls_shape)
    length = club.settings.heat_length_s
    seen, clock = [], 0.0
    for number in range(heats):
        calls = []
        time = chance.expovariate(rate) * 60
        while time < length:
            calls.append(max(round(chance.expovariate(1 / club.call_s)), 2))
            time += chance.expovariate(rate) * 60
        slow = 1 + club.slower_by_hour * clock / 3600
        changeover = chance.gammavariate(club.shape, club.changeover_s * pace * slow / club.shape)
        if chance.random() < club.stop_chance:
            changeover += chance.uniform(300, 1500)
        last = number == heats - 1
        seen.append(SeenHeat(length, tuple(calls), None if last else max(round(changeover), 5)))
        clock += length + sum(calls) + changeover
    return seen


def seconds_of(heats: list[SeenHeat]) -> int:
    return sum(heat.length_s + sum(heat.calls_s) + (heat.changeover_s or 0) for heat in heats)


def past_nights(club: Club, nights: int, chance: random.Random) -> list[SeenNight]:
    return [SeenNight(tuple(run_night(club, chance.randint(8, 40), chance))) for _ in range(nights)]

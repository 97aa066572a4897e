"""Is the forecast honest? A thousand nights of a thousand invented clubs, each learned from 20 past nights.

    python tests/benchmarks/forecast.py

The clubs are those of tests/racedesk/forecast/clubs.py; the forecaster sees their past nights and nothing else. Of
the nights, 75 to 85 in 100 are to end within the stated range of 80 in 100, from the start and from half way on.
"""

import random
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from racedesk.forecast.outlook import Left, look_out
from racedesk.forecast.pace import learn
from tests.racedesk.forecast.clubs import invent_club, past_nights, run_night, seconds_of

NIGHTS = 1_000
PAST = 20
FIRST_SEED = 50_000
NOW = datetime(2026, 1, 9, 19, tzinfo=UTC)


def measure(nights: int = NIGHTS, past: int = PAST) -> dict[str, tuple[float, float, float]]:
    """By when the forecast is made: the share that ended in the range, before it, and the range over the time left."""
    found = {"at the start": [0, 0, 0.0], "half way": [0, 0, 0.0]}
    for number in range(nights):
        chance = random.Random(FIRST_SEED + number)
        club = invent_club(chance)
        seen = past_nights(club, past, chance)
        heats = run_night(club, chance.randint(8, 40), chance)
        for when, over in (("at the start", 0), ("half way", len(heats) // 2)):
            pace = learn(past=seen, tonight=heats[:over], settings=club.settings)
            left = Left(heats=len(heats) - over, heat_length_s=club.settings.heat_length_s, begun=over > 0)
            ahead = heats[over:]
            took = seconds_of(ahead) + (heats[over - 1].changeover_s or 0 if over else 0)
            outlook = look_out(pace, now=NOW, left=left, seed=number)
            early, late = ((end - NOW).total_seconds() for end in (outlook.early, outlook.late))
            found[when][0] += early <= took <= late
            found[when][1] += took < early
            found[when][2] += (late - early) / took
    return {
        when: (100 * held / nights, 100 * before / nights, wide / nights)
        for when, (held, before, wide) in found.items()
    }


if __name__ == "__main__":
    begun = time.perf_counter()
    honest = True
    for when, (held, before, wide) in measure().items():
        honest &= 75 <= held <= 85
        line = f"{when}: {held:.1f} % of {NIGHTS} nights in the range, {before:.1f} % before it; it is {wide:.0%} wide"
        sys.stdout.write(f"{line}\n")
    sys.stdout.write(f"{time.perf_counter() - begun:.0f} s; {'calibrated' if honest else 'NOT calibrated'}\n")
    sys.exit(not honest)

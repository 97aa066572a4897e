"""The tech line of the demo: what the inspector reads on each invented car, typed as inspectors type."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from inspection.clauses.selectors import checked_clauses, keeping_published_sheets
from inspection.inspections.services import (
    inspect_again,
    open_inspection,
    record_measurement,
    record_ruling,
    sign_card,
)
from inspection.models import Car, Characteristic, Clause, Inspection, TechOccasion
from inspection.photos.services import attach_photo
from racedesk.management.scenario_club import World, invented

SECONDS_A_CLAUSE = 6
JUDGED = (
    "Head, shoulders and gloves, painted",
    "Painted head behind tinted glass; seen with a lamp",
    "Head and arms, helmet in two colors",
)


@keeping_published_sheets()
def inspect(
    world: World,
    occasion: TechOccasion,
    car: Car,
    *,
    found: Mapping[str, str] | None = None,
    leaving: tuple[str, ...] = (),
    stop_after: int | None = None,
    sign: bool = True,
    phase: str = Inspection.Phase.BEFORE,
    seal: str = "",
    cure_in: dt.timedelta | None = None,
) -> Inspection:
    """Take a car through its card and sign it, clear or not clear as it was found.

    found: answers by characteristic that differ from what its file says. leaving: characteristics not looked at.
    stop_after: as many clauses and no more. seal: with it the car goes into impound. cure_in: how long a driver has
    whose car is not clear.
    """
    inspector = world.users["inspector"]
    card = open_inspection(occasion=occasion, car=car, phase=phase, by=inspector)
    answers = {**usual_answers(world, car), **(found or {})}
    clauses = checked_clauses(occasion.revision, phase)
    for clause in clauses[:stop_after]:
        code = clause.characteristic.code if clause.characteristic else ""
        if code in leaving:
            continue
        world.clock.forward(SECONDS_A_CLAUSE)
        _answer(world, card, clause, answers)
    if sign and stop_after is None and not leaving:
        world.clock.forward(6)
        cure_by = world.clock.now + cure_in if cure_in else None
        sign_card(inspection=card, seal_number=seal, cure_by=cure_by, by=inspector)
    return card


def photograph(world: World, card: Inspection, characteristic: str, note: str) -> None:
    """The inspector keeps a picture of what failed."""
    picture = settings.BASE_DIR / "fixtures" / "demo" / "at-the-table.png"
    clause = card.occasion.revision.clauses.get(characteristic__code=characteristic, applies_when={}, other=None)
    photo = SimpleUploadedFile(picture.name, picture.read_bytes())
    attach_photo(inspection=card, photo=photo, clause=clause, note=note, by=world.users["inspector"])


@keeping_published_sheets()
def cure(world: World, card: Inspection, found: Mapping[str, str]) -> None:
    """The car comes back: what failed is found anew, and the card is signed."""
    inspector = world.users["inspector"]
    card = inspect_again(inspection=card, by=inspector)
    for clause in checked_clauses(card.occasion.revision, card.phase):
        if clause.characteristic and clause.characteristic.code in found:
            world.clock.forward(SECONDS_A_CLAUSE)
            _answer(world, card, clause, found)
    sign_card(inspection=card, by=inspector)


def _answer(world: World, card: Inspection, clause: Clause, answers: Mapping[str, str]) -> None:
    """What is found for a clause; of what is worked out, each thing that it is worked out from."""
    by = world.users["inspector"]
    if clause.other_id or clause.applies_when:
        return  # decided by what is read for other clauses
    code = clause.characteristic.code if clause.characteristic else ""
    if clause.characteristic and (worked_out := clause.characteristic.derivation):
        for part in Characteristic.objects.of(world.club).filter(code__in=worked_out["of"]):
            record_measurement(inspection=card, clause=clause, characteristic=part, text=answers[part.code], by=by)
        return
    text = answers[code]
    if clause.comparator == Clause.Comparator.JUDGE:
        record_ruling(inspection=card, clause=clause, passes=True, reason=text, by=by)
        return
    for number in range(1, clause.readings_wanted + 1):
        record_measurement(inspection=card, clause=clause, number=number, text=text, by=by)


def usual_answers(world: World, car: Car) -> dict[str, str]:
    """What is read on this car when nothing is wrong with it, by characteristic."""
    about = invented("cars")
    for row in about["grand_touring"]:
        if row["number"] == car.number:
            return _grand_touring(world, row)
    return _steel_chassis(world, next(row for row in about["steel_chassis"] if row["number"] == car.number))


def _read(world: World, around: float, spread: float, places: int = 2) -> str:
    return f"{around + world.chance.uniform(-spread, spread):.{places}f}"


def _declared(row: Mapping[str, Any], name: str) -> float:
    return float(row[name].split()[0])


def _grand_touring(world: World, row: Mapping[str, Any]) -> dict[str, str]:
    return {
        "wheels-count": "4",
        "wheels-on-plate": "4",
        "ground-clearance": "go",
        "overall-width": _read(world, _declared(row, "width"), 0.04),
        "width-over-rear-tires": _read(world, _declared(row, "over_tires"), 0.04),
        "rear-tire-diameter": _read(world, _declared(row, "rear_tire") - 0.05, 0.04),
        "rear-tire-width": _read(world, 10.4, 0.5),
        "front-tire-diameter": _read(world, 17.8, 0.5),
        "front-tire-width": _read(world, 9.5, 0.3),
        "tire-material": "urethane" if row["layout"] == "inline" else "rubber",
        "tires-dry": "yes",
        "weight-ready-to-race": _read(world, _declared(row, "weight"), 0.3, 1),
        "body-weight": _read(world, _declared(row, "body_weight"), 0.0, 1),
        "magnets-count": "0",
        "motor-label-readable": "yes",
        "pinion-teeth": str(row["gears"][0]),
        "guide-blade-length": _read(world, 24.2, 1.4, 1),
        "guides-count": "1",
        "windows-clear": "yes",
        "race-numbers": "3" if row["number"] % 3 == 0 else "2",
        "driver-figure": JUDGED[row["number"] % len(JUDGED)],
        "ballast-fixed": "yes",
    }


def _steel_chassis(world: World, row: Mapping[str, Any]) -> dict[str, str]:
    return {
        "overall-width": f"{_read(world, 3.22, 0.015, 3)} in",
        "wheelbase": "4 in" if row["number"] % 2 else "4 1/2 in",
        "ground-clearance": "go",
        "rear-tire-diameter": row["rear_tire"],
        "rear-tire-width": f"{_read(world, 0.796, 0.01, 3)} in",
        "front-tire-diameter": f"{_read(world, 0.64, 0.008, 3)} in",
        "axle-diameter": f"{_read(world, 0.125, 0.0005, 4)} in",
        "bumper-height": "go",
        "overall-height": f"{_read(world, 1.42, 0.08)} in",
        "weight-ready-to-race": row["weight"],
        "motor-type": "Closed can, short" if row["number"] % 3 else "Open can, hand-out",
        "armature-resistance": f"{_read(world, 1.05, 0.08)} Ω",
        "pinion-teeth": "7",
        "driven-gear-teeth": "25" if row["number"] % 2 else "26",
        "guides-count": "1",
        "wheel-arches-cut-out": "yes",
        "windows-clear": "yes",
        "body-covers-wheels": "yes",
        "driver-figure": "yes",
        "chassis-type": "One brace across the motor plate, as often before",
    }

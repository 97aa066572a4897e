"""Draw a rotation on the command line, for scripts and for checking a draw by hand."""

import json
import re
import secrets
from collections.abc import Iterable
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from racedesk.rotation.balance import Balance, balance
from racedesk.rotation.designs import Status, find_design
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.plan import Plan, Preset

LARGEST_DRAWN_SEED = 1_000_000


class Command(BaseCommand):
    help = "Draw a rotation: every driver every lane exactly once, in the fewest heats. Drivers count from 1."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--drivers", type=int, required=True, help="how many drivers, 2 to 500")
        parser.add_argument("--lanes", type=int, required=True, help="how many lanes, 1 to 32")
        parser.add_argument(
            "--seed", type=int, help="who takes which place is drawn by this number; by default a new one is drawn"
        )
        parser.add_argument(
            "--preset",
            choices=[preset.value for preset in Preset],
            help="what comes first: the usual queue, even opponents (the default) or rest between runs",
        )
        parser.add_argument(
            "--lane-order", help="the order in which drivers work through the lanes in the usual queue: 1,3,5,6,4,2"
        )
        parser.add_argument("--in-order", action="store_true", help="no lot: driver 1 takes the first place, and so on")
        parser.add_argument("--steps", type=int, help="the budget of the search, in numbers tried")
        parser.add_argument("--json", action="store_true", dest="as_json", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        plan = _plan(options)
        report = balance(plan)
        if options["as_json"]:
            self.stdout.write(json.dumps(_as_json(plan, report)))
        else:
            self.stdout.write("\n".join(_as_text(plan, report)))


def _plan(options: dict[str, Any]) -> Plan:
    lane_order = _lane_order(options["lane_order"])
    preset = _preset(options["preset"], has_lane_order=lane_order is not None)
    seed = secrets.randbelow(LARGEST_DRAWN_SEED) if options["seed"] is None else options["seed"]
    try:
        return draw(
            drivers=options["drivers"],
            lanes=options["lanes"],
            preset=preset,
            seed=seed,
            lane_order=lane_order,
            by_lot=not options["in_order"],
            steps=options["steps"],
        )
    except DrawError as error:
        raise CommandError(str(error)) from error


def _lane_order(text: str | None) -> tuple[int, ...] | None:
    if text is None:
        return None
    if not re.fullmatch(r"\s*\d{1,3}([\s,]+\d{1,3})*\s*", text, re.ASCII):
        raise CommandError(_("A lane order is lane numbers with commas between them, such as 1,3,5,6,4,2."))
    return tuple(int(number) for number in re.findall(r"\d+", text))


def _preset(name: str | None, *, has_lane_order: bool) -> Preset:
    if name is None:
        return Preset.USUAL if has_lane_order else Preset.OPPONENTS
    preset = Preset(name)
    if has_lane_order and preset is not Preset.USUAL:
        raise CommandError(_("Only the usual preset follows a lane order; the others choose their own lanes."))
    return preset


def _as_json(plan: Plan, report: Balance) -> dict[str, Any]:
    return {
        "drivers": plan.drivers,
        "lanes": plan.lanes,
        "seed": plan.seed,
        "preset": plan.preset.value,
        "heats": plan.heats,
        "report": {
            "meetings_min": report.meetings_min,
            "meetings_max": report.meetings_max,
            "sum_of_squares": report.sum_of_squares,
            "bound": report.bound,
            "status": _status(report),
            "back_to_back": report.back_to_back,
            "longest_wait": report.longest_wait,
            "never_meet": report.never_meet,
            "neighbors_min": report.neighbors_min,
            "neighbors_max": report.neighbors_max,
        },
    }


def _status(report: Balance) -> str:
    """Optimal, unreachable or open as the table says of the size; improvable where it has a more even plan."""
    if report.is_as_even_as_can_be:
        return Status.OPTIMAL
    design = find_design(drivers=report.drivers, lanes=report.lanes)
    if design is None:
        return Status.OPEN
    return design.status if report.sum_of_squares <= design.reached else "improvable"


def _as_text(plan: Plan, report: Balance) -> Iterable[str]:
    width = max(4, len(_("heat")), len(_("lane")) + 3)
    yield _("%(drivers)d drivers, %(lanes)d lanes, %(heats)d heats; %(preset)s preset, seed %(seed)d") % {
        "drivers": plan.drivers,
        "lanes": plan.lanes,
        "heats": len(plan.heats),
        "preset": plan.preset.value,
        "seed": plan.seed,
    }
    yield ""
    lanes = [_("lane") + f" {lane}" for lane in range(1, plan.lanes + 1)]
    yield "  ".join(cell.rjust(width) for cell in (_("heat"), *lanes))
    for heat, row in enumerate(plan.heats, start=1):
        cells = (str(heat), *("-" if driver is None else str(driver) for driver in row))
        yield "  ".join(cell.rjust(width) for cell in cells)
    yield ""
    yield _("A pair meets %(least)d to %(most)d times; %(never)d pairs of %(pairs)d never meet.") % {
        "least": report.meetings_min,
        "most": report.meetings_max,
        "never": report.never_meet,
        "pairs": report.pairs,
    }
    yield _("Sum of squared meetings %(reached)d; no draw can have less than %(bound)d.") % {
        "reached": report.sum_of_squares,
        "bound": report.bound,
    }
    yield _("Back-to-back runs: %(runs)d. Longest wait between two runs: %(wait)d heats.") % {
        "runs": report.back_to_back,
        "wait": report.longest_wait,
    }
    yield _("A pair is side by side %(least)d to %(most)d times.") % {
        "least": report.neighbors_min,
        "most": report.neighbors_max,
    }

"""Draw a rotation on the command line, or the heats left of a night again: for scripts and for checking a draw."""

import json
import re
import secrets
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from racedesk.rotation.balance import Balance, balance
from racedesk.rotation.designs import Status, find_design
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import RotationError
from racedesk.rotation.plan import Plan, Preset
from racedesk.rotation.recount import recount
from racedesk.rotation.redraw import Redraw, State, night_so_far, redraw
from racedesk.rotation.statefile import read_state, schema_text

LARGEST_DRAWN_SEED = 1_000_000
REDRAW_STEPS = 200_000
"""About a second."""
ALL_SIZES = tuple((drivers, lanes) for lanes in range(2, 11) for drivers in range(2, 61))


class Command(BaseCommand):
    help = (
        "Draw a rotation: every driver every lane exactly once, in the fewest heats. Drivers count from 1. With "
        "--state draw the heats left of a night again; with --all recount every size of the shipped table."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--drivers", type=int, help="how many drivers, 2 to 500")
        parser.add_argument("--lanes", type=int, help="how many lanes, 1 to 32")
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
        parser.add_argument("--rounds", type=int, default=1, help="how many rotations on end, 1 to 20")
        parser.add_argument("--lanes-each", type=int, help="everybody drives so many of the lanes, in the fewest heats")
        parser.add_argument("--empty", help="lanes that stay empty by choice: 2,5")
        parser.add_argument("--steps", type=int, help="the budget of the search, in numbers or exchanges tried")
        parser.add_argument(
            "--state", help="a JSON file of a night as it stands, - for standard input: draw what is left"
        )
        parser.add_argument("--schema", action="store_true", help="print the JSON Schema of the state file")
        parser.add_argument(
            "--all", action="store_true", dest="all_sizes", help="recount 2 to 60 drivers on 2 to 10 lanes"
        )
        parser.add_argument("--json", action="store_true", dest="as_json", help="print one JSON object")
        parser.add_argument("--json-lines", action="store_true", help="with --all: print a JSON object a size")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self.stdout.write(schema_text())
            return
        try:
            lines = list(_lines(options))
        except RotationError as error:
            raise CommandError(str(error)) from error
        self.stdout.write("\n".join(lines))


def _lines(options: dict[str, Any]) -> Iterable[str]:
    if options["all_sizes"]:
        return _all_sizes(_preset(options["preset"], has_lane_order=False), as_json=options["json_lines"])
    if options["state"] is not None:
        state = read_state(_read(options["state"]))
        steps = REDRAW_STEPS if options["steps"] is None else options["steps"]
        again = redraw(state, seed=1 if options["seed"] is None else options["seed"], steps=steps)
        return [json.dumps(_redraw_as_json(state, again))] if options["as_json"] else _redraw_as_text(state, again)
    plan = _plan(options)
    report = balance(plan)
    return [json.dumps(_as_json(plan, report))] if options["as_json"] else _as_text(plan, report)


def _read(name: str) -> bytes:
    try:
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        raise CommandError(_("%(file)s cannot be read: %(why)s") % {"file": name, "why": error.strerror}) from error


def _plan(options: dict[str, Any]) -> Plan:
    lane_order = _lane_order(options["lane_order"])
    preset = _preset(options["preset"], has_lane_order=lane_order is not None)
    seed = secrets.randbelow(LARGEST_DRAWN_SEED) if options["seed"] is None else options["seed"]
    if options["drivers"] is None or options["lanes"] is None:
        raise CommandError(_("A draw needs --drivers and --lanes; a re-draw needs --state."))
    return draw(
        drivers=options["drivers"],
        lanes=options["lanes"],
        preset=preset,
        seed=seed,
        lane_order=lane_order,
        by_lot=not options["in_order"],
        steps=options["steps"],
        rounds=options["rounds"],
        lanes_each=options["lanes_each"],
        empty=_lane_order(options["empty"]) or (),
    )


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
        "rounds": plan.rounds,
        "lanes_each": plan.lanes_used if plan.lanes_each is None else plan.lanes_each,
        "empty": plan.empty,
        "heats": plan.heats,
        "report": _report(report, status=_status(plan, report)),
    }


def _report(report: Balance, *, status: str) -> dict[str, Any]:
    return {
        "meetings_min": report.meetings_min,
        "meetings_max": report.meetings_max,
        "sum_of_squares": report.sum_of_squares,
        "bound": report.bound,
        "status": status,
        "back_to_back": report.back_to_back,
        "longest_wait": report.longest_wait,
        "never_meet": report.never_meet,
        "neighbors_min": report.neighbors_min,
        "neighbors_max": report.neighbors_max,
    }


def _status(plan: Plan, report: Balance) -> str:
    """Optimal, unreachable or open as the table says of the size; improvable where it has a more even plan."""
    if report.is_as_even_as_can_be:
        return Status.OPTIMAL
    whole_on_lanes_used = plan.rounds == 1 and plan.lanes_each is None
    design = find_design(drivers=plan.drivers, lanes=plan.lanes_used) if whole_on_lanes_used else None
    if design is None:
        return Status.OPEN
    return design.status if report.sum_of_squares <= design.reached else "improvable"


def _redraw_as_json(state: State, again: Redraw) -> dict[str, Any]:
    night = night_so_far(state, again)
    report = balance(night) if night else None
    return {
        "lanes": state.lanes,
        "drivers": state.going_on(),
        "heats_run": len(state.run),
        "seed": again.seed,
        "steps": again.steps,
        "heats": again.heats,
        "fewest": again.fewest,
        "owed": [{"driver": driver, "lane": lane} for driver, lane in again.owed],
        "changes": [asdict(change) for change in again.changes],
        "report": report and _report(report, status=Status.OPTIMAL if report.is_as_even_as_can_be else Status.OPEN),
    }


def _redraw_as_text(state: State, again: Redraw) -> Iterable[str]:
    yield _("%(heats)d heats to come; no plan has fewer than %(fewest)d; seed %(seed)d, %(steps)d steps") % {
        "heats": len(again.heats),
        "fewest": again.fewest,
        "seed": again.seed,
        "steps": again.steps,
    }
    yield ""
    yield from _table(state.lanes, enumerate(again.heats, start=len(state.run) + 1))
    yield ""
    for times, pairs in again.meetings:
        yield _("%(pairs)d pairs meet %(times)d times over the night.") % {"pairs": pairs, "times": times}
    yield _("Back-to-back runs to come: %(runs)d.") % {"runs": again.back_to_back}
    for driver, lane in again.owed:
        yield _("Driver %(driver)d is owed lane %(lane)d.") % {"driver": driver, "lane": lane}


def _all_sizes(preset: Preset, *, as_json: bool) -> Iterator[str]:
    """Every size of the table and those with fewer drivers than lanes, drawn, and recounted by other means."""
    counts: Counter[str] = Counter()
    unsound = 0
    for drivers, lanes in ALL_SIZES:
        plan = draw(drivers=drivers, lanes=lanes, preset=preset, seed=1)
        report = balance(plan)
        found = recount(plan.heats, drivers=drivers, lanes=lanes)
        row = _report(report, status=_status(plan, report))
        counted = asdict(found)
        problems = [*counted.pop("problems"), *(name for name, figure in counted.items() if row[name] != figure)]
        unsound += bool(problems)
        counts[row["status"]] += 1
        if as_json:
            yield json.dumps({"drivers": drivers, "lanes": lanes, "problems": problems, **row})
        elif problems or report.excess:
            yield _("%(drivers)d drivers, %(lanes)d lanes: %(status)s, %(excess)d above %(bound)d; %(problems)s") % {
                "drivers": drivers,
                "lanes": lanes,
                "status": row["status"],
                "excess": report.excess,
                "bound": report.bound,
                "problems": ", ".join(problems) or _("sound"),
            }
    if not as_json:
        yield ", ".join(f"{count} {status}" for status, count in sorted(counts.items()))
        yield _("%(sizes)d sizes recounted, %(unsound)d unsound") % {"sizes": len(ALL_SIZES), "unsound": unsound}


def _as_text(plan: Plan, report: Balance) -> Iterable[str]:
    yield _("%(drivers)d drivers, %(lanes)d lanes, %(heats)d heats; %(preset)s preset, seed %(seed)d") % {
        "drivers": plan.drivers,
        "lanes": plan.lanes,
        "heats": len(plan.heats),
        "preset": plan.preset.value,
        "seed": plan.seed,
    }
    yield ""
    yield from _table(plan.lanes, enumerate(plan.heats, start=1))
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


def _table(lanes: int, heats: Iterable[tuple[int, tuple[int | None, ...]]]) -> Iterable[str]:
    width = max(4, len(_("heat")), len(_("lane")) + 3)
    names = [_("lane") + f" {lane}" for lane in range(1, lanes + 1)]
    yield "  ".join(cell.rjust(width) for cell in (_("heat"), *names))
    for heat, row in heats:
        cells = (str(heat), *("-" if driver is None else str(driver) for driver in row))
        yield "  ".join(cell.rjust(width) for cell in cells)

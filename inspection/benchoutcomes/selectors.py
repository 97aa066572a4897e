"""What comes of a bench sheet, saved or not: fit with cures, gears, legality at home, weight, pictures; read only."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext

from inspection.benchbuilds.selectors import WEARS, Bench, bench_of, found_of, number, ratio_of, sizes_at
from inspection.benchwording.selectors import (
    Figures,
    Legality,
    MeshLines,
    MissingLine,
    State,
    WorkedOut,
    clause_line,
    cut_lines,
    finding_line,
    legality_of,
    mesh_lines,
    missing_lines,
    state_of,
)
from inspection.chassis.selectors import shown_mm
from inspection.clauses.selectors import sheet_for_engine
from inspection.conformity.facts import Facts
from inspection.conformity.observations import Observation
from inspection.conformity.results import ClauseResult
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.subjects import TRACK_VALUES
from inspection.conformity.verdicts import Outcome
from inspection.contents.selectors import register_of
from inspection.fit.check import check_fit
from inspection.fit.findings import Cure
from inspection.gearing.ratio import PI
from inspection.models import BenchSheet, Characteristic, RuleSheetRevision
from inspection.scaledrawings.pictures import Motor, Picture, end_view, gear_pair, guide_in_slot, rear_axle
from inspection.units import DecimalMark, base_unit, from_base


def document_of(sheet: BenchSheet) -> dict[str, Any]:
    """A sheet, saved or not, as the planning engine reads it. No query when the sheet is loaded."""
    layout = sheet.track_layout
    track: dict[str, Any] = {}
    if layout is not None:
        sizes = {"slot_depth": layout.slot_depth_mm, "slot_width": layout.slot_width_mm}
        track = {"name": layout.track.name} | {
            code: f"{value} mm" for code, value in sizes.items() if value is not None
        }
    return {
        "chassis": {
            "name": str(sheet.chassis or ""),
            "sizes": sheet.chassis_sizes,
            "runs_free": sheet.runs_free,
            "corners": sheet.corners,
            "zones": sheet.zones,
        },
        "parts": sheet.parts,
        "mounting": sheet.mounting,
        "spacers": sheet.spacers,
        "ballast": list(sheet.ballast),
        "targets": sheet.targets,
        "track": track,
    }


def revision_for(sheet: BenchSheet, on: dt.date) -> RuleSheetRevision | None:
    """The rules of the sheet's class that hold on a day; None without a class or rules. One query."""
    if sheet.racing_class_id is None:
        return None
    published = RuleSheetRevision.objects.of(sheet.car.club).published()
    rows = published.filter(rule_sheet__racing_class=sheet.racing_class_id, effective_from__lte=on)
    return (
        rows.select_related("rule_sheet__club", "rule_sheet__racing_class")
        .order_by("-effective_from", "-number")
        .first()
    )


def facts_at(sheet: BenchSheet, on: dt.date) -> Facts:
    """What is known of car, owner, class and track on a day. No query when the sheet is loaded."""
    layout, of_class, owner = sheet.track_layout, sheet.racing_class, sheet.car.owner
    values = {name: getattr(layout, name) for name in TRACK_VALUES} if layout else {}
    return Facts(
        racing_class=of_class.name if of_class else None,
        scale=(of_class.scale or None) if of_class else None,
        grade=owner.grade or None,
        junior=owner.is_junior,
        track=layout.track.name if layout else None,
        date=on,
        track_values={name: Fraction(value) for name, value in values.items() if value is not None},
    )


@dataclass(frozen=True, slots=True)
class InForce:
    """The rules of a class on a day. register: the club's characteristics by code."""

    revision: RuleSheetRevision
    sheet: Sheet
    register: Mapping[str, Characteristic]


# By class, so that rules are read once for all cars of a class on a page.
Kept = dict[int | None, InForce | None]


@dataclass(frozen=True, slots=True)
class _Rules:
    """Rules ready to judge what is told of one car."""

    rules: InForce
    facts: Facts

    def judge(self, found: Mapping[str, Observation]) -> tuple[ClauseResult, ...]:
        return judge_sheet(self.rules.sheet, found, self.facts)


def _rules_for(sheet: BenchSheet, kept: Kept) -> _Rules | None:
    """The queries of `revision_for` and `sheet_for_engine`, and one for the register, once for each class."""
    on = timezone.localdate()
    if sheet.racing_class_id not in kept:
        revision = revision_for(sheet, on)
        kept[sheet.racing_class_id] = (
            None if revision is None else InForce(revision, sheet_for_engine(revision), register_of(revision))
        )
    rules = kept[sheet.racing_class_id]
    return None if rules is None else _Rules(rules, facts_at(sheet, on))


def state_in_short(sheet: BenchSheet, kept: Kept) -> State:
    """What comes of a sheet in a few words. The queries of `_rules_for`."""
    figures, document = Figures(sheet.car.club.decimal_mark), document_of(sheet)
    bench, rules = bench_of(document, cures=False), _rules_for(sheet, kept)
    return _state(bench, _mesh(bench, figures), _legality(rules, document, bench, figures) if rules else None)


def _state(bench: Bench, mesh: MeshLines | None, legality: Legality | None) -> State:
    findings = bench.report.findings if bench.report else ()
    lacking: Sequence[object] = bench.report.missing if bench.report else (bench,)
    return state_of(findings=findings, missing=lacking, mesh=mesh, legality=legality)


def _mesh(bench: Bench, figures: Figures) -> MeshLines | None:
    if bench.gears is None or bench.gears.mesh is None:
        return None
    return mesh_lines(bench.gears.mesh, bench.gears.assumptions, figures)


def outcome_of(sheet: BenchSheet) -> WorkedOut:
    """What comes of a sheet, saved or not: fit with cures, gears, legality, weight, pictures.

    The queries of `_rules_for`.
    """
    figures, document = Figures(sheet.car.club.decimal_mark), document_of(sheet)
    bench, rules = bench_of(document), _rules_for(sheet, {})
    report, told = bench.report, _mesh(bench, figures)
    legality = _legality(rules, document, bench, figures) if rules else None
    legal = partial(_legality_after, rules, document, bench) if rules else None
    lines = [finding_line(one, figures, legal) for one in (report.findings if report else ())]
    return WorkedOut(
        state=_state(bench, told, legality),
        failing=tuple(line for line in lines if line.kind != "ok"),
        fitting=tuple(line for line in lines if line.kind == "ok"),
        missing=tuple(missing_lines(report.missing)) if report else _what_to_choose(document),
        assumed=told.assumptions if told else (),
        cuts=tuple(cut_lines(report.cuts, figures)) if report else (),
        mesh=told,
        gears=_gear_facts(document, bench, figures),
        legality=legality,
        weight=_weight_facts(bench, figures),
        pictures=_pictures(document, bench, sheet.car.club.decimal_mark),
    )


def _what_to_choose(document: Mapping[str, Any]) -> tuple[MissingLine, ...]:
    """Why nothing is said of the rear axle yet."""
    wanted = (
        (document["chassis"]["sizes"].get("rear_bushing_span"), gettext("Across the rear bushings")),
        (sizes_at(document, "rear_tires").get("diameter"), gettext("Rear tires")),
    )
    lacking = tuple(words for there, words in wanted if not there)
    return (MissingLine(gettext("Everything along the rear axle"), lacking),) if lacking else ()


def _gear_facts(document: Mapping[str, Any], bench: Bench, figures: Figures) -> tuple[tuple[str, str], ...]:
    ratio, tire = ratio_of(document), number(sizes_at(document, "rear_tires"), "diameter")
    facts = []
    if ratio is not None:
        facts.append((gettext("Ratio"), figures.number(ratio, 3)))
        if tire is not None:
            facts.append((gettext("Rollout"), shown_mm(rollout_mm(ratio, tire), figures.decimal_mark)))
    if bench.gears_wrong:
        facts.append((gettext("Gears"), bench.gears_wrong))
    return tuple(facts)


def rollout_mm(ratio: Fraction, tire: Fraction) -> Fraction:
    """How far the car rolls for a turn of the motor, in mm: pi times the tire's diameter, over the ratio."""
    return PI * tire / ratio


def _weight_facts(bench: Bench, figures: Figures) -> tuple[tuple[str, str], ...]:
    if bench.weight is None:
        if bench.total_mass is None:
            return ()
        return ((gettext("What is weighed so far"), figures.mm(bench.total_mass, "g")),)
    rear, share = bench.weight.rear_share, bench.weight.guide_share.value
    return (
        (gettext("Total"), figures.mm(bench.weight.total.value, "g")),
        (
            gettext("On the rear axle"),
            f"{figures.mm(bench.weight.on_rear.value, 'g')}, {figures.number(100 * rear, 0)} %",
        ),
        (
            gettext("On the guide"),
            f"{figures.mm(bench.weight.on_guide.value, 'g')}, {figures.number(100 * share, 0)} %",
        ),
    )


def _pictures(document: Mapping[str, Any], bench: Bench, mark: DecimalMark) -> tuple[Picture, ...]:
    drawn: list[Picture | None] = []
    if bench.build is not None and bench.report is not None:
        told = sizes_at(document, "motor")
        known = (number(told, code) for code in ("can_length", "can_diameter"))
        motor = Motor(*(None if size is None else float(size) for size in known))
        drawn.append(rear_axle(bench.build, bench.report, bench.targets, motor=motor, decimal_mark=mark))
        drawn.append(end_view(bench.build, bench.report, motor=motor, decimal_mark=mark))
        drawn.append(guide_in_slot(bench.build, bench.build.slot, decimal_mark=mark))
    if bench.gears is not None and bench.gears.mesh is not None:
        drawn.insert(1, gear_pair(bench.gears.pinion, bench.gears.driven, bench.gears.mesh, decimal_mark=mark))
    return tuple(picture for picture in drawn if picture is not None)


def _legality(rules: _Rules, document: Mapping[str, Any], bench: Bench, figures: Figures) -> Legality:
    """Clause by clause, with what is left, and which fails first as the rear tires wear."""
    in_force = rules.rules
    tire = bench.build.rear.left.wheel.tire_diameter.value if bench.build else None
    lines, worn = [], []
    for result in rules.judge(found_of(document, bench.build, bench.report)):
        fails_at = _fails_below(result, tire)
        words = ""
        if fails_at is not None:
            size = shown_mm(fails_at, figures.decimal_mark)
            words = gettext("fails below {size} of rear tire").format(size=size)
            worn.append((fails_at, result.clause.number, size))
        lines.append(clause_line(result, figures, in_force.register, wears=words))
    first = ""
    if worn:
        _fails_at, clause, size = max(worn)
        first = gettext("As tires wear or are trued, clause {clause} fails first: below {size} in diameter.").format(
            clause=clause, size=size
        )
    return legality_of(in_force.revision.rule_sheet.name, lines, first_to_go=first)


def _fails_below(result: ClauseResult, tire: Fraction | None) -> Fraction | None:
    """The diameter of the rear tires below which a clause that passes now fails; None where wear does not matter."""
    slope = WEARS.get(result.clause.code)
    found = result.assessment
    if tire is None or slope is None or found is None or found.limits.lower is None or found.margin < 0:
        return None
    return tire - (found.measurement.value - found.limits.lower) / slope


def _legality_after(rules: _Rules, document: Mapping[str, Any], bench: Bench, cure: Cure) -> tuple[bool, str]:
    """What the class says of the build after a cure."""
    report = check_fit(cure.build, bench.targets, cures=False)
    results = rules.judge(found_of(document, cure.build, report))
    failing = [result.clause.number for result in results if result.outcome is Outcome.FAIL]
    if failing:
        return False, gettext("Not legal: clause {numbers}").format(numbers=", ".join(failing))
    return True, gettext("Legal, as far as it is known")


def declared_by(sheet: BenchSheet) -> dict[str, dict[str, str]]:
    """What a sheet declares: words of the build, and canonical texts by the code of the characteristic."""
    document = document_of(sheet)
    bench = bench_of(document)
    motor = sheet.parts.get("motor", {})
    declared = {}
    for code, observation in found_of(document, bench.build, bench.report).items():
        if observation.readings:
            reading = observation.readings[0]
            declared[code] = from_base(Fraction(round(reading.value * 100), 100), base_unit(reading.kind)).canonical
        elif observation.answers:
            declared[code] = ", ".join(observation.answers)
    words = {
        "drive_layout": sheet.chassis_sizes.get("layout", ""),
        "motor": motor.get("name", "")[:80],
        "motor_class": motor.get("sizes", {}).get("motor_class", "")[:40],
    }
    return {"words": words, "declared": declared}

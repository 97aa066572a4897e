"""Templates of prep sheets: what a step may say, when it holds, and what stands in it for a bench sheet. Read only."""

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.benchoutcomes.selectors import document_of
from inspection.benchsheets.selectors import part_words, spacer_words
from inspection.benchwording.selectors import Figures, finding_line
from inspection.chassis.selectors import length_of
from inspection.fit.findings import CutCode, FitCode, Place
from inspection.fit.parts import Targets
from inspection.gauges.selectors import read_stored
from inspection.gearing.mesh import Mesh
from inspection.models import BenchSheet, Club, PrepTemplate, RacingClass
from inspection.planning.document import read_bench
from inspection.planning.errors import PlanningError
from inspection.planning.evaluation import Evaluation, evaluate
from inspection.planning.register import PLACE_LABELS, SPACER_PLACES
from inspection.units import Kind, base_unit, format_decimal, format_quantity, from_base

_SUPPLIED = Path(__file__).parent / "data" / "prep-sheet.json"
MOST_STEPS = 60
AT_THE_END = "at_the_end"
_ASKED = re.compile(r"\{([^{}]*)\}")
# Typed for a line to write on, whatever is known.
LINE = "line"

# When a step holds. The words stand on the sheet where nothing says yet whether it does.
WHEN: Mapping[str, Any] = {
    "always": _("Always"),
    "class_asks": _("Only if the class asks for it"),
    "inline": _("If the motor lies lengthwise"),
    "sidewinder": _("If the motor lies across"),
    "anglewinder": _("If the motor lies at an angle"),
    "spur_gear": _("If it has a spur gear"),
    "crown_gear": _("If it has a crown gear"),
    "front_axle": _("If it has a front axle"),
    "lead_wire": _("If it has lead wires"),
    "ballast": _("If it carries ballast"),
    "body": _("If it has a body"),
    AT_THE_END: _("After the last step"),
}

# What can hurt, in short. Makers' instructions and local rules come first: the sheet says so once, at its head.
CAUTIONS: Mapping[str, Any] = {
    "cutting": _(
        "Cutting discs shatter and throw sparks: eye protection on, part clamped, sleeves back. Cut with a blade away "
        "from fingers."
    ),
    "press": _("Presses slip and blades are sharp: keep fingers out of the line of force, eye protection on."),
    "soldering": _(
        "The iron burns and its fumes harm: air the room, eye protection on, iron back in its stand. Solder may hold "
        "lead: no food on the bench, wash hands after."
    ),
    "lead": _("Lead is poisonous: gloves on, no filing or sanding, no food on the bench, wash hands after."),
    "magnets": _(
        "Small strong magnets: whoever swallows one is an emergency, call for help at once. Keep them from children "
        "and from pacemakers."
    ),
    "dust": _(
        "Dust of rubber is bad to breathe: mask and eye protection on, clear it away damp. Keep fingers, hair and "
        "sleeves from the turning tire."
    ),
    "chemicals": _(
        "Glue, its accelerator, solvents and tire treatment: open a window, gloves on, away from irons, flames and "
        "sparking motors, and dry before anything runs."
    ),
    "running": _(
        "Bench running: car clamped, wheels tight, eye protection on, hair and sleeves tied back, solvents put away. "
        "A motor gets hot."
    ),
    "track": _("Live track: no rings, metal tools or drinks on it, and the power off before you reach for the wires."),
    "children": _("Children work beside an adult, never with iron, disc, blade, lead, glue or loose magnets."),
}

# What a text may ask for, and how it is explained to whoever edits a template.
PLACEHOLDERS: Mapping[str, Any] = {
    "motor": _("the motor's name"),
    "motor_number": _("the number of the single motor"),
    "pinion": _("teeth of the pinion"),
    "pinion_gap": _("from pinion to the motor's end"),
    "spur": _("teeth of the spur or crown gear"),
    "ratio": _("gear ratio"),
    "rollout": _("way for one turn of the motor"),
    "center_distance": _("motor shaft to axle"),
    "hub_side": _("which way the hub of the gear looks"),
    "gear_side": _("the side of the gears"),
    "axle_spacers": _("spacers of the rear axle, by place"),
    "front_spacers": _("spacers of the front axle, by place"),
    "guide_spacers": _("washers on the guide shaft"),
    "rear_hub_to_hub": _("between the rear wheels"),
    "end_play": _("end play of the rear axle"),
    "front_end_play": _("end play of the front axle"),
    "tire_diameter": _("diameter of the rear tires"),
    "front_tire_diameter": _("diameter of the front tires"),
    "tire_edge": _("radius of the inner edge of the rear tires"),
    "body_float": _("how far the body can move to each side"),
    "guide_shaft_cut": _("length of the guide shaft"),
    "guide_height": _("track up to the chassis at the guide"),
    "braid_length": _("length of each braid"),
    "lead_length": _("length of each lead wire"),
    "ballast": _("pieces of ballast, with their places"),
    "weight": _("weight of the pieces whose weight is known"),
    "track": _("the track it is for"),
    "track_polarity": _("the positive conductor of that track"),
    "voltage": _("the voltage of that track"),
    LINE: _("always a line to write on"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StepContent:
    """A step as a template holds it. when, caution: codes of WHEN and CAUTIONS, caution "" for none.

    supplied: the step of the supplied template that it came from, by which its wording can be put back.
    """

    title: str
    text: str = ""
    when: str = "always"
    caution: str = ""
    checks: tuple[str, ...] = ()
    supplied: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrepContent:
    """A template as its form gives it. racing_class: None for all classes."""

    name: str
    steps: tuple[StepContent, ...]
    racing_class: RacingClass | None = None
    is_active: bool = True


def step_of(row: Mapping[str, Any]) -> StepContent:
    """A stored step; what a code no longer says holds always."""
    when, caution = str(row.get("when", "")), str(row.get("caution", ""))
    return StepContent(
        title=str(row.get("title", "")),
        text=str(row.get("text", "")),
        when=when if when in WHEN else "always",
        caution=caution if caution in CAUTIONS else "",
        checks=tuple(str(check) for check in row.get("checks", [])),
        supplied=str(row.get("supplied", "")),
    )


def row_of(step: StepContent) -> dict[str, Any]:
    """A step as it is stored."""
    return asdict(step) | {"checks": list(step.checks)}


@cache
def supplied_steps() -> tuple[StepContent, ...]:
    """The steps that come with the program, in working order."""
    return tuple(step_of(row) for row in json.loads(_SUPPLIED.read_text(encoding="utf-8"))["steps"])


def supplied_step(name: str) -> StepContent | None:
    """One of the supplied steps by its name."""
    return next((step for step in supplied_steps() if step.supplied == name), None)


def steps_of(template: PrepTemplate | None) -> tuple[StepContent, ...]:
    """The steps of a club's template; the supplied ones without one."""
    return tuple(step_of(row) for row in template.steps) if template else supplied_steps()


def asked_for(text: str) -> tuple[str, ...]:
    """Every value that a text asks for in braces, as it stands there."""
    return tuple(name.strip() for name in _ASKED.findall(text))


def unknown_in(texts: Iterable[str]) -> list[str]:
    """What texts ask for that no bench sheet has, in braces; a brace that stands alone is one of them."""
    odd: list[str] = []
    for text in texts:
        odd += [f"{{{name}}}" for name in asked_for(text) if name not in PLACEHOLDERS]
        odd += [brace for brace in "{}" if brace in _ASKED.sub("", text)]
    return list(dict.fromkeys(odd))


def texts_of(step: StepContent) -> tuple[str, ...]:
    """All that a step says, in which values may be asked for."""
    return (step.title, step.text, *step.checks)


def template_version(template: PrepTemplate) -> str:
    """A short mark of what the form of a template shows; it differs once anybody has changed it."""
    said = [template.name, template.racing_class_id, template.is_active, template.steps]
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]


def templates_of(club: Club) -> QuerySet[PrepTemplate]:
    """The club's templates with their classes, in use before put away. One query."""
    return PrepTemplate.objects.of(club).select_related("racing_class").order_by("-is_active", "name")


def template_for(sheet: BenchSheet, templates: Iterable[PrepTemplate]) -> PrepTemplate | None:
    """The one in use for the class of a sheet, else the one for all classes, else None: the supplied wording."""
    own = sheet.racing_class_id or sheet.car.racing_class_id
    in_use = [each for each in templates if each.is_active]
    for wanted in {own: own, None: None}:
        if found := next((each for each in in_use if each.racing_class_id == wanted), None):
            return found
    return None


# When a step holds.


def holds(when: str, sheet: BenchSheet) -> bool | None:
    """Does a step hold for a sheet? None when the sheet does not say: then the step is printed with its condition."""
    if when in {"always", AT_THE_END}:
        return True
    if when == "class_asks":
        return None
    layout = sheet.chassis_sizes.get("layout", "")
    if when in {"inline", "sidewinder", "anglewinder"}:
        return layout == when if layout else None
    if when in {"spur_gear", "crown_gear"}:
        kind = (sheet.parts.get("driven_gear") or {}).get("kind", "")
        if not kind and layout:  # a crown turns the drive by a right angle; a spur gear cannot
            kind = "crown_gear" if layout == "inline" else "spur_gear"
        return kind == when if kind else None
    if when == "ballast":
        return bool(sheet.ballast)
    return True if sheet.parts.get(when) else None


# Texts with their values.


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a filled text: plain words, a value of the bench sheet, or a line to write on (text empty)."""

    text: str
    is_value: bool = False

    @property
    def is_line(self) -> bool:
        return self.is_value and not self.text


def filled(text: str, values: Mapping[str, str]) -> tuple[Piece, ...]:
    """A text with the values it asks for; what is not known is a line to write on, never a guess."""
    pieces: list[Piece] = []
    for turn, part in enumerate(_ASKED.split(text)):
        if turn % 2:
            pieces.append(Piece(values.get(part.strip(), ""), is_value=True))
        elif part:
            pieces.append(Piece(part))
    return tuple(pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrepStep:
    """A step as it is printed. condition: when it holds, "" where it holds for sure."""

    number: int
    title: tuple[Piece, ...]
    text: tuple[Piece, ...]
    condition: str
    caution: str
    checks: tuple[tuple[Piece, ...], ...]


def steps_for(
    sheet: BenchSheet, steps: Iterable[StepContent], values: Mapping[str, str]
) -> tuple[tuple[PrepStep, ...], tuple[PrepStep, ...]]:
    """The numbered steps that hold for a sheet, and what is looked at after the last one."""
    work: list[PrepStep] = []
    end: list[PrepStep] = []
    for step in steps:
        holding = holds(step.when, sheet)
        if holding is False:
            continue
        into = end if step.when == AT_THE_END else work
        into.append(
            PrepStep(
                number=len(into) + 1,
                title=filled(step.title, values),
                text=filled(step.text, values),
                condition=str(WHEN[step.when]) if holding is None else "",
                caution=str(CAUTIONS[step.caution]) if step.caution else "",
                checks=tuple(filled(check, values) for check in step.checks),
            )
        )
    return tuple(work), tuple(end)


# What a bench sheet says and what was worked out from it.


@dataclass(frozen=True, slots=True)
class Setting:
    """A line of the table of settings. value: "" for a line to write on. aim: what is wanted, "" where nothing is."""

    what: str
    value: str
    aim: str = ""


@dataclass(frozen=True, slots=True)
class PartLine:
    """A part of the build: its place, and what it is."""

    place: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PrepSheet:
    """The work order of a bench sheet, filled and ready to be shown. open_points: what does not fit by calculation."""

    sheet: BenchSheet
    template: PrepTemplate | None
    parts: tuple[PartLine, ...]
    settings: tuple[Setting, ...]
    open_points: tuple[str, ...]
    steps: tuple[PrepStep, ...]
    end: tuple[PrepStep, ...]
    children: str


def prep_of(sheet: BenchSheet, template: PrepTemplate | None) -> PrepSheet:
    """The work order of a sheet by a template; None for the supplied wording. One query when the sheet is loaded.

    Where the engine can make nothing of the sheet, all that it would tell is a line to write on.
    """
    try:
        found = evaluate(read_bench(document_of(sheet)), cures=False)
    except PlanningError:
        found = None
    told = _Told(sheet, found)
    steps, end = steps_for(sheet, steps_of(template), values_of(told))
    figures = Figures(sheet.car.club.decimal_mark)
    findings = found.report.findings if found and found.report else ()
    odd = [finding_line(finding, figures) for finding in findings if not finding.is_met]
    return PrepSheet(
        sheet=sheet,
        template=template,
        parts=tuple(_part_lines(sheet)),
        settings=tuple(one for one in _settings(told) if one.value or one.aim),
        open_points=tuple(f"{line.what}: {line.value}" for line in odd),
        steps=steps,
        end=end,
        children=str(CAUTIONS["children"]),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """A sheet, and what the engine says of it; None where it can make nothing of it."""

    sheet: BenchSheet
    found: Evaluation | None

    @property
    def targets(self) -> Targets:
        return self.found.bench.targets if self.found else Targets()

    def length(self, value: Fraction | None) -> str:
        """A length in the club's first system of measures; "" when it is not known."""
        if value is None:
            return ""
        club = self.sheet.car.club
        shown = from_base(value, base_unit(Kind.LENGTH))
        unit = "in" if club.units == Club.Units.INCH else "mm"
        return format_quantity(shown, unit=unit, places=3 if unit == "in" else 2, decimal_mark=club.decimal_mark)

    def span(self, least: Fraction, most: Fraction) -> str:
        low, high = self.length(least), self.length(most)
        return _now("{low} to {high}").format(low=low.rpartition(" ")[0], high=high)

    def mounted(self, code: str) -> Fraction | None:
        return length_of(self.sheet.mounting, code)

    def size(self, place: str, code: str) -> Fraction | None:
        return length_of((self.sheet.parts.get(place) or {}).get("sizes") or {}, code)

    def teeth(self, place: str) -> str:
        sizes = (self.sheet.parts.get(place) or {}).get("sizes") or {}
        teeth = read_stored(sizes.get("teeth", ""), Kind.COUNT, "")
        return format_decimal(teeth.base, places=0) if teeth else ""

    def cut(self, code: CutCode, mounted: str = "") -> Fraction | None:
        """A length to cut to: as the sheet says, else as worked out."""
        if mounted and (told := self.mounted(mounted)) is not None:
            return told
        cuts = self.found.report.cuts if self.found and self.found.report else ()
        return next((cut.length for cut in cuts if cut.code is code), None)

    def value_of(self, code: FitCode, place: Place | None = None) -> Fraction | None:
        finding = self.found.report.find(code, place) if self.found and self.found.report else None
        return finding.value if finding else None

    @property
    def distance(self) -> Fraction | None:
        return self.found.built.distance.value if self.found and self.found.built.distance else None

    @property
    def backlash(self) -> Fraction | None:
        mesh = self.found.mesh if self.found else None
        return Fraction(mesh.backlash_mm) if isinstance(mesh, Mesh) and mesh.backlash_mm is not None else None


def values_of(told: _Told) -> dict[str, str]:
    """What stands for each placeholder; those that nothing is known of are left out."""
    sheet, targets, found = told.sheet, told.targets, told.found
    mark, layout = sheet.car.club.decimal_mark, sheet.track_layout
    ratio = found.ratio if found else None
    values = {
        "motor": str((sheet.parts.get("motor") or {}).get("name", "")),
        "motor_number": sheet.motor_unit.number if sheet.motor_unit else "",
        "pinion": told.teeth("pinion"),
        "pinion_gap": told.length(told.mounted("pinion_gap"))
        or told.span(targets.pinion_gap_least, targets.pinion_gap_most),
        "spur": told.teeth("driven_gear"),
        "ratio": format_decimal(ratio, places=3, decimal_mark=mark) if ratio else "",
        "rollout": told.length(found.rollout if found else None),
        "center_distance": told.length(told.distance),
        "hub_side": {"in": _now("to the middle"), "out": _now("outward")}.get(sheet.mounting.get("hub_side", ""), ""),
        "gear_side": {"left": _now("left"), "right": _now("right")}.get(sheet.chassis_sizes.get("gear_side", ""), ""),
        "axle_spacers": _spacer_words(sheet, "rear_"),
        "front_spacers": _spacer_words(sheet, "front_"),
        "guide_spacers": _spacer_words(sheet, "guide"),
        "rear_hub_to_hub": told.length(told.mounted("rear_hub_to_hub")),
        "end_play": told.span(targets.end_play_least, targets.end_play_most),
        "front_end_play": told.span(targets.end_play_least, targets.end_play_most),
        "tire_diameter": told.length(told.size("rear_tires", "diameter")),
        "front_tire_diameter": told.length(told.size("front_tires", "diameter")),
        "tire_edge": told.length(told.mounted("edge")),
        "body_float": told.length(targets.body_float),
        "guide_shaft_cut": told.length(told.cut(CutCode.GUIDE_SHAFT, "shaft_cut")),
        "guide_height": told.length(told.mounted("guide_height")),
        "braid_length": told.length(told.cut(CutCode.BRAID, "braid_cut")),
        "lead_length": told.length(told.cut(CutCode.LEAD)),
        "ballast": _ballast_words(sheet),
        "weight": _grams(told),
        "track": str(layout.track) if layout else "",
        "track_polarity": str(layout.get_positive_side_display()) if layout and layout.positive_side else "",
        "voltage": f"{format_decimal(Fraction(layout.voltage_v), places=1, decimal_mark=mark)} V"
        if layout and layout.voltage_v
        else "",
    }
    return {name: value for name, value in values.items() if value}


def _grams(told: _Told) -> str:
    mass, mark = told.found.weighed.known if told.found else None, told.sheet.car.club.decimal_mark
    return f"{format_decimal(mass, places=1, decimal_mark=mark)} g" if mass else ""


def _spacer_words(sheet: BenchSheet, group: str) -> str:
    """The spacers of an axle or the guide by place; "none" where the sheet names spacers, but none of these."""
    mark = sheet.car.club.decimal_mark
    rows = {place: told for place, told in sheet.spacers.items() if told}
    said = [
        f"{_now(SPACER_PLACES[place]).lower() if group != place else ''} {spacer_words(rows[place], decimal_mark=mark)}"
        for place in SPACER_PLACES
        if place in rows and place.startswith(group)
    ]
    return "; ".join(words.strip() for words in said) or (_now("none") if rows else "")


def _ballast_words(sheet: BenchSheet) -> str:
    mark = sheet.car.club.decimal_mark
    words = _now("{name} {mass}, {ahead} ahead of the rear axle")
    said = [
        words.format(name=piece.get("name", ""), mass=piece.get("mass", ""), ahead=piece.get("ahead", "")).strip()
        for piece in sheet.ballast
    ]
    return "; ".join(said).replace(".", mark)


def _settings(told: _Told) -> list[Setting]:
    """What is set while building: as worked out or as the sheet says, beside what is wanted."""
    values, targets = values_of(told), told.targets
    gap = told.span(targets.pinion_gap_least, targets.pinion_gap_most)
    play = told.span(targets.end_play_least, targets.end_play_most)
    return [
        Setting(_now("Ratio"), values.get("ratio", "")),
        Setting(_now("Way for one turn of the motor"), values.get("rollout", "")),
        Setting(_now("Motor shaft to axle"), told.length(told.distance)),
        Setting(_now("Play between the teeth"), told.length(told.backlash)),
        Setting(_now("Pinion to the motor's end"), told.length(told.mounted("pinion_gap")), gap),
        Setting(_now("End play, rear axle"), told.length(told.mounted("rear_end_play")), play),
        Setting(_now("Between the rear wheels"), values.get("rear_hub_to_hub", "")),
        Setting(_now("Over the rear tires"), told.length(told.value_of(FitCode.WIDTH, Place.REAR))),
        Setting(_now("Rear tires, diameter"), values.get("tire_diameter", "")),
        Setting(
            _now("Clearance under the gear"),
            told.length(told.value_of(FitCode.UNDER_SPUR)),
            told.length(targets.clearance or None),
        ),
        Setting(_now("Body, to each side"), "", told.length(targets.body_float)),
        Setting(_now("Guide shaft"), values.get("guide_shaft_cut", "")),
        Setting(
            _now("Blade over the floor of the slot"),
            told.length(told.value_of(FitCode.GUIDE_FLOOR)),
            _now("at least {size}").format(size=told.length(targets.guide_floor)),
        ),
        Setting(_now("Each braid"), values.get("braid_length", "")),
        Setting(_now("Each lead wire"), values.get("lead_length", "")),
    ]


def _part_lines(sheet: BenchSheet) -> list[PartLine]:
    mark = sheet.car.club.decimal_mark
    lines = [PartLine(_now("Chassis"), str(sheet.chassis))] if sheet.chassis else []
    for place, label in PLACE_LABELS.items():
        if part := sheet.parts.get(place):
            name = str(part.get("name", "")) or part_words(part, decimal_mark=mark)
            lines.append(PartLine(_now(label), name))
    if sheet.motor_unit:
        lines.append(PartLine(_now("Single motor"), str(sheet.motor_unit)))
    return lines

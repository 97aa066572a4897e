"""What the bench's engines find, in words: findings with tolerances and cures, gears, what is missing; read only.

Nothing here decides; codes become sentences and exact numbers become figures in the club's decimal mark.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inspection.conformity.verdicts import Outcome
from inspection.fit import meanings as fit_words
from inspection.fit.findings import Cure, CureCode, Cut, Finding, FitCode, FitReport, FitVerdict, Missing
from inspection.gearing import meanings as gear_words
from inspection.gearing.crown import CrownMesh
from inspection.gearing.mesh import Basis, Mesh
from inspection.models import Characteristic
from inspection.planning.assumed import NEEDS, Need
from inspection.planning.legality import ClauseAtHome
from inspection.planning.matching import MISMATCH, Mismatch
from inspection.planning.register import CHASSIS_SIZES, MOUNTING_SIZES, PART_SIZES, PLACE_LABELS, PartKind
from inspection.planning.search import Failing
from inspection.readings.selectors import margin_words
from inspection.units import DecimalMark, base_unit, format_decimal, format_quantity, from_base

# A change of size that only another part gives; everything else is done to the car that stands there.
ANOTHER_PART = {
    CureCode.LARGER_TIRE,
    CureCode.SMALLER_GEAR,
    CureCode.LONGER_AXLE,
    CureCode.LONGER_SHAFT,
    CureCode.LONGER_LEAD,
}
KINDS = {
    FitVerdict.FITS: "ok",
    FitVerdict.LIKELY_FITS: "ok",
    FitVerdict.MAY_NOT_FIT: "near",
    FitVerdict.DOES_NOT_FIT: "bad",
}
SHORT = {
    FitVerdict.FITS: gettext_lazy("Fits"),
    FitVerdict.LIKELY_FITS: gettext_lazy("Fits in all likelihood"),
    FitVerdict.MAY_NOT_FIT: gettext_lazy("Too close"),
    FitVerdict.DOES_NOT_FIT: gettext_lazy("Does not fit"),
}


@dataclass(frozen=True, slots=True)
class Figures:
    """How numbers of the bench are written in a club."""

    decimal_mark: DecimalMark = "."

    def mm(self, value: Fraction | float, unit: str = "mm") -> str:
        """A length to a hundredth, with its unit."""
        return f"{format_decimal(Fraction(value), places=2, decimal_mark=self.decimal_mark)} {unit}".rstrip()

    def up(self, value: Fraction) -> str:
        """An amount that is just enough, rounded up to a hundredth so that it still is."""
        return self.mm(Fraction(-((-value * 100) // 1), 100))

    def number(self, value: Fraction | float, places: int = 2) -> str:
        return format_decimal(Fraction(value), places=places, decimal_mark=self.decimal_mark)


@dataclass(frozen=True, slots=True)
class PartLine:
    """A part on hand that does what a cure asks for. key: by which it is asked for. words: what else it changes."""

    name: str
    key: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class CureLine:
    """A cure for people. key: by which it is asked for; None where it cannot be applied to a sheet.

    legality: words on what the class says of the build after it; "" where no class is judged. is_legal: None there.
    parts: what does it of the parts on hand. needs_part: nothing else than another part does it.
    """

    code: str
    words: str
    sure: str
    works: bool
    blockers: tuple[str, ...]
    cautions: tuple[str, ...]
    key: str | None
    legality: str = ""
    is_legal: bool | None = None
    parts: tuple[PartLine, ...] = ()
    needs_part: bool = False

    @property
    def kind(self) -> str:
        return "ok" if self.works and self.is_legal is not False else "bad"

    @property
    def verdict(self) -> str:
        if not self.works:
            return _("Does not work here")
        if self.is_legal is False:
            return _("Fits, but is not legal")
        return _("Works")


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A finding for people. kind: of the shape beside it."""

    code: str
    what: str
    value: str
    wanted: str
    margin: str
    worst: str
    likely: str
    kind: str
    verdict: str
    meaning: str
    notes: tuple[str, ...]
    cures: tuple[CureLine, ...]
    is_met: bool

    @property
    def working(self) -> int:
        return sum(cure.kind == "ok" for cure in self.cures)


@dataclass(frozen=True, slots=True)
class MissingLine:
    """Something that cannot be said, and what to measure for it. either: one of the sizes is enough."""

    what: str
    sizes: tuple[str, ...]
    either: bool = False

    @property
    def words(self) -> str:
        return (_(", or ") if self.either else "; ").join(self.sizes)


CureLegality = Callable[[Cure], tuple[bool | None, str]]
CureParts = Callable[[Finding, Cure], tuple[PartLine, ...]]


def finding_key(finding: Finding, cure: Cure) -> str:
    """A cure of a finding as an address carries it."""
    return f"{finding.code}:{finding.place}:{'worn' if finding.worn else 'now'}:{cure.code}"


def find_cure(report: FitReport, key: str) -> Cure | None:
    """The cure that a key names, None when it is not among them any more."""
    for finding in report.findings:
        for cure in finding.cures:
            if finding_key(finding, cure) == key:
                return cure
    return None


def finding_line(
    finding: Finding, figures: Figures, legality: CureLegality | None = None, parts: CureParts | None = None
) -> FindingLine:
    """One finding in words. legality: what the class says of the build after a cure. parts: on hand that do it."""
    unit = "°" if finding.code is FitCode.GUIDE_SWING else "mm"
    what = _(fit_words.FINDINGS[finding.code])
    place = _(fit_words.PLACES[finding.place])
    if finding.place.value != "car":
        what = f"{what}, {place}"
    if finding.worn:
        what = _("{what}, with worn tires").format(what=what)
    return FindingLine(
        code=finding.code.value,
        what=what,
        value=figures.mm(finding.value, unit),
        wanted=_wanted(finding, figures, unit),
        margin="" if finding.margin is None else figures.mm(finding.margin, unit),
        worst=figures.mm(finding.worst, unit),
        likely=figures.mm(finding.likely, unit),
        kind=KINDS[finding.verdict],
        verdict=str(SHORT[finding.verdict]),
        meaning=_(fit_words.VERDICTS[finding.verdict]),
        notes=tuple(_(fit_words.NOTES[note]) for note in finding.notes),
        cures=tuple(_cure_line(finding, cure, figures, legality, parts) for cure in finding.cures),
        is_met=finding.is_met,
    )


def _wanted(finding: Finding, figures: Figures, unit: str) -> str:
    least, most = finding.least, finding.most
    if least is not None and most is not None:
        return _("{least} to {most}").format(least=figures.number(least), most=figures.mm(most, unit))
    if least is not None:
        words = _("more than {size}") if finding.is_strict else _("at least {size}")
        return words.format(size=figures.mm(least, unit))
    return _("at most {size}").format(size=figures.mm(most, unit)) if most is not None else ""


def _cure_line(
    finding: Finding, cure: Cure, figures: Figures, legality: CureLegality | None, parts: CureParts | None
) -> CureLine:
    legal, words = legality(cure) if legality else (None, "")
    sure = figures.up(cure.sure) if cure.sure > cure.amount else ""
    return CureLine(
        code=cure.code.value,
        words=f"{_(fit_words.CURES[cure.code])} {figures.up(cure.amount)}",
        sure=sure,
        works=cure.works,
        blockers=tuple(_blocker(one, figures) for one in cure.blockers),
        cautions=tuple(_(fit_words.CAUTIONS[one]) for one in cure.cautions),
        key=None if cure.code in ANOTHER_PART else finding_key(finding, cure),
        legality=words,
        is_legal=legal,
        parts=parts(finding, cure) if parts else (),
        needs_part=parts is not None and cure.code in ANOTHER_PART,
    )


def _blocker(blocker: Any, figures: Figures) -> str:
    what, place = _(fit_words.FINDINGS[blocker.code]), _(fit_words.PLACES[blocker.place])
    words = (
        _("{what} ({place}): {size} too little") if blocker.code is not FitCode.WIDTH else _("{what}: {size} too much")
    )
    return words.format(what=what, place=place.lower(), size=figures.up(blocker.short_by))


# What is not known.

_LABELS: Mapping[str, str] = {spec.code: spec.label for spec in (*CHASSIS_SIZES, *MOUNTING_SIZES)}
# Names of the fit engine's sizes, by the size of the register that tells them and the part it belongs to.
_NAMED: Mapping[str, tuple[str, str]] = {
    "end_bell": ("end_bell", ""),
    "center_distance": ("center_distance", ""),
    "wall": ("wall", ""),
    "pinion": ("", "pinion"),
    "gear": ("", "driven_gear"),
    "below_axle": ("motor_below_axle", ""),
    "chassis_below_axle": ("chassis_below_axle", ""),
    "rear_axle_over_bottom": ("rear_axle_height", ""),
    "front_axle_over_bottom": ("front_axle_height", ""),
    "wheelbase": ("wheelbase", ""),
    "guide_ahead": ("guide_ahead", ""),
    "guide_height": ("guide_height", ""),
    "nose_ahead": ("nose_ahead", ""),
    "holder": ("guide_holder", ""),
    "leads": ("lead_routed", ""),
    "front.tire_diameter": ("diameter", "front_tires"),
    "guide.blade_depth": ("blade_depth", "guide"),
    "guide.blade_thickness": ("blade_thickness", "guide"),
    "shaft": ("shaft_length", "guide"),
    "guide.swing_left": ("tail", "guide"),
    "guide.swing_right": ("tail", "guide"),
}
_OF_TRACK = {"slot.depth": gettext_lazy("depth of the slot, with the track"),
             "slot.width": gettext_lazy("width of the slot, with the track")}  # fmt: skip
_OF_AXLE: Mapping[str, tuple[str, str]] = {
    "end_play": ("{axle}_end_play", ""),
    "hub_to_hub": ("{axle}_hub_to_hub", ""),
    "length": ("length", "{axle}_axle"),
    "bore": ("hub_length", "{axle}_wheels"),
    "body": ("{axle}_body_width", ""),
    "reach": ("{axle}_bushing_span", ""),
    "tire_width": ("width", "{axle}_tires"),
    "tire_diameter": ("diameter", "{axle}_tires"),
}
_OF_PLACE = {
    "pinion": PartKind.PINION, "driven_gear": PartKind.SPUR_GEAR, "guide": PartKind.GUIDE,
    "rear_axle": PartKind.AXLE, "front_axle": PartKind.AXLE, "rear_wheels": PartKind.WHEEL,
    "front_wheels": PartKind.WHEEL, "rear_tires": PartKind.TIRE, "front_tires": PartKind.TIRE,
}  # fmt: skip


def size_words(name: str) -> str:
    """What to measure for a size that the engine lacks, as the forms call it."""
    if name in _OF_TRACK:
        return str(_OF_TRACK[name])
    axle, _dot, rest = name.partition(".")
    code, place = _NAMED.get(name) or _OF_AXLE.get(rest.rpartition(".")[2] or "", (name, ""))
    code, place = code.format(axle=axle), place.format(axle=axle)
    labels = {spec.code: spec.label for spec in PART_SIZES.get(_OF_PLACE.get(place, PartKind.OTHER), ())}
    label = labels.get(code) or _LABELS.get(code, code.replace("_", " "))
    if not place:
        return _(label)
    part = _(PLACE_LABELS[place])
    return f"{part}: {_(label)}" if code else part


def missing_lines(missing: Iterable[Missing]) -> list[MissingLine]:
    """What cannot be said, each with what would tell; the same lack once, however many findings wait for it."""
    by_sizes: dict[tuple[str, ...], list[str]] = {}
    either: set[tuple[str, ...]] = set()
    for one in missing:
        sizes = tuple(dict.fromkeys(size_words(name) for name in one.sizes))
        if one.code is FitCode.END_PLAY:
            either.add(sizes)
        by_sizes.setdefault(sizes, []).append(_(fit_words.FINDINGS[one.code]))
    return [
        MissingLine(", ".join(dict.fromkeys(whats)), sizes, either=sizes in either) for sizes, whats in by_sizes.items()
    ]


def path_words(path: str) -> str:
    """What a path of the bench document names, as the forms call it: "Rear tires: Width"."""
    steps = path.split(".")
    labels = {spec.code: spec.label for spec in (*CHASSIS_SIZES, *MOUNTING_SIZES)}
    if steps[0] != "parts" or len(steps) < 2:
        return _(labels[steps[-1]]) if steps[-1] in labels else _OTHER_PATHS.get(path, steps[-1]).replace("_", " ")
    part = _(PLACE_LABELS.get(steps[1], steps[1]))
    if len(steps) == 2:
        return part
    if steps[-1] == "ahead":
        return _("{part}: how far ahead of the rear axle it lies").format(part=part)
    sizes = {spec.code: spec.label for specs in PART_SIZES.values() for spec in specs}
    sizes |= {spec.code: spec.label for spec in PART_SIZES.get(_OF_PLACE.get(steps[1], PartKind.OTHER), ())}
    return f"{part}: {_(sizes[steps[-1]])}" if steps[-1] in sizes else part


_OTHER_PATHS = {"track.slot_depth_mm": "depth of the slot", "track.slot_width_mm": "width of the slot"}


def need_lines(needs: Iterable[Need]) -> list[MissingLine]:
    """What cannot be worked out, each with what would have to be told."""
    return [MissingLine(_(NEEDS[one.code]), tuple(path_words(path) for path in one.paths)) for one in needs]


def cut_lines(cuts: Iterable[Cut], figures: Figures) -> list[tuple[str, str]]:
    """What is cut to length: what, and how long, and how much comes off."""
    lines = []
    for cut in cuts:
        words = figures.mm(cut.length)
        if cut.off is not None and cut.off > 0:
            words = _("{length}: {off} comes off").format(length=words, off=figures.mm(cut.off))
        lines.append((_(fit_words.CUTS[cut.code]), words))
    return lines


# Gears.


@dataclass(frozen=True, slots=True)
class MeshLines:
    """A pair of gears in words. facts: name and figure, the most telling first."""

    kind: str
    verdict: str
    why: str
    basis: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    runs: bool


def mesh_lines(mesh: Mesh, figures: Figures) -> MeshLines:
    """How a pair runs at the chassis's distance, and why."""
    facts = [(_("Between centers"), figures.mm(mesh.distance_mm)), (_("Tips reach to"), figures.mm(mesh.reach_mm))]
    if mesh.working_mm is not None:
        facts.append((_("Runs best at about"), figures.mm(mesh.working_mm)))
    if mesh.zero_backlash_mm is not None:
        facts.append((_("Without backlash at"), figures.mm(mesh.zero_backlash_mm)))
    if mesh.line is not None and mesh.overlap_mm > 0:
        facts += [
            (_("Play of the teeth"), figures.mm(mesh.line.play_mm)),
            (_("Tip to root"), figures.mm(mesh.tip_clearance_mm)),
            (_("Contact ratio"), figures.number(mesh.line.carried)),
            (_("Operating pressure angle"), figures.mm(mesh.line.pressure_angle_deg, "°").replace(" °", "°")),
        ]
    return MeshLines(
        kind="ok" if mesh.verdict.value == "runs" else "near" if mesh.verdict.runs else "bad",
        verdict=_(gear_words.VERDICTS[mesh.verdict]),
        why=_mesh_why(mesh, figures),
        basis="" if mesh.basis is Basis.THEORY else _(gear_words.BASES[mesh.basis]),
        facts=tuple(facts),
        notes=tuple(_(gear_words.NOTES[note]) for note in mesh.notes),
        runs=mesh.verdict.runs,
    )


def crown_lines(mesh: CrownMesh, figures: Figures) -> MeshLines:
    """How a pinion stands on a crown gear, with the limits of what is said."""
    findings = [_(gear_words.CROWN_FINDINGS[one]) for one in mesh.findings]
    if mesh.verdict is not None:
        findings.insert(0, _(gear_words.VERDICTS[mesh.verdict]))
    facts = [
        (_("Circle that rolls"), figures.mm(mesh.rolling_diameter_mm)),
        (_("Teeth that both cover"), figures.mm(mesh.covered_mm)),
        (_("Motor shaft to the tips of the crown"), figures.mm(mesh.setting_mm)),
    ]
    return MeshLines(
        kind="ok" if mesh.fits else "bad",
        verdict=findings[0] if findings else _("The diameters fit."),
        why=" ".join(findings[1:]),
        basis="",
        facts=tuple(facts),
        notes=tuple(_(gear_words.CROWN_LIMITS[one]) for one in mesh.limits),
        runs=mesh.fits,
    )


def _mesh_why(mesh: Mesh, figures: Figures) -> str:
    """What would have to differ, in mm."""
    if mesh.overlap_mm <= 0:
        words = _("{gap} stand between the tips at {distance} between centers; both tips together reach {reach}.")
        return words.format(
            gap=figures.mm(-mesh.overlap_mm), distance=figures.mm(mesh.distance_mm), reach=figures.mm(mesh.reach_mm)
        )
    if mesh.tip_clearance_mm <= 0:
        return _("The tips stand {size} in the roots.").format(size=figures.mm(-mesh.tip_clearance_mm))
    if mesh.line is not None and not mesh.verdict.runs:
        return _("The teeth have {play} of play; they overlap by {overlap}.").format(
            play=figures.mm(mesh.line.play_mm), overlap=figures.mm(mesh.overlap_mm)
        )
    return ""


# Legality at home.


@dataclass(frozen=True, slots=True)
class ClauseLine:
    """A clause as it stands with the car as built. wears: when it fails as tires wear, "" where it does not."""

    number: str
    text: str
    outcome: str
    too_close: bool
    found: str
    margin: str
    missing: str
    wears: str = ""
    gears: str = ""


@dataclass(frozen=True, slots=True)
class LegalityLines:
    """What the class says: in one sentence, clause by clause, what must be looked at, what becomes illegal first."""

    title: str
    words: str
    decided: tuple[ClauseLine, ...]
    unknown: tuple[ClauseLine, ...]
    first_to_go: str = ""

    @property
    def failing(self) -> int:
        return sum(line.outcome == Outcome.FAIL for line in self.decided)


def clause_line(
    clause: ClauseAtHome,
    figures: Figures,
    register: Mapping[str, Characteristic],
    *,
    wears: str = "",
    is_declared: bool = False,
) -> ClauseLine:
    """A clause in words. register: the club's characteristics by code, for the names of what is missing.

    is_declared: it rests on what the car's builder declared, not on the sizes of the sheet.
    """
    result = clause.result
    found, margin = ", ".join(result.answers), ""
    if result.assessment is not None:
        limits = result.assessment.limits
        written = limits.upper_written or limits.lower_written
        unit = written.unit if written else base_unit(limits.kind)
        reading = from_base(result.assessment.measurement.value, unit)
        shown = from_base(_rounded(reading.magnitude) * unit.factor + unit.offset, unit)
        found = format_quantity(shown, decimal_mark=figures.decimal_mark)
        margin = margin_words(result.assessment, shown, decimal_mark=figures.decimal_mark)
    if is_declared and found:
        found = _("{found} (declared)").format(found=found)
    missing = (str(one.name if (one := register.get(code)) else code.replace("_", " ")) for code in clause.unknown)
    return ClauseLine(
        number=result.clause.number,
        text=result.clause.text,
        outcome=result.outcome.value,
        too_close=result.too_close,
        found=found,
        margin=margin,
        missing=", ".join(missing),
        wears=wears,
        gears=str(_COUNTED[clause.counts_gears]) if clause.is_clearance else "",
    )


_COUNTED = {
    True: gettext_lazy("the gear counts"),
    False: gettext_lazy("the gear does not count"),
    None: gettext_lazy("nothing says whether the gear counts; it is counted"),
}


def _rounded(magnitude: Fraction) -> Fraction:
    """To a thousandth, so that a worked-out size does not run on."""
    return Fraction(round(magnitude * 1000), 1000)


def legality_of(title: str, lines: Iterable[ClauseLine], *, first_to_go: str = "") -> LegalityLines:
    """The clauses of a class, those that can be decided first to fail."""
    every = list(lines)
    order = {Outcome.FAIL.value: 0, Outcome.TOO_CLOSE.value: 1}
    decided = [line for line in every if line.outcome in {"pass", "fail", "too_close"}]
    decided.sort(key=lambda line: (order.get(line.outcome, 2), not line.too_close))
    unknown = [line for line in every if line.outcome in {"not_checked", "judge_decides"}]
    failing = [line.number for line in decided if line.outcome == Outcome.FAIL]
    if failing:
        numbers = ", ".join(failing)
        words = ngettext("Clause {numbers} fails.", "Clauses {numbers} fail.", len(failing)).format(numbers=numbers)
    elif decided:
        one, many = "The one clause that can be decided now passes.", "All {n} clauses that can be decided now pass."
        words = ngettext(one, many, len(decided)).format(n=len(decided))
    else:
        words = _("No clause can be decided before the car is measured.")
    return LegalityLines(title, words, tuple(decided), tuple(unknown), first_to_go)


# All of it.


@dataclass(frozen=True, slots=True)
class State:
    """What comes of a sheet in a few words. kind: of the shape beside it."""

    kind: str
    words: str
    more: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """Everything that a page shows of a sheet. pairs are (what, figure).

    other_gears: those on hand that run where these do not; None where these do.
    """

    state: State
    failing: tuple[FindingLine, ...] = ()
    fitting: tuple[FindingLine, ...] = ()
    missing: tuple[MissingLine, ...] = ()
    assumed: tuple[str, ...] = ()
    cuts: tuple[tuple[str, str], ...] = ()
    mesh: MeshLines | None = None
    gears: tuple[tuple[str, str], ...] = ()
    other_gears: tuple[PartLine, ...] | None = None
    legality: LegalityLines | None = None
    weight: tuple[tuple[str, str], ...] = ()
    pictures: tuple[Any, ...] = ()


def state_of(
    *, findings: Iterable[Finding], missing: Iterable[Any], mesh: MeshLines | None, legality: LegalityLines | None
) -> State:
    """Fits and legal, or what is in the way: said in the order in which it has to be mended."""
    found = list(findings)
    wrong = [one for one in found if not one.is_met]
    words = []
    if mesh is not None and not mesh.runs:
        words.append(mesh.verdict.partition(":")[0].rstrip("."))
    if wrong:
        count = len(wrong)
        words.append(ngettext("{n} thing does not fit", "{n} things do not fit", count).format(n=count))
    if legality is not None and legality.failing:
        count = legality.failing
        words.append(ngettext("{n} clause fails", "{n} clauses fail", count).format(n=count))
    more = _("Not everything is known yet.") if any(True for _one in missing) else ""
    if words:
        return State("bad", _("Does not go: {what}").format(what=", ".join(words)), more)
    close = [one for one in found if one.verdict is FitVerdict.MAY_NOT_FIT]
    if close:
        count = len(close)
        return State(
            "near", ngettext("Fits, {n} thing is close", "Fits, {n} things are close", count).format(n=count), more
        )
    if not found and mesh is None:
        return State("unchecked", _("Not enough is known yet"))
    if legality is None:
        return State("ok" if not more else "unchecked", _("What is known fits"), more or _("No class is chosen."))
    return State("ok", _("Fits, and what is known is legal"), more)


# ---- why a combination of the planner fails --------------------------------------------------------------------------


def reasons_of(failing: Failing, figures: Figures) -> list[str]:
    """Why a combination of parts fails, in words, the first obstacle first."""
    if failing.evaluation is None:
        return [str(failing.refusal)]
    done, reasons = failing.evaluation, []
    if done.mesh is None:
        reasons.append(_("How the gears mesh is not known."))
    elif not done.meshes and done.mesh.verdict is not None:
        reasons.append(_(gear_words.VERDICTS[done.mesh.verdict]))
    elif not done.meshes:
        reasons.append(_("The pinion does not suit the crown gear."))
    if done.report is None:
        reasons.append(_("What fits along the rear axle is not known."))
    reasons += [mismatch_words(found, figures) for found in done.mismatches]
    for found in failing.unfit:
        what, place = _(fit_words.FINDINGS[found.code]), _(fit_words.PLACES[found.place])
        short = figures.mm(-(found.margin or Fraction(0)))
        reasons.append(_("%(what)s, %(place)s: %(short)s short.") % {"what": what, "place": place, "short": short})
    reasons += [_("Clause %(number)s.") % {"number": clause.clause.number} for clause in failing.broken]
    return reasons


def mismatch_words(found: Mismatch, figures: Figures) -> str:
    """Two parts that do not go on each other, in words."""
    return _(MISMATCH) % {
        "part": _(PLACE_LABELS[found.place]).lower(),
        "other": _(PLACE_LABELS[found.other]).lower(),
        "size": figures.mm(found.size, ""),
        "other_size": figures.mm(found.other_size, ""),
    }

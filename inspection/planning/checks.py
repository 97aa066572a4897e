"""What a combination of parts must pass, each asked of the engines once for the parts or values that it depends on."""

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm
from typing import Any, Final, NamedTuple

from inspection.conformity.clauses import Clause
from inspection.conformity.conditions import About, terms_of
from inspection.conformity.facts import Facts
from inspection.conformity.inputs import conditions_of, inputs_of, with_parts
from inspection.conformity.sheet import Sheet
from inspection.fit.axle import REAR, AxleLines, lines_of, look_at_axle, look_at_drive
from inspection.fit.check import check_fit
from inspection.fit.errors import FitError
from inspection.fit.findings import Finding, FitReport, Missing
from inspection.fit.ground import look_at_clearance, look_at_nose
from inspection.fit.guide import look_at_guide
from inspection.fit.parts import Axle, AxleSide, Build, DrivenGear, Layout, Pinion, Side, Wheel
from inspection.fit.sizes import Size
from inspection.gearing.crown import CrownMesh
from inspection.planning.assumed import NeedCode
from inspection.planning.building import Builder
from inspection.planning.candidates import REAR_SPACERS, SEARCHED, Candidates, SpacerSet
from inspection.planning.document import Bench, BenchPart
from inspection.planning.errors import PlanningError
from inspection.planning.gears import Gears, gears_of, mesh_of
from inspection.planning.legality import CLEARANCES, clearances, gather, judge_at_home
from inspection.planning.matching import PAIRED, mismatches_of
from inspection.planning.weighing import WEIGHT_CODE, weigh_bench

Combination = tuple[int, ...]
_MISSED: Final = object()
# Which parts the value of a characteristic depends on; what is not here is the same for every combination.
WIDTH, HEIGHT, MASS = "width", "height", "mass"
_READS: Final[Mapping[str, str]] = {
    "rear-tire-diameter": "rear_tires",
    "rear-tire-width": "rear_tires",
    "rear-rim-diameter": "rear_wheels",
    "pinion-teeth": "pinion",
    "pinion-outside-diameter": "pinion",
    "driven-gear-teeth": "driven_gear",
    "driven-gear-outside-diameter": "driven_gear",
    "guide-blade-length": "guide",
    "guide-blade-depth": "guide",
    "guide-shaft-diameter": "guide",
    "motor-type": "motor",
    "width-over-rear-tires": WIDTH,
    "overall-width": WIDTH,
    WEIGHT_CODE: MASS,
    **dict.fromkeys(CLEARANCES, HEIGHT),
}


class _Numbers(NamedTuple):
    """The numbers of a combination by place, 0 where a place is not searched."""

    motor: int
    pinion: int
    driven_gear: int
    rear_tires: int
    rear_wheels: int
    guide: int
    spacers: int


@dataclass(frozen=True, slots=True)
class _AxleLook:
    """A rear axle that fits, where everything stands on it, and the width over its tires."""

    rear: Axle
    lines: AxleLines
    width: Fraction
    width_class: int


@dataclass(frozen=True, slots=True)
class _Heights:
    """Over the track at the rear axle, in mm: of the gear, and of motor and chassis."""

    gear: Fraction | None
    rest: tuple[Fraction, ...]
    number: int


@dataclass(frozen=True, slots=True)
class _WheelPiece:
    """A wheel with its tire, its class, and that of its diameter alone. Classes are small numbers: a fraction is slow
    to look up."""

    wheel: Wheel
    number: int
    tire_class: int


@dataclass(frozen=True, slots=True)
class _GearPieces:
    pinion: Pinion | None
    on_axle: DrivenGear | None
    inside: DrivenGear | None
    pinion_class: int
    width_class: int
    outside_class: int


@dataclass(frozen=True, slots=True)
class _Masses:
    """In shares of a gram, unit of them to one: what does not change, and of the parts at each place."""

    unit: int
    base: int | None
    of_parts: tuple[tuple[str, tuple[int | None, ...]], ...]


@dataclass(frozen=True, slots=True)
class _Group:
    """Clauses that read the same of a combination."""

    reads: tuple[str, ...]
    sheet: Sheet


class Checks:
    """All checks of one search. Nothing here decides by itself: it asks what `evaluate` asks."""

    def __init__(
        self,
        bench: Bench,
        candidates: Candidates,
        *,
        sheet: Sheet | None,
        facts: Facts | None,
        counts_with: dict[str, str] | None,
    ) -> None:
        self.bench, self.targets = bench, bench.targets
        self.parts = candidates.parts
        self.sets: tuple[SpacerSet, ...] = candidates.spacer_sets
        self.where = [candidates.places.index(place) if place in candidates.places else None for place in SEARCHED]
        self.facts = facts or Facts(track=bench.track.name or None, track_values=bench.track.values)
        self.counts_with = counts_with or {}
        self.memo: dict[Hashable, Any] = {}
        self.classes: dict[tuple[str, Any], int] = {}
        self.groups = [] if sheet is None else _groups_of(sheet)
        self.start = self._whole_build()
        self.front = self._front()
        self.masses = self._masses()

    def pass_all(self, combination: Combination) -> bool:
        """Would `evaluate` call it good?"""
        if self.start is None or not self.front[0]:
            return False
        one = _Numbers._make([*(0 if at is None else combination[at] for at in self.where), combination[-1]])
        return (
            self._meshes(one)
            and self._go_together(one)
            and self._stands(one) is not None
            and self._guide_fits(one)
            and self._drive_fits(one)
            and self._is_legal(one)
        )

    # ---- asking once ---------------------------------------------------------------------------------------------

    def once(self, key: Hashable, ask: Callable[[], Any]) -> Any:
        """What was asked before, else the answer; None for sizes that no build can have."""
        found = self.memo.get(key, _MISSED)
        if found is _MISSED:
            try:
                found = ask()
            except PlanningError:
                found = None
            self.memo[key] = found
        return found

    def class_of(self, name: str, value: Hashable) -> int:
        """A number for a value, the same for the same value: fewer sets of parts to ask about."""
        return self.classes.setdefault((name, value), len(self.classes))

    def made(self, one: _Numbers, *places: str) -> Bench:
        """The bench with the parts of a combination at these places."""
        chosen: dict[str, BenchPart] = {
            place: self.parts[place][getattr(one, place)] for place in places if self.parts.get(place)
        }
        return self.bench.with_parts(chosen)

    # ---- pieces of a build ---------------------------------------------------------------------------------------

    def _whole_build(self) -> Build | None:
        """Something to put pieces into: all of the build that no candidate changes. None where that cannot be."""
        builder = Builder(self.made(_Numbers(0, 0, 0, 0, 0, 0, 0), *SEARCHED))
        bench = builder.bench
        reach = bench.chassis.half("rear_bushing_span")
        if reach is None:
            return None
        blank = Size(Fraction(1))
        wheel = Wheel(tire_diameter=blank, tire_width=blank)
        side = AxleSide(reach=reach, wheel=wheel, body=builder.body("rear"))
        rear = Axle(
            left=side,
            right=side,
            length=bench.size_of("rear_axle", "length"),
            end_play=bench.mounting.size("rear_end_play"),
            hub_to_hub=bench.mounting.size("rear_hub_to_hub"),
        )
        try:
            build = Build(
                rear=rear,
                drive=builder.drive(Gears(), None, None),
                front=builder.axle("front", None),
                ground=builder.ground(),
                guide=builder.guide(),
                slot=builder.slot(),
                wear=bench.mounting.base("wear") or Fraction(0),
            )
            check_fit(build, self.targets, cures=False)
        except (PlanningError, FitError):
            return None
        return build

    def _front(self) -> tuple[bool, dict[str, Fraction]]:
        """Does the front axle fit, and the width over its tires."""
        front = None if self.start is None else self.start.front
        if front is None:
            return True, {}
        lines = lines_of(front, "front", self.targets)
        width = (lines.left.tire_out + lines.right.tire_out + lines.play).value
        return _all_met(look_at_axle(front, lines, self.targets)), {"width-over-front-tires": width}

    def _wheel(self, one: _Numbers) -> _WheelPiece | None:
        """The wheel with its tire, and its class; None where that is none."""
        return self.once(  # type: ignore[no-any-return]
            ("wheel", one.rear_tires, one.rear_wheels), lambda: self._make_wheel(one)
        )

    def _make_wheel(self, one: _Numbers) -> _WheelPiece | None:
        wheel = Builder(self.made(one, "rear_tires", "rear_wheels")).wheel(REAR)
        if wheel is None or wheel.tire_diameter.value <= 0 or wheel.tire_width.value <= 0:
            return None
        tire_class = self.class_of("tire", wheel.tire_diameter)
        return _WheelPiece(wheel, self.class_of("wheel", wheel), tire_class)

    def _gears(self, one: _Numbers) -> _GearPieces | None:
        return self.once(  # type: ignore[no-any-return]
            ("gears", one.pinion, one.driven_gear), lambda: self._make_gears(one)
        )

    def _make_gears(self, one: _Numbers) -> _GearPieces | None:
        builder = Builder(self.made(one, "pinion", "driven_gear"))
        gears = gears_of(builder.bench)
        driven, pinion = builder.driven(gears), builder.pinion(gears)
        if builder.has_gear_on_axle() and driven is None:
            return None
        on_axle = driven if builder.has_gear_on_axle() else None
        widths = None if on_axle is None else (on_axle.face_width, on_axle.hub_width, on_axle.hub_in)
        return _GearPieces(
            pinion=pinion,
            on_axle=on_axle,
            inside=None if builder.has_gear_on_axle() else driven,
            pinion_class=self.class_of("pinion", pinion),
            width_class=self.class_of("widths", widths),
            outside_class=self.class_of("outside", None if driven is None else driven.outside_diameter),
        )

    def _distance(self, one: _Numbers) -> tuple[Size | None, int]:
        """Of motor shaft and axle, and its class: it may rest on the motor's own shaft."""

        def ask() -> tuple[Size | None, int]:
            distance = Builder(self.made(one, "motor")).distance()
            return distance, self.class_of("distance", distance)

        return self.once(("distance", one.motor), ask) or (None, -1)

    def _sides(self, one: _Numbers) -> dict[str, tuple[Size, ...]]:
        def lay() -> dict[str, tuple[Size, ...]]:
            bench = self.bench.with_parts({}, self.sets[one.spacers].spacers if self.sets else None)
            return {place: Builder(bench).spacers(place) for place in REAR_SPACERS}

        return self.once(("spacers", one.spacers), lay)  # type: ignore[no-any-return]

    # ---- does it mesh and fit ------------------------------------------------------------------------------------

    def _meshes(self, one: _Numbers) -> bool:
        distance, number = self._distance(one)

        def ask() -> bool:
            bench = self.made(one, "pinion", "driven_gear", "motor")
            mesh = mesh_of(bench, gears_of(bench), distance)
            return mesh is not None and (mesh.fits if isinstance(mesh, CrownMesh) else mesh.verdict.runs)

        return bool(self.once(("mesh", one.pinion, one.driven_gear, number), ask))

    def _go_together(self, one: _Numbers) -> bool:
        return all(
            self.once(
                ("match", place, other, getattr(one, place, 0), getattr(one, other, 0)),
                lambda place=place, other=other: (
                    not any(  # type: ignore[misc]
                        found.place == place and found.other == other
                        for found in mismatches_of(
                            self.made(one, *(each for each in (place, other) if each in SEARCHED))
                        )
                    )
                ),
            )
            for place, other in PAIRED
        )

    def _stands(self, one: _Numbers) -> _Heights | None:
        """Clearances over the track; None where something does not fit."""
        wheel, gears = self._wheel(one), self._gears(one)
        if wheel is None or gears is None or self.start is None:
            return None
        start = self.start

        def ask() -> _Heights | None:
            rear = self._rear(one, wheel.wheel, gears.on_axle)
            build = replace(start, rear=rear, drive=replace(start.drive, inside_gear=gears.inside))
            looks = (*look_at_clearance(build, self.targets), *look_at_nose(build, self.targets))
            if not _all_met(looks):
                return None
            report = FitReport(findings=tuple(look for look in looks if isinstance(look, Finding)), missing=(), cuts=())
            gear, rest = clearances(build, report)
            low, others = None if gear is None else gear.value, tuple(stack.value for stack in rest)
            return _Heights(low, others, self.class_of("heights", (low, others)))

        return self.once(("heights", wheel.tire_class, gears.outside_class), ask)  # type: ignore[no-any-return]

    def _guide_fits(self, one: _Numbers) -> bool:
        def ask() -> bool:
            if self.start is None:
                return False
            build = replace(self.start, guide=Builder(self.made(one, "guide")).guide())
            return _all_met(look_at_guide(build, self.targets))

        return bool(self.once(("guide", one.guide), ask))

    def _rear(self, one: _Numbers, wheel: Wheel, gear: DrivenGear | None) -> Axle:
        assert self.start is not None  # noqa: S101  whoever asks has looked
        rear, laid = self.start.rear, self._sides(one)
        sides = {
            side.value: replace(
                rear.side(side),
                wheel=wheel,
                inner_spacers=laid[f"rear_{side}_inner"],
                outer_spacers=laid[f"rear_{side}_outer"],
                gear=gear if side is self.start.drive.side else None,
            )
            for side in Side
        }
        return replace(rear, left=sides["left"], right=sides["right"])

    def _axle(self, one: _Numbers) -> _AxleLook | None:
        """The rear axle with all on it; None where something does not fit."""
        wheel, gears = self._wheel(one), self._gears(one)
        if wheel is None or gears is None:
            return None

        def ask() -> _AxleLook | None:
            rear = self._rear(one, wheel.wheel, gears.on_axle)
            lines = lines_of(rear, REAR, self.targets)
            if not _all_met(look_at_axle(rear, lines, self.targets)):
                return None
            width = (lines.left.tire_out + lines.right.tire_out + lines.play).value
            return _AxleLook(rear, lines, width, self.class_of("width", width))

        return self.once(("axle", wheel.number, gears.width_class, one.spacers), ask)  # type: ignore[no-any-return]

    def _drive_fits(self, one: _Numbers) -> bool:
        wheel, gears, axle = self._wheel(one), self._gears(one), self._axle(one)
        if wheel is None or gears is None or axle is None or self.start is None:
            return False
        distance, number = self._distance(one)
        start = self.start

        def ask() -> bool:
            center = None if start.drive.layout is Layout.INLINE else distance
            drive = replace(start.drive, pinion=gears.pinion, center_distance=center, inside_gear=gears.inside)
            build = replace(start, rear=axle.rear, drive=drive)
            return _all_met(look_at_drive(build, axle.lines, self.targets))

        key = ("drive", wheel.number, gears.width_class, one.spacers, gears.pinion_class, number)
        return bool(self.once(key, ask))

    # ---- is it legal ---------------------------------------------------------------------------------------------

    def _is_legal(self, one: _Numbers) -> bool:
        return all(self._group_clears(number, group, one) for number, group in enumerate(self.groups))

    def _group_clears(self, number: int, group: _Group, one: _Numbers) -> bool:
        key = ("legal", number, *(self._value(name, one) for name in group.reads))
        return bool(self.once(key, lambda: self._judge(group, one)))

    def _value(self, name: str, one: _Numbers) -> Hashable:
        """What a clause reads, told apart by value where many combinations have the same."""
        if name == WIDTH:
            axle = self._axle(one)
            return None if axle is None else axle.width_class
        if name == HEIGHT:
            heights = self._stands(one)
            return None if heights is None else heights.number
        if name == MASS:
            return self._mass(one)
        return getattr(one, name)  # type: ignore[no-any-return]

    def _mass(self, one: _Numbers) -> int | None:
        """Of the whole car, in shares of a gram as small as all masses need: what does not change, and every part that
        is chosen. None where it is not known."""
        total: int | None = self.masses.base
        for place, grams in self.masses.of_parts:
            mass = grams[getattr(one, place)]
            if mass is None or total is None:
                return None
            total += mass
        return total

    def _masses(self) -> _Masses:
        """The mass without what is searched, and that of every part that may be added to it."""
        first = weigh_bench(self.made(_Numbers(0, 0, 0, 0, 0, 0, 0), *SEARCHED), None)
        searched = [place for place in SEARCHED if self.parts.get(place)]
        base = first.mass
        grams: dict[str, list[Fraction | None]] = {}
        if WEIGHT_CODE not in self.bench.declared:
            heavy = {path for need in first.needs if need.code is NeedCode.WEIGHT for path in need.paths}
            is_known = not heavy - {f"parts.{place}.sizes.mass" for place in searched}
            grams = {place: [part.sizes.base("mass") for part in self.parts[place]] for place in searched}
            base = (
                first.known - sum((one[0] or Fraction(0) for one in grams.values()), Fraction(0)) if is_known else None
            )
        every = [mass for one in grams.values() for mass in one if mass is not None]
        unit = lcm(*(mass.denominator for mass in [*every, base or Fraction(0)]))
        return _Masses(
            unit,
            None if base is None else int(base * unit),
            tuple(
                (place, tuple(None if mass is None else int(mass * unit) for mass in one))
                for place, one in grams.items()
            ),
        )

    def _judge(self, group: _Group, one: _Numbers) -> bool:
        heights, axle = self._stands(one), self._axle(one)
        if heights is None or axle is None:
            return False
        mass = self._mass(one)
        found = gather(
            self.made(one, *SEARCHED),
            group.sheet.register,
            widths={"width-over-rear-tires": axle.width, **self.front[1]},
            gear_low=heights.gear,
            rest_low=heights.rest,
            mass=None if mass is None else Fraction(mass, self.masses.unit),
        )
        return judge_at_home(group.sheet, found, self.facts, counts_with=self.counts_with).is_legal


def _all_met(looks: Iterable[Finding | Missing]) -> bool:
    return all(look.is_met for look in looks if isinstance(look, Finding))


def _groups_of(sheet: Sheet) -> list[_Group]:
    """The clauses by what they read of a combination. What asks about other clauses is judged with the whole sheet."""
    groups: dict[tuple[str, ...], list[Clause]] = {}
    whole: set[str] = set()
    asks_others = False
    for clause in sheet.clauses:
        if not clause.is_checked:
            continue
        inputs = inputs_of(clause, sheet.register)
        reads = {_READS[code] for code in (*inputs.found, *inputs.asked) if code in _READS}
        whole |= reads
        if inputs.clauses or _asks_of_sheet(clause):
            asks_others = True
        groups.setdefault(tuple(sorted(reads)), []).append(clause)
    made = [_Group(reads, replace(sheet, clauses=tuple(clauses), is_closed=False)) for reads, clauses in groups.items()]
    if asks_others:
        return [_Group(tuple(sorted(whole)), sheet)]
    if sheet.is_closed:
        made.append(_Group((), replace(sheet, clauses=())))
    return made


def _asks_of_sheet(clause: Clause) -> bool:
    return any(
        term.about is About.RESTRICTED
        for one in with_parts(clause)
        for condition in conditions_of(one)
        for term in terms_of(condition)
    )

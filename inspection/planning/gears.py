"""From what is told of two gears to the gears of the gearing engine, with what was assumed about them."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from inspection.fit.sizes import Size
from inspection.gearing.crown import CrownGear, CrownMesh, crown_mesh
from inspection.gearing.errors import GearingError
from inspection.gearing.mesh import Mesh, RunningRecord, mesh_at
from inspection.gearing.series import guess_modules
from inspection.gearing.spur import AssumedGear, SpurGear, assume_gear
from inspection.planning.assumed import Assumed, Need, NeedCode
from inspection.planning.document import Bench
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.register import PartKind
from inspection.planning.told import Told

_INCH: Final = Fraction(254, 10)


@dataclass(frozen=True, slots=True)
class GearTold:
    """A gear as it is told: teeth, module in mm where it is told or follows from a pitch, outside diameter in mm."""

    teeth: int
    module: Fraction | None
    outside: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gears:
    """Both gears, None where they are not known. records: how this very pair ran in this chassis, if it did.

    teeth: of pinion and driven gear where both are told, also where no gear can be made of the rest.
    """

    pinion: SpurGear | None = None
    driven: SpurGear | CrownGear | None = None
    teeth: tuple[int, int] | None = None
    ran_free: bool = False
    assumptions: tuple[Assumed, ...] = ()
    needs: tuple[Need, ...] = ()

    @property
    def ratio(self) -> Fraction | None:
        """Turns of the motor for one of the axle, exact."""
        return None if self.teeth is None else Fraction(self.teeth[1], self.teeth[0])


def gear_told(sizes: Told, path: str) -> GearTold | None:
    """None without a tooth count. Raises PlanningError impossible."""
    teeth = sizes.base("teeth")
    if teeth is None:
        return None
    module, pitch = sizes.base("module"), sizes.base("diametral_pitch")
    if module is None and pitch is not None:
        if pitch <= 0:
            raise PlanningError(PlanningCode.IMPOSSIBLE, path=f"{path}.diametral_pitch", why="A pitch is above 0.")
        module = _INCH / pitch
    return GearTold(int(teeth), module, sizes.base("outside_diameter"))


def gears_of(bench: Bench) -> Gears:
    """The gears that are chosen. Raises PlanningError impossible for sizes that no gear has."""
    first, second = bench.parts.get("pinion"), bench.parts.get("driven_gear")
    one = None if first is None else gear_told(first.sizes, "parts.pinion.sizes")
    other = None if second is None else gear_told(second.sizes, "parts.driven_gear.sizes")
    lacks = [f"parts.{place}.sizes.teeth" for place, told in (("pinion", one), ("driven_gear", other)) if told is None]
    if one is None or other is None:
        needs = tuple(Need(code, tuple(lacks)) for code in (NeedCode.RATIO, NeedCode.MESH))
        return Gears(needs=needs)
    if one.teeth < 1 or other.teeth < 1:
        place = "pinion" if one.teeth < 1 else "driven_gear"
        raise PlanningError(
            PlanningCode.IMPOSSIBLE, path=f"parts.{place}.sizes.teeth", why="A gear has 1 tooth or more."
        )
    if second is not None and second.kind is PartKind.CROWN_GEAR:
        return _crown_pair(one, other, second.sizes.base("inner_diameter"))
    return _pair(one, other, tuple(_records(bench)))


def _records(bench: Bench) -> Sequence[tuple[GearTold, GearTold]]:
    pairs = []
    for number, (pinion, driven) in enumerate(bench.runs_free):
        path = f"chassis.runs_free[{number}]"
        one, other = gear_told(pinion, f"{path}.pinion"), gear_told(driven, f"{path}.driven_gear")
        if one is not None and other is not None:
            pairs.append((one, other))
    return pairs


def pair_of(bench: Bench, number: int) -> tuple[SpurGear, SpurGear]:
    """The gears of a pair that runs free. Raises PlanningError impossible."""
    one, other = _records(bench)[number]
    try:
        return tuple(each.gear for each in _spurs(one, other))  # type: ignore[return-value]
    except GearingError as error:
        path = f"chassis.runs_free[{number}]"
        raise PlanningError(PlanningCode.IMPOSSIBLE, path=path, why=str(error)) from error


@lru_cache(maxsize=4096)
def _pair(one: GearTold, other: GearTold, records: tuple[tuple[GearTold, GearTold], ...]) -> Gears:
    teeth = (one.teeth, other.teeth)
    lacks = tuple(
        f"parts.{place}.sizes.outside_diameter"
        for place, told in (("pinion", one), ("driven_gear", other))
        if told.outside is None and one.module is None and other.module is None
    )
    if lacks:
        return Gears(teeth=teeth, needs=(Need(NeedCode.MESH, lacks),))
    try:
        pinion, driven = _spurs(one, other)
    except GearingError as error:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="parts.driven_gear.sizes", why=str(error)) from error
    return Gears(
        pinion=pinion.gear,
        driven=driven.gear,
        teeth=teeth,
        ran_free=any(_is_same(pinion.gear, driven.gear, pair) for pair in records),
        assumptions=(*_told_of(pinion, "pinion"), *_told_of(driven, "driven_gear")),
    )


def _told_of(gear: AssumedGear, place: str) -> list[Assumed]:
    return [Assumed(code, f"parts.{place}.sizes") for code in gear.assumptions]


def _spurs(one: GearTold, other: GearTold) -> tuple[AssumedGear, AssumedGear]:
    """Both gears. A module that one of them tells is the other's too; without any, the one that asks for the least
    profile shift of both together. Raises GearingError."""
    common = None
    if one.module is None and other.module is None and one.outside is not None and other.outside is not None:
        common = _common_module(one, other)
    pinion = assume_gear(
        teeth=one.teeth,
        module_mm=one.module,
        outside_diameter_mm=one.outside,
        mate_module_mm=other.module or (common if other.teeth > one.teeth else None),
    )
    driven = assume_gear(
        teeth=other.teeth,
        module_mm=other.module,
        outside_diameter_mm=other.outside,
        mate_module_mm=one.module or common or (pinion.gear.module_mm if other.outside is None else None),
    )
    if common is not None and pinion.gear.module_mm != common:
        pinion = assume_gear(teeth=one.teeth, outside_diameter_mm=one.outside, mate_module_mm=common)
    return pinion, driven


def _common_module(one: GearTold, other: GearTold) -> Fraction | None:
    first = {
        guess.module_mm: abs(guess.shift)
        for guess in guess_modules(teeth=one.teeth, outside_diameter_mm=one.outside or Fraction(0))
    }
    second = {
        guess.module_mm: abs(guess.shift)
        for guess in guess_modules(teeth=other.teeth, outside_diameter_mm=other.outside or Fraction(0))
    }
    both = [module for module in first if module in second]
    return min(both, key=lambda module: (first[module] + second[module], module), default=None)


def _is_same(pinion: SpurGear, driven: SpurGear, pair: tuple[GearTold, GearTold]) -> bool:
    """Is a pair that runs free this very one: teeth, diameter and module, where they are told?"""
    for gear, told in zip((pinion, driven), pair, strict=True):
        if gear.teeth != told.teeth:
            return False
        if told.outside is not None and told.outside != gear.outside_diameter_mm:
            return False
        if told.module is not None and told.module != gear.module_mm:
            return False
        if told.outside is None and told.module is None:
            return False
    return True


@lru_cache(maxsize=4096)
def _crown_pair(one: GearTold, other: GearTold, inner: Fraction | None) -> Gears:
    lacks = tuple(
        f"parts.driven_gear.sizes.{name}"
        for name, size in (("outside_diameter", other.outside), ("inner_diameter", inner))
        if size is None
    )
    teeth = (one.teeth, other.teeth)
    try:
        pinion = assume_gear(
            teeth=one.teeth, module_mm=one.module, outside_diameter_mm=one.outside, mate_module_mm=other.module
        )
        if other.outside is None or inner is None:
            return Gears(
                pinion=pinion.gear,
                teeth=teeth,
                assumptions=tuple(_told_of(pinion, "pinion")),
                needs=(Need(NeedCode.MESH, lacks),),
            )
        driven = CrownGear(
            teeth=other.teeth,
            module_mm=other.module or pinion.gear.module_mm,
            outside_diameter_mm=other.outside,
            inner_diameter_mm=inner,
        )
    except GearingError as error:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="parts.driven_gear.sizes", why=str(error)) from error
    return Gears(pinion=pinion.gear, driven=driven, teeth=teeth, assumptions=tuple(_told_of(pinion, "pinion")))


def mesh_of(bench: Bench, gears: Gears, distance: Size | None) -> Mesh | CrownMesh | None:
    """How the gears mesh in the chassis, None where that is not known. A pair that ran free there outranks theory."""
    if gears.pinion is None or gears.driven is None:
        return None
    if isinstance(gears.driven, CrownGear):
        return _crown_mesh(bench, gears.pinion, gears.driven)
    if distance is None:
        return None
    angle = bench.chassis.base("shaft_angle") or Fraction(0)
    try:
        return _mesh(gears.pinion, gears.driven, distance.value, angle, gears.ran_free)
    except GearingError as error:
        path = "chassis.sizes.center_distance"
        raise PlanningError(PlanningCode.IMPOSSIBLE, path=path, why=str(error)) from error


@lru_cache(maxsize=4096)
def _mesh(pinion: SpurGear, driven: SpurGear, distance: Fraction, angle: Fraction, ran_free: bool) -> Mesh:
    records = (RunningRecord(distance_mm=distance),) if ran_free else ()
    return mesh_at(pinion, driven, distance_mm=distance, records=records, shaft_angle_deg=angle)


def _crown_mesh(bench: Bench, pinion: SpurGear, crown: CrownGear) -> CrownMesh | None:
    """Inline: `end_bell` is told from the center of the axle, and the pinion stands between it and the axle."""
    bell, gap = bench.chassis.base("end_bell"), bench.mounting.base("pinion_gap")
    part = bench.parts.get("pinion")
    length = None if part is None else part.sizes.base("length")
    axle = bench.chassis.size("axle_diameter") or bench.size_of("rear_axle", "diameter")
    if bell is None or gap is None or length is None or axle is None:
        return None
    try:
        return crown_mesh(
            pinion,
            crown,
            pinion_from_mm=bell - gap - length,
            pinion_length_mm=length,
            axle_diameter_mm=axle.value,
        )
    except GearingError as error:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="chassis.sizes.end_bell", why=str(error)) from error


def crown_lacks(bench: Bench) -> tuple[str, ...]:
    """What a crown gear's mesh would have to be told."""
    part = bench.parts.get("pinion")
    told = {
        "chassis.sizes.end_bell": bench.chassis.base("end_bell"),
        "mounting.pinion_gap": bench.mounting.base("pinion_gap"),
        "parts.pinion.sizes.length": None if part is None else part.sizes.base("length"),
        "chassis.sizes.axle_diameter": bench.chassis.base("axle_diameter"),
    }
    return tuple(path for path, size in told.items() if size is None)

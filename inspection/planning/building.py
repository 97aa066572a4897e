"""From what is told to the sizes of a build: axles, drive, ground, guide and slot, for the fit engine."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.fit.parts import (
    Axle,
    AxleSide,
    Build,
    Drive,
    DrivenGear,
    Ground,
    Guide,
    Layout,
    Leads,
    Pinion,
    Side,
    Slot,
    Wheel,
)
from inspection.fit.sizes import ZERO, Size
from inspection.gearing.errors import GearingError
from inspection.gearing.mesh import distance_across, distance_from_pair
from inspection.planning.assumed import Assumed, AssumedCode, Need, NeedCode
from inspection.planning.document import Bench
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.gears import Gears, gears_of, pair_of
from inspection.planning.register import PartKind

NOTHING: Final = Size(ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A bench as the engines take it. build: None while the rear axle is not known; needs then says why.

    distance: of motor shaft and axle, in mm.
    """

    build: Build | None
    gears: Gears
    distance: Size | None
    assumptions: tuple[Assumed, ...]
    needs: tuple[Need, ...]


def build_of(bench: Bench) -> Built:
    """The build that is told, what was assumed to know it, and what is missing. Raises PlanningError impossible."""
    return Builder(bench).built()


def layout_of(bench: Bench) -> Layout:
    """As told, else across the car."""
    return Layout(bench.chassis.word("layout") or Layout.SIDEWINDER)


class Builder:
    """Makes the pieces of a build from a bench; the planner asks for single pieces."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.assumed: list[Assumed] = []
        self.needs: list[Need] = []

    def built(self) -> Built:
        bench = self.bench
        if not bench.is_precision_told:
            value = f"{float(bench.precision.length):g}"
            self.assume(AssumedCode.MEASURED_WITHIN, "within.length", value)
        gears = gears_of(bench)
        self.assumed += gears.assumptions
        self.needs += gears.needs
        distance = self.distance()
        if gears.pinion is not None and gears.driven is not None and distance is None:
            self.need(NeedCode.MESH, "chassis.sizes.center_distance")
        driven = self.driven(gears)
        rear = self.axle("rear", driven)
        build = None
        if rear is not None:
            front = self.axle("front", None)
            build = Build(
                rear=rear,
                drive=self.drive(gears, driven, distance),
                front=front,
                ground=self.ground(),
                guide=self.guide(),
                slot=self.slot(),
                wear=bench.mounting.base("wear") or ZERO,
            )
        return Built(
            build=build,
            gears=gears,
            distance=distance,
            assumptions=tuple(self.assumed),
            needs=tuple(self.needs),
        )

    def assume(self, code: AssumedCode, path: str, value: str = "") -> None:
        self.assumed.append(Assumed(code, path, value))

    def need(self, code: NeedCode, *paths: str) -> None:
        self.needs.append(Need(code, paths))

    # ---- the drive -----------------------------------------------------------------------------------------------

    def layout(self) -> Layout:
        return layout_of(self.bench)

    def side(self) -> Side:
        return Side(self.bench.chassis.word("gear_side") or Side.RIGHT)

    def distance(self) -> Size | None:
        """Center distance: typed, else across both shafts, else from a pair that runs free."""
        chassis = self.bench.chassis
        typed = chassis.size("center_distance")
        if typed is not None:
            return typed
        across = chassis.size("across_shafts")
        shaft = chassis.size("motor_shaft") or self.bench.size_of("motor", "shaft_diameter")
        axle = chassis.size("axle_diameter") or self.bench.size_of("rear_axle", "diameter")
        if across is not None and shaft is not None and axle is not None:
            try:
                value = distance_across(across_mm=across.value, motor_shaft_mm=shaft.value, axle_mm=axle.value)
            except GearingError as error:
                raise PlanningError(
                    PlanningCode.IMPOSSIBLE, path="chassis.sizes.across_shafts", why=str(error)
                ) from error
            return Size(value, across.within + (shaft.within + axle.within) / 2)
        for number in range(len(self.bench.runs_free)):
            ranged = distance_from_pair(*pair_of(self.bench, number))
            if ranged is not None:
                self.assume(AssumedCode.DISTANCE_FROM_PAIR, f"chassis.runs_free[{number}]")
                off = max(ranged.likely_mm - ranged.least_mm, ranged.most_mm - ranged.likely_mm)
                return Size(Fraction(round(ranged.likely_mm * 1000), 1000), Fraction(round(off * 1000), 1000))
        return None

    def driven(self, gears: Gears) -> DrivenGear | None:
        """The gear as it lies on the axle. None without one, or where its widths are not known."""
        part, gear = self.bench.parts.get("driven_gear"), gears.driven
        if part is None or gear is None:
            return None
        face, hub = part.sizes.size("face_width"), part.sizes.size("hub_width")
        if face is None or hub is None:
            return None
        word = self.bench.mounting.word("hub_side")
        if not word and hub.value and self.layout() is not Layout.INLINE:
            self.assume(AssumedCode.HUB_IN, "mounting.hub_side")
        outside = part.sizes.size("outside_diameter") or Size(gear.outside_diameter_mm)
        return DrivenGear(outside_diameter=outside, face_width=face, hub_width=hub, hub_in=word != "out")

    def drive(self, gears: Gears, driven: DrivenGear | None, distance: Size | None) -> Drive:
        chassis = self.bench.chassis
        if not chassis.word("layout"):
            self.assume(AssumedCode.LAYOUT, "chassis.sizes.layout")
        layout = self.layout()
        if not chassis.word("gear_side") and layout is not Layout.INLINE:
            self.assume(AssumedCode.GEAR_SIDE, "chassis.sizes.gear_side")
        return Drive(
            layout=layout,
            side=self.side(),
            pinion=self.pinion(gears),
            center_distance=None if layout is Layout.INLINE else distance,
            end_bell=chassis.size("end_bell"),
            wall=chassis.size("wall"),
            below_axle=chassis.size("motor_below_axle"),
            inside_gear=driven if layout is Layout.INLINE else None,
        )

    def pinion(self, gears: Gears) -> Pinion | None:
        part, gear = self.bench.parts.get("pinion"), gears.pinion
        if part is None:
            return None
        outside = part.sizes.size("outside_diameter")
        if outside is None and gear is not None:
            outside = Size(gear.outside_diameter_mm)
        length, gap = part.sizes.size("length"), self.bench.mounting.size("pinion_gap")
        if outside is None or length is None or gap is None:
            told = (
                ("parts.pinion.sizes.outside_diameter", outside),
                ("parts.pinion.sizes.length", length),
                ("mounting.pinion_gap", gap),
            )
            self.need(NeedCode.PINION_IN_PLACE, *(path for path, size in told if size is None))
            return None
        return Pinion(outside_diameter=outside, length=length, gap=gap)

    # ---- axles ---------------------------------------------------------------------------------------------------

    def axle(self, name: str, driven: DrivenGear | None) -> Axle | None:
        """An axle with both sides, or None with what it lacks named."""
        bench, tires, wheels = self.bench, f"{name}_tires", f"{name}_wheels"
        reach, wheel = bench.chassis.half(f"{name}_bushing_span"), self.wheel(name)
        on_axle = name == "rear" and self.has_gear_on_axle()
        told = (
            (f"chassis.sizes.{name}_bushing_span", reach),
            (f"parts.{tires}.sizes.diameter", bench.size_of(tires, "diameter")),
            (f"parts.{tires}.sizes.width", bench.size_of(tires, "width")),
        )
        lacks = [path for path, size in told if size is None]
        if on_axle and driven is None:
            part = bench.parts["driven_gear"]
            lacks += [
                f"parts.driven_gear.sizes.{code}"
                for code in ("teeth", "face_width", "hub_width")
                if part.sizes.size(code) is None
            ] or ["parts.driven_gear.sizes.outside_diameter"]
        if lacks or reach is None or wheel is None:
            if name == "rear" or tires in bench.parts or wheels in bench.parts:
                self.need(NeedCode.REAR_AXLE if name == "rear" else NeedCode.FRONT_AXLE, *lacks)
            return None
        self.assume(AssumedCode.HALF_OF_SPAN, f"chassis.sizes.{name}_bushing_span")
        body = self.body(name)
        gear = driven if on_axle else None
        left, right = (
            AxleSide(
                reach=reach,
                wheel=wheel,
                inner_spacers=self.spacers(f"{name}_{side}_inner"),
                gear=gear if side is self.side() else None,
                outer_spacers=self.spacers(f"{name}_{side}_outer"),
                body=body,
            )
            for side in (Side.LEFT, Side.RIGHT)
        )
        return Axle(
            left=left,
            right=right,
            length=bench.size_of(f"{name}_axle", "length"),
            end_play=bench.mounting.size(f"{name}_end_play"),
            hub_to_hub=bench.mounting.size(f"{name}_hub_to_hub"),
        )

    def has_gear_on_axle(self) -> bool:
        """Does the gear lie beside the wheel? Between the bushings of an inline car it does not."""
        return self.layout() is not Layout.INLINE and "driven_gear" in self.bench.parts

    def wheel(self, name: str) -> Wheel | None:
        """A wheel with its tire, None while the tire is not known."""
        bench, tires, wheels = self.bench, f"{name}_tires", f"{name}_wheels"
        diameter, width = bench.size_of(tires, "diameter"), bench.size_of(tires, "width")
        if diameter is None or width is None:
            return None
        return Wheel(
            tire_diameter=diameter,
            tire_width=width,
            inset=self.inset(wheels),
            rim_diameter=bench.size_of(wheels, "rim_diameter") or bench.size_of(tires, "rim_diameter"),
            bore=bench.size_of(wheels, "hub_length"),
            edge=(bench.mounting.base("edge") or ZERO) if name == "rear" else ZERO,
        )

    def inset(self, wheels: str) -> Size:
        found = self.bench.size_of(wheels, "inset")
        if found is None:
            self.assume(AssumedCode.TIRE_AT_HUB, f"parts.{wheels}.sizes.inset")
        return found or NOTHING

    def body(self, name: str) -> Size | None:
        """Half of the width inside the body; of the body that is chosen where it is told, else the chassis's."""
        size = self.bench.size_of("body", "width") if name == "rear" else None
        path = "parts.body.sizes.width"
        if size is None:
            size, path = self.bench.chassis.size(f"{name}_body_width"), f"chassis.sizes.{name}_body_width"
        if size is None:
            return None
        self.assume(AssumedCode.HALF_OF_BODY, path)
        return Size(size.value / 2, size.within / 2)

    def spacers(self, place: str) -> tuple[Size, ...]:
        return tuple(one.thickness for one in self.bench.spacers.get(place, ()))

    # ---- ground and guide ----------------------------------------------------------------------------------------

    def ground(self) -> Ground:
        chassis = self.bench.chassis
        return Ground(
            chassis_below_axle=chassis.size("chassis_below_axle"),
            rear_axle_over_bottom=chassis.size("rear_axle_height"),
            front_axle_over_bottom=chassis.size("front_axle_height"),
            wheelbase=chassis.size("wheelbase"),
            guide_ahead=chassis.size("guide_ahead"),
            guide_height=self.bench.mounting.size("guide_height"),
            nose_ahead=chassis.size("nose_ahead"),
        )

    def guide(self) -> Guide:
        bench = self.bench
        part = bench.parts.get("guide")
        contact = None
        if part is not None and "braid" in bench.parts and (contact := part.sizes.size("blade_length")) is not None:
            self.assume(AssumedCode.BRAID_ALONG_BLADE, "parts.guide.sizes.blade_length")
        return Guide(
            blade_depth=bench.size_of("guide", "blade_depth"),
            blade_thickness=bench.size_of("guide", "blade_thickness"),
            shaft=bench.mounting.size("shaft_cut") or bench.size_of("guide", "shaft_length"),
            holder=bench.chassis.size("guide_holder"),
            spacers=self.spacers("guide"),
            clip=bench.size_of("guide", "clip"),
            tail=bench.size_of("guide", "tail"),
            corners=bench.corners,
            contact=contact,
            leads=self.leads(),
        )

    def leads(self) -> Leads | None:
        chassis = self.bench.chassis
        routed, back = chassis.base("lead_routed"), chassis.base("lead_exit_back")
        if routed is None or back is None:
            return None
        self.assume(AssumedCode.WIRES_END_AT_POST, "chassis.sizes.lead_exit_back")
        return Leads(
            routed=routed,
            exit_back=back,
            exit_side=chassis.base("lead_exit_side") or ZERO,
            terminal_back=ZERO,
            terminal_side=ZERO,
            given=self.bench.size_of("lead_wire", "length"),
        )

    def slot(self) -> Slot:
        values, within = self.bench.track.values, self.bench.precision.length
        depth, width = values.get("slot_depth_mm"), values.get("slot_width_mm")
        return Slot(
            depth=None if depth is None else Size(depth, within),
            width=None if width is None else Size(width, within),
        )


def is_crown(bench: Bench) -> bool:
    """Is the driven gear a crown gear?"""
    part = bench.parts.get("driven_gear")
    return part is not None and part.kind is PartKind.CROWN_GEAR

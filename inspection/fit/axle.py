"""Everything along an axle: width, end play, body float, gear, pinion and tire. Sums of sizes, exact.

The axle can move sideways by its end play. Pushed in from one side, what stands on that side bears on its bushing;
pushed the other way it stands further out by the end play. Each gap is taken where it is smallest.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.fit.findings import Finding, FitCode, Missing, Note, Place
from inspection.fit.parts import Axle, AxleSide, Build, DrivenGear, Layout, Pinion, Side, Targets, Wheel
from inspection.fit.sizes import ZERO, Size, Stack, Term, constant, one, root_down

Look = Finding | Missing

REAR: Final = "rear"
FRONT: Final = "front"
PLACES: Final = {
    (REAR, Side.LEFT): Place.REAR_LEFT,
    (REAR, Side.RIGHT): Place.REAR_RIGHT,
    (FRONT, Side.LEFT): Place.FRONT_LEFT,
    (FRONT, Side.RIGHT): Place.FRONT_RIGHT,
}
HALF: Final = Fraction(1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class SideLines:
    """Positions from the center line outward with this side pushed in. gear_in, gear_out: of the teeth's faces."""

    gear_in: Stack | None
    gear_out: Stack | None
    hub: Stack
    tire_in: Stack
    tire_out: Stack


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleLines:
    """Both sides, and the end play; notes says when that was assumed."""

    name: str
    left: SideLines
    right: SideLines
    play: Stack
    notes: tuple[Note, ...]

    def side(self, side: Side) -> SideLines:
        return self.left if side is Side.LEFT else self.right


def lines_of(axle: Axle, name: str, targets: Targets) -> AxleLines:
    """Where everything on an axle stands."""
    left, right = (_side_lines(axle.side(side), f"{name}.{side}") for side in Side)
    notes: tuple[Note, ...] = ()
    if axle.end_play is not None:
        play = one(f"{name}.end_play", axle.end_play)
    elif axle.hub_to_hub is not None:
        play = one(f"{name}.hub_to_hub", axle.hub_to_hub) - left.hub - right.hub
    else:
        play, notes = constant(targets.end_play_aim), (Note.END_PLAY_ASSUMED,)
    return AxleLines(name=name, left=left, right=right, play=play, notes=notes)


def look_at_axle(axle: Axle, lines: AxleLines, targets: Targets) -> Iterator[Look]:
    """End play, length of the axle, width over the tires, float under the body, rounded edges of tires."""
    name, place = lines.name, Place(lines.name)
    if lines.notes:
        yield Missing(code=FitCode.END_PLAY, place=place, sizes=(f"{name}.end_play", f"{name}.hub_to_hub"))
    else:
        yield Finding(
            code=FitCode.END_PLAY,
            place=place,
            stack=lines.play,
            least=targets.end_play_least,
            most=targets.end_play_most,
        )
    yield _axle_length(axle, lines, targets)
    width_most = targets.rear_width_most if name == REAR else targets.front_width_most
    width = lines.left.tire_out + lines.right.tire_out + lines.play
    yield Finding(code=FitCode.WIDTH, place=place, stack=width, most=width_most, notes=lines.notes)
    for side in Side:
        yield from _look_at_side(axle.side(side), lines, side, targets)


def look_at_drive(build: Build, lines: AxleLines, targets: Targets) -> Iterator[Look]:
    """Gear, pinion and motor on the rear axle. A crown gear lies across: see the gearing engine for its pinion."""
    drive = build.drive
    side = build.rear.side(drive.side)
    place = PLACES[REAR, drive.side]
    pinion = drive.pinion
    if pinion is None:
        yield Missing(code=FitCode.PINION_TO_END_BELL, place=place, sizes=("pinion",))
    else:
        yield Finding(
            code=FitCode.PINION_TO_END_BELL,
            place=place,
            stack=one("pinion.gap", pinion.gap),
            least=targets.pinion_gap_least,
            most=targets.pinion_gap_most,
        )
        length = one("pinion.length", pinion.length)
        yield Finding(code=FitCode.PINION_LENGTH, place=place, stack=length, least=ZERO, is_strict=True)
    if side.gear is not None:
        yield from _look_at_gear(build, lines, side.gear, targets)
    if drive.layout is Layout.INLINE:
        return
    notes = (Note.SHAFTS_AT_ANGLE,) if drive.layout is Layout.ANGLEWINDER else ()
    known: dict[str, object] = {
        "pinion": pinion,
        "end_bell": drive.end_bell,
        "center_distance": drive.center_distance,
        "gear": side.gear,
    }
    missing = tuple(name for name, size in known.items() if size is None)
    if pinion is None or drive.end_bell is None:
        yield Missing(
            code=FitCode.GEAR_ON_PINION, place=place, sizes=tuple(n for n in missing if n != "center_distance")
        )
        yield Missing(code=FitCode.TIRE_TO_PINION, place=place, sizes=tuple(n for n in missing if n != "gear"))
        return
    near = one("end_bell", drive.end_bell) + one("pinion.gap", pinion.gap)
    far = near + one("pinion.length", pinion.length)
    here = lines.side(drive.side)
    if here.gear_in is None or here.gear_out is None:
        yield Missing(code=FitCode.GEAR_ON_PINION, place=place, sizes=("gear",))
    else:
        inner, outer = here.gear_in - near, far - here.gear_out - lines.play
        stack = min(inner, outer, key=lambda margin: margin.value)
        all_notes = notes + lines.notes
        yield Finding(code=FitCode.GEAR_ON_PINION, place=place, stack=stack, least=ZERO, notes=all_notes)
    if drive.center_distance is None:
        yield Missing(code=FitCode.TIRE_TO_PINION, place=place, sizes=("center_distance",))
    else:
        yield _tire_to_pinion(side.wheel, pinion, drive.center_distance, here.tire_in - far, place, targets, notes)


def radial_overlap(wheel: Wheel, pinion: Pinion, center_distance: Size, tire: str = "tire") -> Stack:
    """How deep the pinion reaches into the tire's radius; 0 or less when the tire passes over it."""
    return (
        one(tire, wheel.tire_diameter, HALF)
        + one("pinion.outside_diameter", pinion.outside_diameter, HALF)
        - one("center_distance", center_distance)
    )


def edge_recess(edge: Fraction, depth: Fraction) -> Fraction:
    """How far an edge rounded to a radius stands back at a depth below the tread; rounded down.

    A quarter circle: edge - sqrt(edge**2 - (edge - depth)**2) for a depth within the radius.
    """
    if depth >= edge:
        return ZERO
    if depth <= 0:
        return edge
    # the root is rounded up, so that the recess is not made larger than it is
    return max(ZERO, edge - root_down(edge * edge - (edge - depth) ** 2) - Fraction(1, 10**6))


def _tire_to_pinion(
    wheel: Wheel,
    pinion: Pinion,
    center_distance: Size,
    gap: Stack,
    place: Place,
    targets: Targets,
    notes: tuple[Note, ...],
) -> Finding:
    overlap = radial_overlap(wheel, pinion, center_distance, f"{place.value.replace('_', '.')}.tire_diameter")
    gap += constant(edge_recess(wheel.edge, overlap.value))
    over = -overlap
    if gap.value < targets.tire_to_pinion <= over.value:
        gap, notes = over, (*notes, Note.PASSES_OVER)
    return Finding(code=FitCode.TIRE_TO_PINION, place=place, stack=gap, least=targets.tire_to_pinion, notes=notes)


def _axle_length(axle: Axle, lines: AxleLines, targets: Targets) -> Look:
    name, place = lines.name, Place(lines.name)
    if axle.length is None or axle.left.wheel.bore is None or axle.right.wheel.bore is None:
        known = {
            f"{name}.length": axle.length,
            f"{name}.left.bore": axle.left.wheel.bore,
            f"{name}.right.bore": axle.right.wheel.bore,
        }
        missing = tuple(size for size, found in known.items() if found is None)
        return Missing(code=FitCode.AXLE_LENGTH, place=place, sizes=missing)
    hubs = lines.left.hub + lines.right.hub + lines.play
    bores = one(f"{name}.left.bore", axle.left.wheel.bore) + one(f"{name}.right.bore", axle.right.wheel.bore)
    return Finding(
        code=FitCode.AXLE_LENGTH,
        place=place,
        stack=one(f"{name}.length", axle.length) - hubs - bores,
        least=ZERO,
        most=targets.axle_out_most,
        notes=lines.notes,
    )


def _look_at_side(part: AxleSide, lines: AxleLines, side: Side, targets: Targets) -> Iterator[Look]:
    name, place = f"{lines.name}.{side}", PLACES[lines.name, side]
    if part.body is None:
        yield Missing(code=FitCode.BODY_FLOAT, place=place, sizes=(f"{name}.body",))
    else:
        stack = one(f"{name}.body", part.body) - lines.side(side).tire_out - lines.play
        yield Finding(code=FitCode.BODY_FLOAT, place=place, stack=stack, least=targets.body_float, notes=lines.notes)
    wheel = part.wheel
    if wheel.edge > 0:
        room = one(f"{name}.tire_width", wheel.tire_width)
        if wheel.rim_diameter is not None:
            tread = one(f"{name}.tire_diameter", wheel.tire_diameter, HALF)
            rubber = tread - one(f"{name}.rim_diameter", wheel.rim_diameter, HALF)
            room = min(room, rubber, key=lambda stack: stack.value)
        yield Finding(code=FitCode.TIRE_EDGE, place=place, stack=room - constant(wheel.edge), least=ZERO)


def _look_at_gear(build: Build, lines: AxleLines, gear: DrivenGear, targets: Targets) -> Iterator[Look]:
    side, place = build.drive.side, PLACES[REAR, build.drive.side]
    here = lines.side(side)
    if here.gear_in is None or here.gear_out is None:
        return
    yield Finding(code=FitCode.TIRE_TO_SPUR, place=place, stack=here.tire_in - here.gear_out, least=ZERO)
    if build.drive.wall is None:
        yield Missing(code=FitCode.SPUR_TO_CHASSIS, place=place, sizes=("wall",))
    else:
        stack = here.gear_in - one("wall", build.drive.wall)
        yield Finding(code=FitCode.SPUR_TO_CHASSIS, place=place, stack=stack, least=targets.spur_to_chassis)


def _side_lines(part: AxleSide, name: str) -> SideLines:
    terms = [Term(f"{name}.reach", 1, part.reach), *_spacers(part.inner_spacers, f"{name}.inner_spacer")]
    gear_in: Stack | None = None
    gear_out: Stack | None = None
    if part.gear is not None:
        face = Term(f"{name}.gear_face", 1, part.gear.face_width)
        hub = Term(f"{name}.gear_hub", 1, part.gear.hub_width)
        if part.gear.hub_in:
            terms.append(hub)
        gear_in = Stack(tuple(terms))
        terms.append(face)
        gear_out = Stack(tuple(terms))
        if not part.gear.hub_in:
            terms.append(hub)
    terms += _spacers(part.outer_spacers, f"{name}.outer_spacer")
    hub_face = Stack(tuple(terms))
    terms.append(Term(f"{name}.inset", 1, part.wheel.inset))
    tire_in = Stack(tuple(terms))
    terms.append(Term(f"{name}.tire_width", 1, part.wheel.tire_width))
    return SideLines(gear_in=gear_in, gear_out=gear_out, hub=hub_face, tire_in=tire_in, tire_out=Stack(tuple(terms)))


def _spacers(spacers: Iterable[Size], name: str) -> list[Term]:
    return [Term(f"{name}.{number}", 1, size) for number, size in enumerate(spacers, start=1)]

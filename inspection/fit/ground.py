"""Clearance over the track, now and with worn tires, and how the nose stands."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from inspection.fit.findings import Finding, FitCode, Missing, Note, Place
from inspection.fit.parts import Build, Side, Targets
from inspection.fit.sizes import Size, Stack, Term, constant, linear, one

Look = Finding | Missing
HALF: Final = Fraction(1, 2)


def tire_radius(build: Build, *, wear: Fraction) -> Stack:
    """Half the smaller rear tire, less half of what has been lost of its diameter."""
    side = min(Side, key=lambda one_side: build.rear.side(one_side).wheel.tire_diameter.value)
    tire = build.rear.side(side).wheel.tire_diameter
    return one(f"rear.{side}.tire_diameter", tire, HALF) - constant(wear / 2)


def look_at_clearance(build: Build, targets: Targets) -> Iterator[Look]:
    """Under spur, motor and chassis; each now, and after wear when some is told. Falls by half the diameter lost."""
    gear = build.rear.left.gear or build.rear.right.gear or build.drive.inside_gear
    lows: tuple[tuple[FitCode, str, Size | None, Fraction | int], ...] = (
        (FitCode.UNDER_SPUR, "gear.outside_diameter", None if gear is None else gear.outside_diameter, HALF),
        (FitCode.UNDER_MOTOR, "motor_below_axle", build.drive.below_axle, 1),
        (FitCode.UNDER_CHASSIS, "chassis_below_axle", build.ground.chassis_below_axle, 1),
    )
    for code, name, size, share in lows:
        if size is None:
            yield Missing(code=code, place=Place.CAR, sizes=(name,))
            continue
        for wear in (Fraction(0), build.wear)[: 2 if build.wear else 1]:
            yield Finding(
                code=code,
                place=Place.CAR,
                stack=tire_radius(build, wear=wear) - one(name, size, share),
                least=targets.clearance,
                is_strict=not targets.clearance,
                worn=bool(wear),
            )


def look_at_nose(build: Build, targets: Targets) -> Iterator[Look]:
    """How far the front tires stand off the track, and how high the nose is, from guide and front tires.

    The bottom of the chassis is a line: over the track by the rear tires at the rear axle, and in front by whichever
    carries, guide or front tires. First-order tolerances.
    """
    ground = build.ground
    told = {
        "front.tire_diameter": build.front and build.front.left.wheel.tire_diameter,
        "rear_axle_over_bottom": ground.rear_axle_over_bottom,
        "front_axle_over_bottom": ground.front_axle_over_bottom,
        "wheelbase": ground.wheelbase,
        "guide_ahead": ground.guide_ahead,
        "guide_height": ground.guide_height,
    }
    sizes = {name: size for name, size in told.items() if isinstance(size, Size) and _is_usable(name, size)}
    missing = tuple(name for name in told if name not in sizes)
    if missing:
        yield Missing(code=FitCode.FRONT_LIFT, place=Place.FRONT, sizes=missing)
        yield Missing(code=FitCode.NOSE_HEIGHT, place=Place.FRONT, sizes=missing)
        return
    rear = tire_radius(build, wear=Fraction(0)) - one("rear_axle_over_bottom", sizes["rear_axle_over_bottom"])
    front = one("front.tire_diameter", sizes["front.tire_diameter"], HALF) - one(
        "front_axle_over_bottom", sizes["front_axle_over_bottom"]
    )
    guide = one("guide_height", sizes["guide_height"])
    by_guide = _on_line(rear, guide, ("guide_ahead", sizes["guide_ahead"]), ("wheelbase", sizes["wheelbase"]))
    lift = by_guide - front
    carries = lift.value >= 0
    yield Finding(
        code=FitCode.FRONT_LIFT,
        place=Place.FRONT,
        stack=lift,
        least=targets.front_lift_least,
        most=targets.front_lift_most,
        notes=(Note.GUIDE_CARRIES if carries else Note.FRONT_TIRES_CARRY,),
    )
    if ground.nose_ahead is None:
        yield Missing(code=FitCode.NOSE_HEIGHT, place=Place.FRONT, sizes=("nose_ahead",))
        return
    height, at = (guide, "guide_ahead") if carries else (front, "wheelbase")
    yield Finding(
        code=FitCode.NOSE_HEIGHT,
        place=Place.FRONT,
        stack=_on_line(rear, height, (at, sizes[at]), ("nose_ahead", ground.nose_ahead)),
        least=targets.clearance,
        is_strict=not targets.clearance,
        notes=(Note.GUIDE_CARRIES if carries else Note.FRONT_TIRES_CARRY,),
    )


def _is_usable(name: str, size: Size) -> bool:
    """A length ahead of the axle by which is divided must be one."""
    return size.value > 0 or name not in {"wheelbase", "guide_ahead"}


def _on_line(rear: Stack, front: Stack, known_at: tuple[str, Size], wanted_at: tuple[str, Size]) -> Stack:
    """The height at one place of a line through the rear axle and a known height further on."""
    (base_name, base), (name, place) = known_at, wanted_at
    ratio = place.value / base.value
    rise = front.value - rear.value
    slopes = [Term(term.name, term.share * (1 - ratio), term.size) for term in rear.terms]
    slopes += [Term(term.name, term.share * ratio, term.size) for term in front.terms]
    slopes += [Term(name, rise / base.value, place), Term(base_name, -rise * ratio / base.value, base)]
    return linear(rear.value + rise * ratio, *slopes)

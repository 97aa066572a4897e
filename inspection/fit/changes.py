"""Changing a build, each a new build. None when that cannot be done, as with a spacer that is not there."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from inspection.fit.axle import REAR
from inspection.fit.parts import Axle, AxleSide, Build, Side
from inspection.fit.sizes import ZERO, Size

Where = tuple[str, Side]  # an axle and a side of it


def axle_of(build: Build, name: str) -> Axle:
    """The axle of that name."""
    return build.rear if name == REAR or build.front is None else build.front


def with_axle(build: Build, name: str, axle: Axle) -> Build:
    """The build with another axle of that name."""
    return replace(build, rear=axle) if name == REAR else replace(build, front=axle)


def with_side(axle: Axle, side: Side, part: AxleSide) -> Axle:
    """The axle with another side."""
    return replace(axle, left=part) if side is Side.LEFT else replace(axle, right=part)


def _changed_side(build: Build, where: Where, change: Callable[[AxleSide], AxleSide]) -> Build:
    name, side = where
    axle = axle_of(build, name)
    return with_axle(build, name, with_side(axle, side, change(axle.side(side))))


def spacer_total(part: AxleSide) -> Fraction:
    """All spacers of a side, in mm."""
    return sum((size.value for size in (*part.inner_spacers, *part.outer_spacers)), ZERO)


def _thinner(spacers: tuple[Size, ...], by: Fraction) -> tuple[tuple[Size, ...], Fraction]:
    """Spacers with so much taken away from the outermost on, and what could not be taken."""
    left = list(spacers)
    while by > 0 and left:
        last = left.pop()
        if last.value > by:
            left.append(last.changed(-by))
            by = ZERO
        else:
            by -= last.value
    return tuple(left), by


def spaced(part: AxleSide, by: Fraction) -> AxleSide | None:
    """More spacers just inside the wheel, or fewer; None when there are none to take."""
    if by >= 0:
        return replace(part, outer_spacers=(*part.outer_spacers, Size(by)))
    outer, rest = _thinner(part.outer_spacers, -by)
    inner, rest = _thinner(part.inner_spacers, rest) if part.gear is None else (part.inner_spacers, rest)
    return None if rest else replace(part, outer_spacers=outer, inner_spacers=inner)


def move_wheel(build: Build, where: Where, by: Fraction) -> Build | None:
    """A wheel out by spacers, the end play kept."""
    name, side = where
    axle = axle_of(build, name)
    part = spaced(axle.side(side), by)
    if part is None:
        return None
    hubs = None if axle.hub_to_hub is None else axle.hub_to_hub.changed(by)
    return with_axle(build, name, replace(with_side(axle, side, part), hub_to_hub=hubs))


def move_gear(build: Build, by: Fraction) -> Build | None:
    """The gear out by spacers inside it, taken from those outside it as far as there are any; or in."""
    side = build.drive.side
    part = build.rear.side(side)
    if by >= 0:
        outer, rest = _thinner(part.outer_spacers, by)
        changed = replace(part, inner_spacers=(*part.inner_spacers, Size(by)), outer_spacers=outer)
    else:
        inner, lacking = _thinner(part.inner_spacers, -by)
        if lacking:
            return None
        changed, rest = replace(part, inner_spacers=inner, outer_spacers=(*part.outer_spacers, Size(-by))), ZERO
    hubs = None if build.rear.hub_to_hub is None else build.rear.hub_to_hub.changed(rest)
    return replace(build, rear=replace(with_side(build.rear, side, changed), hub_to_hub=hubs))


def move_pinion(build: Build, by: Fraction) -> Build | None:
    """The pinion away from the end bell, or nearer below 0."""
    pinion = build.drive.pinion
    if pinion is None:
        return None
    return replace(build, drive=replace(build.drive, pinion=replace(pinion, gap=pinion.gap.changed(by))))


def shorten_pinion(build: Build, by: Fraction) -> Build | None:
    """The pinion cut at its far end."""
    pinion = build.drive.pinion
    if pinion is None:
        return None
    return replace(build, drive=replace(build.drive, pinion=replace(pinion, length=pinion.length.changed(-by))))


def round_edge(build: Build, where: Where, radius: Fraction) -> Build:
    """The inner edge of a tire rounded to a radius."""
    return _changed_side(build, where, lambda part: replace(part, wheel=replace(part.wheel, edge=radius)))


def narrower_tire(build: Build, where: Where, by: Fraction) -> Build | None:
    """A tire trimmed at its outer edge."""
    if axle_of(build, where[0]).side(where[1]).wheel.tire_width.value <= by:
        return None
    return _changed_side(
        build,
        where,
        lambda part: replace(part, wheel=replace(part.wheel, tire_width=part.wheel.tire_width.changed(-by))),
    )


def larger_tires(build: Build, by: Fraction) -> Build:
    """Both rear tires larger in diameter."""
    for side in Side:
        build = _changed_side(
            build,
            (REAR, side),
            lambda part: replace(part, wheel=replace(part.wheel, tire_diameter=part.wheel.tire_diameter.changed(by))),
        )
    return build


def smaller_gear(build: Build, by: Fraction) -> Build | None:
    """The driven gear smaller in diameter."""
    for side in Side:
        gear = build.rear.side(side).gear
        if gear is not None:
            smaller = replace(gear, outside_diameter=gear.outside_diameter.changed(-by))
            return replace(build, rear=with_side(build.rear, side, replace(build.rear.side(side), gear=smaller)))
    inside = build.drive.inside_gear
    if inside is None:
        return None
    smaller = replace(inside, outside_diameter=inside.outside_diameter.changed(-by))
    return replace(build, drive=replace(build.drive, inside_gear=smaller))


def longer_axle(build: Build, name: str, by: Fraction) -> Build | None:
    """An axle longer by so much, or shorter below 0."""
    axle = axle_of(build, name)
    if axle.length is None:
        return None
    return with_axle(build, name, replace(axle, length=axle.length.changed(by)))


def raise_guide(build: Build, by: Fraction) -> Build | None:
    """Washers at the guide, which raise the nose; or fewer."""
    height, guide = build.ground.guide_height, build.guide
    if height is None:
        return None
    spacers, lacking = _thinner(guide.spacers, -by) if by < 0 else ((*guide.spacers, Size(by)), ZERO)
    if lacking:
        return None
    raised = replace(build.ground, guide_height=height.changed(by))
    return replace(build, ground=raised, guide=replace(guide, spacers=spacers))


def trim_blade(build: Build, by: Fraction) -> Build | None:
    """The blade less deep."""
    depth = build.guide.blade_depth
    if depth is None or depth.value <= by:
        return None
    return replace(build, guide=replace(build.guide, blade_depth=depth.changed(-by)))


def thin_blade(build: Build, by: Fraction) -> Build | None:
    """The blade thinner."""
    thickness = build.guide.blade_thickness
    if thickness is None or thickness.value <= by:
        return None
    return replace(build, guide=replace(build.guide, blade_thickness=thickness.changed(-by)))


def longer_shaft(build: Build, by: Fraction) -> Build | None:
    """A guide with a longer shaft."""
    shaft = build.guide.shaft
    return None if shaft is None else replace(build, guide=replace(build.guide, shaft=shaft.changed(by)))


def longer_lead(build: Build, by: Fraction) -> Build | None:
    """A longer lead wire."""
    leads = build.guide.leads
    if leads is None or leads.given is None:
        return None
    longer = replace(leads, given=leads.given.changed(by))
    return replace(build, guide=replace(build.guide, leads=longer))


def slide_wheel(build: Build, name: str, by: Fraction) -> Build:
    """A wheel further out on its axle, without a spacer: the end play grows."""
    axle = axle_of(build, name)
    changed = replace(
        axle,
        end_play=None if axle.end_play is None else axle.end_play.changed(by),
        hub_to_hub=None if axle.hub_to_hub is None else axle.hub_to_hub.changed(by),
    )
    return with_axle(build, name, changed)


def fill_end_play(build: Build, name: str, by: Fraction) -> Build | None:
    """Spacers that fill end play, or fewer of them: the wheels stay where they are on the axle."""
    axle = axle_of(build, name)
    choose = min if by >= 0 else max
    side = choose(Side, key=lambda one: spacer_total(axle.side(one)))
    part = spaced(axle.side(side), by)
    if part is None:
        return None
    changed = with_side(axle, side, part)
    if changed.end_play is not None:
        changed = replace(changed, end_play=changed.end_play.changed(-by))
    return with_axle(build, name, changed)

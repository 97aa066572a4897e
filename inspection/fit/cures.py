"""What can be done about something that does not fit, in order of ease, each tried out on the build.

A cure is worked out to the amount that is just enough, made to the build, and everything looked at again: what would
no longer fit then is named as a blocker with its shortfall.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from inspection.fit.axle import PLACES, edge_recess, radial_overlap
from inspection.fit.changes import (
    Where,
    axle_of,
    fill_end_play,
    larger_tires,
    longer_axle,
    longer_lead,
    longer_shaft,
    move_gear,
    move_pinion,
    move_wheel,
    narrower_tire,
    raise_guide,
    round_edge,
    shorten_pinion,
    slide_wheel,
    smaller_gear,
    spacer_total,
    thin_blade,
    trim_blade,
)
from inspection.fit.findings import Blocker, Caution, Cure, CureCode, Finding, FitCode, FitVerdict, Missing, Place
from inspection.fit.parts import Build, Side
from inspection.fit.sizes import ZERO, root_up

Change = Callable[[Build, Fraction], Build | None]
LookAgain = Callable[[Build], Iterable[Finding | Missing]]
Key = tuple[FitCode, Place, bool]

_STEP: Final = Fraction(1, 100)  # what "more than" asks for


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One way to cure a finding. amount_for: the amount in mm that makes up for a shortfall, None when none can."""

    code: CureCode
    change: Change
    amount_for: Callable[[Fraction], Fraction | None] = lambda short: short
    cautions: tuple[Caution, ...] = ()


def with_cures(build: Build, findings: Iterable[Finding], look_again: LookAgain) -> tuple[Finding, ...]:
    """The findings, with cures where something does not fit or its tolerance is larger than what is left."""
    before = {_key(finding): finding for finding in findings}
    wanting = {FitVerdict.DOES_NOT_FIT, FitVerdict.MAY_NOT_FIT}
    return tuple(
        replace(finding, cures=tuple(_cures(build, finding, before, look_again)))
        if finding.verdict in wanting
        else finding
        for finding in before.values()
    )


def _cures(build: Build, finding: Finding, before: dict[Key, Finding], look_again: LookAgain) -> Iterator[Cure]:
    margin = finding.margin
    if margin is None:
        return
    step = _STEP if finding.is_strict else ZERO
    short, sure = step - margin, step - margin + finding.worst
    for proposal in _proposals(build, finding):
        least, surely = proposal.amount_for(max(short, ZERO) or sure), proposal.amount_for(sure)
        changed = None if least is None else proposal.change(build, least)
        if least is None or changed is None:
            continue
        after = {_key(one): one for one in look_again(changed) if isinstance(one, Finding)}
        blockers = tuple(_blockers(finding, before, after))
        yield Cure(
            code=proposal.code,
            amount=least,
            sure=least if surely is None else surely,
            works=not blockers,
            blockers=blockers,
            cautions=proposal.cautions,
            build=changed,
        )


def _blockers(finding: Finding, before: dict[Key, Finding], after: dict[Key, Finding]) -> Iterator[Blocker]:
    """What does not fit afterwards and did before, or is further from it than before; and what was to be cured.

    That can be: a gear too wide for its pinion hangs over on the other side when it is moved.
    """
    for key, now in after.items():
        margin = now.margin
        if now.is_met or margin is None:
            continue
        was = before.get(key)
        if key == _key(finding) or was is None or was.margin is None or was.is_met or margin < was.margin:
            yield Blocker(code=now.code, place=now.place, short_by=-margin)


def _key(finding: Finding) -> Key:
    return finding.code, finding.place, finding.worn


Proposals = tuple[Proposal, ...]


def _proposals(build: Build, finding: Finding) -> Proposals:
    proposed = _PROPOSALS.get(finding.code)
    return () if proposed is None else proposed(build, finding)


def _is_too_small(finding: Finding) -> bool:
    return finding.least is not None and finding.value - finding.least == finding.margin


def _where(place: Place) -> Where:
    """The axle and side of a place; the left where it names none."""
    name, _, side = place.value.partition("_")
    return name, Side.RIGHT if side == Side.RIGHT else Side.LEFT


def _wheel(build: Build, finding: Finding, *, way: int) -> Proposal:
    code = CureCode.MOVE_WHEEL_OUT if way > 0 else CureCode.MOVE_WHEEL_IN
    return Proposal(code=code, change=lambda b, x: move_wheel(b, _where(finding.place), way * x))


def _narrower_tire(finding: Finding) -> Proposal:
    return Proposal(
        code=CureCode.NARROWER_TIRE,
        change=lambda b, x: narrower_tire(b, _where(finding.place), x),
        cautions=(Caution.TRUING_DUST,),
    )


_PUSH: Final = Proposal(
    code=CureCode.PUSH_PINION_ON, change=lambda b, x: move_pinion(b, -x), cautions=(Caution.GEAR_PRESS,)
)
_PULL: Final = Proposal(code=CureCode.PULL_PINION_OFF, change=move_pinion, cautions=(Caution.GEAR_PRESS,))
_SHORTEN: Final = Proposal(code=CureCode.SHORTEN_PINION, change=shorten_pinion, cautions=(Caution.CUTTING_DISC,))
_GEAR_OUT: Final = Proposal(code=CureCode.MOVE_GEAR_OUT, change=move_gear)
_GEAR_IN: Final = Proposal(code=CureCode.MOVE_GEAR_IN, change=lambda b, x: move_gear(b, -x))
# What stands lower by the radius comes up by half of the diameter.
_LARGER: Final = Proposal(code=CureCode.LARGER_TIRE, change=larger_tires, amount_for=lambda short: 2 * short)
_SMALLER: Final = Proposal(code=CureCode.SMALLER_GEAR, change=smaller_gear, amount_for=lambda short: 2 * short)


def _for_tire_to_pinion(build: Build, finding: Finding) -> Proposals:
    edge = Proposal(
        code=CureCode.ROUND_TIRE_EDGE,
        change=lambda b, radius: round_edge(b, _where(finding.place), radius),
        amount_for=lambda short: _edge_for(build, short),
        cautions=(Caution.TRUING_DUST,),
    )
    return _wheel(build, finding, way=1), _PUSH, _SHORTEN, edge


def _for_gear_on_pinion(build: Build, finding: Finding) -> Proposals:
    """The far end of the pinion enters the sum only where the gear stands too far out."""
    is_too_far_out = any(term.name == "pinion.length" for term in finding.stack.terms)
    return (_GEAR_IN, _PULL) if is_too_far_out else (_GEAR_OUT, _PUSH)


def _for_end_play(build: Build, finding: Finding) -> Proposals:
    """The wheel further out or in on the axle, or a spacer less or more."""
    name = finding.place.value
    if _is_too_small(finding):
        return (
            Proposal(code=CureCode.MOVE_WHEEL_OUT, change=lambda b, x: slide_wheel(b, name, x)),
            Proposal(code=CureCode.REMOVE_SPACER, change=lambda b, x: fill_end_play(b, name, -x)),
        )
    return (
        Proposal(code=CureCode.MOVE_WHEEL_IN, change=lambda b, x: slide_wheel(b, name, -x)),
        Proposal(code=CureCode.ADD_SPACER, change=lambda b, x: fill_end_play(b, name, x)),
    )


def _for_width(build: Build, finding: Finding) -> Proposals:
    """On the side that has more spacers to take."""
    axle = axle_of(build, finding.place.value)
    side = max(Side, key=lambda one: spacer_total(axle.side(one)))
    there = replace(finding, place=PLACES[finding.place.value, side])
    return _wheel(build, there, way=-1), _narrower_tire(there)


def _for_axle_length(build: Build, finding: Finding) -> Proposals:
    name = finding.place.value
    if _is_too_small(finding):
        return (Proposal(code=CureCode.LONGER_AXLE, change=lambda b, x: longer_axle(b, name, x)),)
    return (
        Proposal(
            code=CureCode.SHORTER_AXLE,
            change=lambda b, x: longer_axle(b, name, -x),
            cautions=(Caution.CUTTING_DISC,),
        ),
    )


def _for_nose(build: Build, finding: Finding) -> Proposals:
    """Spacers at the guide raise what is further back by less: in the ratio of the lengths from the rear axle."""
    ground = build.ground
    at = ground.wheelbase if finding.code is FitCode.FRONT_LIFT else ground.nose_ahead
    if at is None or ground.guide_ahead is None or at.value <= 0:
        return ()
    ratio = ground.guide_ahead.value / at.value
    if _is_too_small(finding):
        return (Proposal(code=CureCode.RAISE_GUIDE, change=raise_guide, amount_for=lambda short: short * ratio),)
    return (
        Proposal(
            code=CureCode.LOWER_GUIDE,
            change=lambda b, x: raise_guide(b, -x),
            amount_for=lambda short: short * ratio,
        ),
    )


def _always(*proposals: Proposal) -> Callable[[Build, Finding], Proposals]:
    return lambda build, finding: proposals


def _edge_for(build: Build, short: Fraction) -> Fraction | None:
    """The radius of the tire's inner edge that makes up for a shortfall, to the next hundredth up.

    The corner of the pinion stands so deep in the tread (overlap o) and must be cleared by p in all. The quarter
    circle passes it when (r - p)**2 + (r - o)**2 >= r**2, so r >= p + o + sqrt(2 p o).
    """
    pinion, distance = build.drive.pinion, build.drive.center_distance
    if pinion is None or distance is None:
        return None
    wheel = build.rear.side(build.drive.side).wheel
    depth = radial_overlap(wheel, pinion, distance).value
    if depth <= 0:
        return None
    back = short + edge_recess(wheel.edge, depth)
    radius = back + depth + root_up(2 * back * depth)
    return Fraction(-((-radius * 100) // 1), 100)


_PROPOSALS: Final[Mapping[FitCode, Callable[[Build, Finding], Proposals]]] = {
    FitCode.END_PLAY: _for_end_play,
    FitCode.AXLE_LENGTH: _for_axle_length,
    FitCode.WIDTH: _for_width,
    FitCode.BODY_FLOAT: lambda build, finding: (_wheel(build, finding, way=-1), _narrower_tire(finding)),
    FitCode.TIRE_TO_PINION: _for_tire_to_pinion,
    FitCode.TIRE_TO_SPUR: lambda build, finding: (_wheel(build, finding, way=1), _GEAR_IN),
    FitCode.SPUR_TO_CHASSIS: _always(_GEAR_OUT),
    FitCode.GEAR_ON_PINION: _for_gear_on_pinion,
    FitCode.PINION_TO_END_BELL: lambda build, finding: (_PULL,) if _is_too_small(finding) else (_PUSH,),
    FitCode.UNDER_SPUR: _always(_SMALLER, _LARGER),
    FitCode.UNDER_MOTOR: _always(_LARGER),
    FitCode.UNDER_CHASSIS: _always(_LARGER),
    FitCode.FRONT_LIFT: _for_nose,
    FitCode.NOSE_HEIGHT: _for_nose,
    FitCode.GUIDE_FLOOR: _always(
        Proposal(code=CureCode.TRIM_BLADE, change=trim_blade, cautions=(Caution.SHARP_BLADE,))
    ),
    FitCode.GUIDE_SLOT: _always(Proposal(code=CureCode.THIN_BLADE, change=thin_blade, cautions=(Caution.TRUING_DUST,))),
    FitCode.GUIDE_SHAFT: _always(Proposal(code=CureCode.LONGER_SHAFT, change=longer_shaft)),
    FitCode.LEAD_LENGTH: _always(
        Proposal(code=CureCode.LONGER_LEAD, change=longer_lead, cautions=(Caution.SOLDERING,))
    ),
}

"""Weight on the rear axle and on the guide by the lever law, and ballast that reaches a wanted weight and share. Exact.

The car is a beam on two supports, rear axle and guide, with the front tires just clear of the track: a piece at x
ahead of the rear axle puts m x / L on the guide, L ahead itself, and the rest on the rear axle.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from inspection.fit.errors import FitError, FitErrorCode
from inspection.fit.sizes import ZERO, Size, Stack, Term, linear, one


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Something with a mass in g at a place in mm ahead of the rear axle; behind it below 0."""

    name: str
    mass: Size
    ahead: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """What a car weighs, in g, and where, each with tolerances. guide_share: of the whole, 0 to 1 for a sound car."""

    total: Stack
    on_rear: Stack
    on_guide: Stack
    guide_share: Stack

    @property
    def rear_share(self) -> Fraction:
        return 1 - self.guide_share.value


def weigh(pieces: Sequence[Piece], *, guide_ahead: Size) -> Weight:
    """Total, and what rests on rear axle and guide.

    Raises FitError no_pieces when nothing weighs anything, guide_not_ahead, size_not_positive for a mass below 0.
    """
    _check(pieces, guide_ahead.value)
    length = guide_ahead.value
    mass = sum((piece.mass.value for piece in pieces), ZERO)
    moment = sum((piece.mass.value * piece.ahead.value for piece in pieces), ZERO)
    total = Stack(tuple(Term(f"{piece.name}.mass", 1, piece.mass) for piece in pieces))
    slopes = [Term(f"{piece.name}.mass", piece.ahead.value / length, piece.mass) for piece in pieces]
    slopes += [Term(f"{piece.name}.ahead", piece.mass.value / length, piece.ahead) for piece in pieces]
    slopes.append(Term("guide_ahead", -moment / length**2, guide_ahead))
    on_guide = linear(moment / length, *slopes)
    share = moment / (length * mass)
    # d(guide / total) = d(guide) / total - share d(total) / total
    spread = [Term(term.name, term.share / mass, term.size) for term in slopes]
    spread += [Term(term.name, -share / mass, term.size) for term in total.terms]
    return Weight(total=total, on_rear=total - on_guide, on_guide=on_guide, guide_share=linear(share, *spread))


def from_two_scales(*, rear: Size, guide: Size) -> Weight:
    """The same from two scales, one under the rear tires and one under the guide, in g.

    Raises FitError no_pieces or size_not_positive.
    """
    if min(rear.value, guide.value) < 0:
        raise FitError(FitErrorCode.SIZE_NOT_POSITIVE, name="rear" if rear.value < 0 else "guide")
    mass = rear.value + guide.value
    if not mass:
        raise FitError(FitErrorCode.NO_PIECES)
    share = guide.value / mass
    slopes = (Term("guide", (1 - share) / mass, guide), Term("rear", -share / mass, rear))
    on_rear, on_guide = one("rear", rear), one("guide", guide)
    return Weight(total=on_rear + on_guide, on_rear=on_rear, on_guide=on_guide, guide_share=linear(share, *slopes))


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """Where ballast may lie, in mm ahead of the rear axle, and how much of it, in g (None: no limit)."""

    name: str
    begin: Fraction
    end: Fraction
    most: Fraction | None = None

    def __post_init__(self) -> None:
        if self.begin > self.end:
            raise FitError(FitErrorCode.LIMITS_CROSSED)
        if self.most is not None and self.most < 0:
            raise FitError(FitErrorCode.SIZE_NOT_POSITIVE, name=self.name)


class BallastCode(StrEnum):
    """What comes of a wish for weight and share."""

    REACHED = "reached"
    TOO_HEAVY = "too_heavy"
    NO_ROOM = "no_room"
    SHARE_OUT_OF_REACH = "share_out_of_reach"


BALLAST_WORDS: Final[Mapping[BallastCode, str]] = {
    BallastCode.REACHED: "This ballast gives the weight and the share wanted.",
    BallastCode.TOO_HEAVY: "The car is heavier than wanted without any ballast.",
    BallastCode.NO_ROOM: "The zones do not take so much ballast.",
    BallastCode.SHARE_OUT_OF_REACH: "With so much ballast in these zones the share cannot be reached.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ballast:
    """So many g at a place, in mm ahead of the rear axle, in a zone."""

    zone: str
    mass: Fraction
    ahead: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class BallastPlan:
    """Where the ballast goes. short_by: g too heavy, or g without room.

    guide_share: what the plan gives; when the share is out of reach, the nearest that can be reached, with its plan.
    """

    code: BallastCode
    pieces: tuple[Ballast, ...]
    total: Fraction
    guide_share: Fraction | None
    short_by: Fraction = ZERO


def plan_ballast(
    pieces: Sequence[Piece],
    *,
    guide_ahead: Fraction,
    zones: Sequence[Zone],
    total: Fraction,
    guide_share: Fraction,
) -> BallastPlan:
    """Ballast that brings a car to a total in g and a share on the guide, in as few pieces as one where one will do.

    The ballast weighs what is missing; its place follows from the lever law: sum of m x = share * total * L. Zones
    that overlap may each take their most. Zones have different names. Raises FitError as `weigh`.
    """
    _check(pieces, guide_ahead)
    mass = sum((piece.mass.value for piece in pieces), ZERO)
    moment = sum((piece.mass.value * piece.ahead.value for piece in pieces), ZERO)
    missing = total - mass
    if missing < 0:
        share = moment / (mass * guide_ahead)
        return BallastPlan(code=BallastCode.TOO_HEAVY, pieces=(), total=mass, guide_share=share, short_by=-missing)
    room = None if any(zone.most is None for zone in zones) else sum((zone.most or ZERO for zone in zones), ZERO)
    if (room is not None and room < missing) or (missing and not zones):
        short = missing - (room or ZERO)
        return BallastPlan(code=BallastCode.NO_ROOM, pieces=(), total=mass, guide_share=None, short_by=short)
    wanted = guide_share * total * guide_ahead - moment
    rearmost = _fill(sorted(zones, key=lambda zone: zone.begin), missing, at_end=False)
    foremost = _fill(sorted(zones, key=lambda zone: -zone.end), missing, at_end=True)
    low, high = _moment(rearmost), _moment(foremost)
    got = min(max(wanted, low), high)
    return BallastPlan(
        code=BallastCode.REACHED if got == wanted else BallastCode.SHARE_OUT_OF_REACH,
        pieces=_place(zones, missing, got, rearmost, foremost),
        total=total,
        guide_share=(moment + got) / (total * guide_ahead),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightLimits:
    """What a class allows: total in g, share on the guide. None where it has no limit.

    Raises FitError limits_crossed.
    """

    total_least: Fraction | None = None
    total_most: Fraction | None = None
    guide_share_least: Fraction | None = None
    guide_share_most: Fraction | None = None

    def __post_init__(self) -> None:
        pairs = ((self.total_least, self.total_most), (self.guide_share_least, self.guide_share_most))
        if any(least is not None and most is not None and least > most for least, most in pairs):
            raise FitError(FitErrorCode.LIMITS_CROSSED)


def least_ballast(
    pieces: Sequence[Piece], *, guide_ahead: Fraction, zones: Sequence[Zone], limits: WeightLimits
) -> BallastPlan | None:
    """The lightest ballast with which a car is inside the limits of its class; None when there is none.

    With more ballast the foremost place that it can have grows ever more slowly, and the rearmost ever faster, so the
    weights with which the share is inside its limits are one interval, whose ends lie where a zone is full or where
    one of two straight lines meets a limit: those are tried. Raises FitError as `weigh`.
    """
    _check(pieces, guide_ahead)
    mass = sum((piece.mass.value for piece in pieces), ZERO)
    moment = sum((piece.mass.value * piece.ahead.value for piece in pieces), ZERO)
    start = max(ZERO, (limits.total_least or ZERO) - mass)
    for ballast in sorted(_turning_points(zones, limits, mass, moment, guide_ahead) | {start}):
        total = mass + ballast
        if ballast < start or (limits.total_most is not None and total > limits.total_most):
            continue
        rearmost = _fill(sorted(zones, key=lambda zone: zone.begin), ballast, at_end=False)
        foremost = _fill(sorted(zones, key=lambda zone: -zone.end), ballast, at_end=True)
        if sum((one.mass for one in foremost), ZERO) < ballast:
            continue
        low, high = ((moment + _moment(laid)) / (total * guide_ahead) for laid in (rearmost, foremost))
        wanted = low if limits.guide_share_least is None else max(low, limits.guide_share_least)
        if wanted <= high and (limits.guide_share_most is None or wanted <= limits.guide_share_most):
            return plan_ballast(pieces, guide_ahead=guide_ahead, zones=zones, total=total, guide_share=wanted)
    return None


def _turning_points(
    zones: Sequence[Zone], limits: WeightLimits, mass: Fraction, moment: Fraction, guide_ahead: Fraction
) -> set[Fraction]:
    """Weights of ballast at which the share reachable meets a limit, or a zone is full."""
    points: set[Fraction] = set()
    for at_end, share in ((True, limits.guide_share_least), (False, limits.guide_share_most)):
        order = sorted(zones, key=lambda zone: -zone.end if at_end else zone.begin)
        laid = carried = ZERO
        for zone in order:
            place = zone.end if at_end else zone.begin
            if share is not None and place != share * guide_ahead:
                # moment + carried + place (b - laid) = share (mass + b) guide_ahead
                upper = share * mass * guide_ahead - moment - carried + place * laid
                points.add(upper / (place - share * guide_ahead))
            if zone.most is None:
                break
            laid, carried = laid + zone.most, carried + zone.most * place
            points.add(laid)
    return points


def _check(pieces: Sequence[Piece], guide_ahead: Fraction) -> None:
    if guide_ahead <= 0:
        raise FitError(FitErrorCode.GUIDE_NOT_AHEAD)
    for piece in pieces:
        if piece.mass.value < 0:
            raise FitError(FitErrorCode.SIZE_NOT_POSITIVE, name=piece.name)
    if not any(piece.mass.value for piece in pieces):
        raise FitError(FitErrorCode.NO_PIECES)


def _fill(zones: Sequence[Zone], mass: Fraction, *, at_end: bool) -> tuple[Ballast, ...]:
    """All of it into the zones in this order, each piece at the zone's end or beginning."""
    laid: list[Ballast] = []
    for zone in zones:
        here = mass if zone.most is None else min(mass, zone.most)
        if here:
            laid.append(Ballast(zone=zone.name, mass=here, ahead=zone.end if at_end else zone.begin))
        mass -= here
    return tuple(laid)


def _moment(laid: Sequence[Ballast]) -> Fraction:
    return sum((one.mass * one.ahead for one in laid), ZERO)


def _place(
    zones: Sequence[Zone],
    mass: Fraction,
    moment: Fraction,
    rearmost: Sequence[Ballast],
    foremost: Sequence[Ballast],
) -> tuple[Ballast, ...]:
    """One piece where one zone takes it all; else a mixture of the rearmost and the foremost filling.

    A mixture of two fillings keeps every zone within its most and every piece within its zone.
    """
    if not mass:
        return ()
    at = moment / mass
    for zone in zones:
        if zone.begin <= at <= zone.end and (zone.most is None or zone.most >= mass):
            return (Ballast(zone=zone.name, mass=mass, ahead=at),)
    low, high = _moment(rearmost), _moment(foremost)
    forward = (moment - low) / (high - low) if high > low else ZERO
    laid: list[Ballast] = []
    for zone in zones:
        parts = [(one.mass * (1 - forward), one.ahead) for one in rearmost if one.zone == zone.name]
        parts += [(one.mass * forward, one.ahead) for one in foremost if one.zone == zone.name]
        here = sum((part for part, _ in parts), ZERO)
        if here:
            ahead = sum((part * place for part, place in parts), ZERO) / here
            laid.append(Ballast(zone=zone.name, mass=here, ahead=ahead))
    return tuple(laid)

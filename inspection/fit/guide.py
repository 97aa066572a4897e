"""The guide in the slot, its swing, and what is cut to length: shaft, braids and lead wires."""

from collections.abc import Iterator
from fractions import Fraction
from math import asin, atan2, ceil, cos, degrees, floor, hypot, pi, radians

from inspection.fit.findings import Cut, CutCode, Finding, FitCode, Missing, Note, Place
from inspection.fit.parts import Build, Guide, Leads, Side, Slot, Targets
from inspection.fit.sizes import ZERO, Size, Stack, constant, one

Look = Finding | Missing
_PLACES = {Side.LEFT: Place.GUIDE_LEFT, Side.RIGHT: Place.GUIDE_RIGHT}


def look_at_guide(build: Build, targets: Targets) -> Iterator[Look]:
    """Blade over the floor of the slot and between its walls, swing, shaft and lead wire."""
    guide = build.guide
    yield from _in_slot(guide, build.slot, targets)
    for side in Side:
        yield _swing(guide, side, targets)
    if guide.shaft is None or guide.holder is None:
        missing = tuple(n for n, size in (("shaft", guide.shaft), ("holder", guide.holder)) if size is None)
        yield Missing(code=FitCode.GUIDE_SHAFT, place=Place.CAR, sizes=missing)
    else:
        stack = one("guide.shaft", guide.shaft) - _shaft_needed(guide, guide.holder)
        yield Finding(code=FitCode.GUIDE_SHAFT, place=Place.CAR, stack=stack, least=ZERO)
    if guide.leads is None or guide.leads.given is None:
        yield Missing(code=FitCode.LEAD_LENGTH, place=Place.CAR, sizes=("leads",))
    else:
        needed = constant(lead_length(guide.leads, swing_deg=_widest_swing(guide, targets)))
        stack = one("leads.given", guide.leads.given) - needed
        yield Finding(code=FitCode.LEAD_LENGTH, place=Place.CAR, stack=stack, least=ZERO)


def cuts_of(build: Build, targets: Targets) -> tuple[Cut, ...]:
    """What to cut to which length: the guide's shaft, each braid (a little over, then trimmed), each lead wire."""
    guide = build.guide
    cuts: list[Cut] = []
    if guide.holder is not None:
        needed = _shaft_needed(guide, guide.holder).value
        off = None if guide.shaft is None else guide.shaft.value - needed
        cuts.append(Cut(code=CutCode.GUIDE_SHAFT, length=needed, off=off if off is None or off >= 0 else None))
    if guide.contact is not None:
        end = ZERO if guide.braid_end is None else guide.braid_end.value
        cuts.append(Cut(code=CutCode.BRAID, length=guide.contact.value + end + targets.braid_extra))
    if guide.leads is not None:
        length = lead_length(guide.leads, swing_deg=_widest_swing(guide, targets))
        spare = None if guide.leads.given is None else guide.leads.given.value - length
        cuts.append(Cut(code=CutCode.LEAD, length=length, off=spare if spare is None or spare >= 0 else None))
    return tuple(cuts)


def lead_length(leads: Leads, *, swing_deg: Fraction) -> Fraction:
    """Wire in mm from motor to guide that reaches at full steer either way, up to the next tenth.

    From where the wire leaves the chassis to its end in the guide, which turns about the post: the longest distance
    by the law of cosines over the whole swing, with the slack wanted.
    """
    from_post = hypot(leads.exit_back, leads.exit_side)
    to_end = hypot(leads.terminal_back, leads.terminal_side)
    between = abs(atan2(leads.exit_side, leads.exit_back) - atan2(leads.terminal_side, leads.terminal_back))
    widest = min(pi, (between if between <= pi else 2 * pi - between) + radians(swing_deg))
    square = from_post**2 + to_end**2 - 2 * from_post * to_end * cos(widest)
    free = Fraction(ceil(max(0.0, square) ** 0.5 * 10 - 1e-9), 10)
    return leads.routed + free + leads.slack


def swing_to_corner(guide: Guide, side: Side) -> Fraction | None:
    """Degrees that the guide turns until its tail meets a corner, down to the next tenth; None when it never does.

    A corner further from the post than the tail is long is never met. Otherwise the tail, so much wide, meets it at
    its angle from straight back less that of half its width. Turning to the left takes the tail to the right.
    """
    if guide.tail is None:
        return None
    reach = guide.tail.value**2 + guide.tail_half_width**2
    sign = 1 if side is Side.LEFT else -1
    angles = [
        degrees(atan2(corner.side * sign, corner.back) - asin(min(1.0, float(guide.tail_half_width) / far)))
        for corner in guide.corners
        if corner.back**2 + corner.side**2 <= reach
        and corner.side * sign > 0
        and (far := hypot(corner.back, corner.side)) > 0
    ]
    return Fraction(floor(max(0.0, min(angles)) * 10 + 1e-9), 10) if angles else None


def _in_slot(guide: Guide, slot: Slot, targets: Targets) -> Iterator[Look]:
    if guide.blade_depth is None or slot.depth is None:
        known = {"guide.blade_depth": guide.blade_depth, "slot.depth": slot.depth}
        missing = tuple(name for name, size in known.items() if size is None)
        yield Missing(code=FitCode.GUIDE_FLOOR, place=Place.CAR, sizes=missing)
    else:
        stack = one("slot.depth", slot.depth) - one("guide.blade_depth", guide.blade_depth)
        yield Finding(code=FitCode.GUIDE_FLOOR, place=Place.CAR, stack=stack, least=targets.guide_floor)
    if guide.blade_thickness is None or slot.width is None:
        known = {"guide.blade_thickness": guide.blade_thickness, "slot.width": slot.width}
        missing = tuple(name for name, size in known.items() if size is None)
        yield Missing(code=FitCode.GUIDE_SLOT, place=Place.CAR, sizes=missing)
    else:
        stack = one("slot.width", slot.width) - one("guide.blade_thickness", guide.blade_thickness)
        yield Finding(code=FitCode.GUIDE_SLOT, place=Place.CAR, stack=stack, least=ZERO, is_strict=True)


def _swing(guide: Guide, side: Side, targets: Targets) -> Look:
    measured = guide.swing_left if side is Side.LEFT else guide.swing_right
    notes: tuple[Note, ...] = ()
    if measured is not None:
        stack = one(f"guide.swing_{side}", measured)
    elif guide.tail is not None and guide.corners:
        angle = swing_to_corner(guide, side)
        if angle is None:
            angle, notes = Fraction(180), (Note.TURNS_FREELY,)
        stack = constant(angle)
    else:
        return Missing(code=FitCode.GUIDE_SWING, place=_PLACES[side], sizes=(f"guide.swing_{side}",))
    return Finding(code=FitCode.GUIDE_SWING, place=_PLACES[side], stack=stack, least=targets.swing, notes=notes)


def _widest_swing(guide: Guide, targets: Targets) -> Fraction:
    """The swing that the wires must allow: what was measured, and at least what is wanted."""
    measured = [size.value for size in (guide.swing_left, guide.swing_right) if size is not None]
    return max([targets.swing, *measured])


def _shaft_needed(guide: Guide, holder: Size) -> Stack:
    needed = one("guide.holder", holder)
    for number, spacer in enumerate(guide.spacers, start=1):
        needed += one(f"guide.spacer.{number}", spacer)
    return needed if guide.clip is None else needed + one("guide.clip", guide.clip)

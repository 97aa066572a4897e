"""What a bench weighs, and where: the masses of chassis, parts and ballast by the lever law of the fit engine."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from inspection.fit.parts import Layout
from inspection.fit.sizes import ZERO, Size
from inspection.fit.weight import Piece, Weight, weigh
from inspection.planning.assumed import Assumed, AssumedCode, Need, NeedCode
from inspection.planning.document import Bench, BenchPart
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.units import Kind, UnitsError, parse_quantity

_ON_REAR_AXLE = frozenset({"driven_gear", "rear_tires", "rear_wheels", "rear_axle"})
_ON_FRONT_AXLE = frozenset({"front_tires", "front_wheels", "front_axle"})
# Parts of a build whose weight counts; without any of them a sum of masses is no car's weight.
WEIGHED = ("motor", "driven_gear", "pinion", "rear_tires", "rear_wheels", "rear_axle", "front_tires", "front_wheels",
           "front_axle", "guide", "lead_wire", "body")  # fmt: skip
_NEEDED = frozenset({"motor", "rear_tires", "body"})
WEIGHT_CODE = "weight-ready-to-race"


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """mass: of the whole car in g: declared, else the sum where all of it is known. known: the sum of what is known.

    pieces: what it is made of. guide_ahead: where the guide stands; None where some place or mass is not known.
    """

    mass: Fraction | None
    known: Fraction
    pieces: tuple[Piece, ...]
    guide_ahead: Size | None = None
    assumptions: tuple[Assumed, ...] = ()
    needs: tuple[Need, ...] = ()

    @property
    def weight(self) -> Weight | None:
        """With its shares, by the lever law; None where not all of it is known. Worked out when it is asked for."""
        return None if self.guide_ahead is None else weigh(self.pieces, guide_ahead=self.guide_ahead)


def weigh_bench(bench: Bench, distance: Size | None) -> Weighed:
    """The weight of a bench. distance: of motor shaft and axle in mm. Raises PlanningError impossible."""
    pieces: list[Piece] = list(bench.ballast)
    assumed: list[Assumed] = []
    known = sum((piece.mass.value for piece in bench.ballast), ZERO)
    heavy: list[str] = []  # paths of what is missing
    placeless: list[str] = []
    for name, path, place_path, mass, ahead in _masses(bench, distance):
        if mass is None:
            heavy.append(path)
            continue
        known += mass.value
        if ahead is None:
            placeless.append(place_path)
            continue
        if name == "motor" and bench.parts["motor"].ahead is None:
            assumed.append(Assumed(AssumedCode.MOTOR_OVER_SHAFT, place_path))
        pieces.append(Piece(name=name, mass=mass, ahead=ahead))
    declared = _declared_mass(bench)
    guide = _guide(bench, pieces, heavy, placeless)
    needs = []
    if heavy and declared is None:
        needs.append(Need(NeedCode.WEIGHT, tuple(heavy)))
    if guide is None:
        needs.append(Need(NeedCode.BALANCE, (*heavy, *placeless)))
    return Weighed(
        mass=declared if declared is not None else None if heavy else known,
        known=known,
        pieces=tuple(pieces),
        guide_ahead=guide,
        assumptions=tuple(assumed),
        needs=tuple(needs),
    )


def _masses(bench: Bench, distance: Size | None) -> Iterator[tuple[str, str, str, Size | None, Size | None]]:
    """Name, path of the mass, path of its place, mass and place of everything that weighs, as far as known."""
    chassis = bench.chassis
    yield (
        "chassis", "chassis.sizes.mass", "chassis.sizes.mass_ahead", chassis.size("mass"), chassis.size("mass_ahead")
    )  # fmt: skip
    for place in WEIGHED:
        part = bench.parts.get(place)
        if part is not None:
            where = _place_of(bench, place, part, distance)
            yield place, f"parts.{place}.sizes.mass", f"parts.{place}.ahead", part.sizes.size("mass"), where
        elif place in _NEEDED:
            yield place, f"parts.{place}", "", None, None


def _guide(bench: Bench, pieces: list[Piece], heavy: list[str], placeless: list[str]) -> Size | None:
    """Where the guide stands, when the lever law can be asked; what it lacks is then among the placeless."""
    guide = bench.chassis.size("guide_ahead")
    if guide is None:
        placeless.append("chassis.sizes.guide_ahead")
    if heavy or placeless or guide is None or not any(piece.mass.value for piece in pieces):
        return None
    if guide.value <= 0:
        why = "The guide stands ahead of the rear axle."
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="chassis.sizes.guide_ahead", why=why)
    return guide


def _place_of(bench: Bench, place: str, part: BenchPart, distance: Size | None) -> Size | None:
    """In mm ahead of the rear axle, where it follows from the place."""
    if part.ahead is not None:
        return part.ahead
    if place in _ON_REAR_AXLE:
        return Size(ZERO)
    if place in _ON_FRONT_AXLE:
        return bench.chassis.size("wheelbase")
    if place == "guide":
        return bench.chassis.size("guide_ahead")
    if place in {"motor", "pinion"} and bench.chassis.word("layout") != Layout.INLINE:
        return distance
    return None


def _declared_mass(bench: Bench) -> Fraction | None:
    text = bench.declared.get(WEIGHT_CODE)
    if not text:
        return None
    try:
        return parse_quantity(text, Kind.MASS, default_unit="g").base
    except UnitsError as error:
        raise PlanningError(PlanningCode.UNREADABLE, path=f"declared.{WEIGHT_CODE}", why=str(error)) from error

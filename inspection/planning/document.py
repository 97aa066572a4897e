"""The bench document: chassis, parts, mounting, track and what is wanted, read from JSON values.

Texts carry their units ("19.5 mm", "2 1/16 in", "36"); without a unit the base unit is meant (mm, g, V, A). A size may
say how far it may be off, "12.05 mm ± 0.02 mm". Nothing is asked but what is there; what is missing is named by whoever
needs it. The rules of the class are not read here: they come to `evaluation` as a sheet of the conformity engine.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from fractions import Fraction
from typing import Any, Final

from inspection.conformity.subjects import TRACK_VALUES
from inspection.dynamics.errors import DynamicsError
from inspection.dynamics.track import Curve, Section, Straight, Turn
from inspection.fit.errors import FitError
from inspection.fit.parts import Corner, Targets
from inspection.fit.sizes import Size
from inspection.fit.weight import Piece, Zone
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.register import (
    CHASSIS_SIZES,
    MOUNTING_SIZES,
    PART_SIZES,
    PLACES,
    SPACER_PLACES,
    PartKind,
)
from inspection.planning.told import Precision, Reader, Told, under
from inspection.units import Kind

MOST_PIECES: Final = 50
MOST_SPACERS: Final = 20
MOST_SECTIONS: Final = 400
MOST_LANES: Final = 32
MOST_ON_HAND: Final = 2000

KEYS: Final = (
    "document", "version", "chassis", "parts", "mounting", "spacers", "ballast", "targets", "within", "driving",
    "track", "declared", "on_hand", "wanted", "rule_sheet", "occasion",
)  # fmt: skip
# What a lap needs besides parts and track: the name, and the kind of quantity.
DRIVING: Final[Mapping[str, Kind]] = {
    "grip": Kind.RATIO,
    "efficiency": Kind.RATIO,
    "braking_share": Kind.RATIO,
    "rear_share": Kind.RATIO,
    "rolling": Kind.RATIO,
    "downforce": Kind.FORCE,
    "supply_resistance": Kind.RESISTANCE,
}
_TARGETS: Final = tuple(one.name for one in fields(Targets))


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchPart:
    """A part that is chosen or at hand. A pair of tires or wheels is one part, with the mass of both.

    key: what tells it from others (its id, else its name). price: of one, None when not told. stock: how many there
    are. ahead: where its mass lies, in mm ahead of the rear axle, where that does not follow from its place.
    """

    name: str
    kind: PartKind
    sizes: Told = field(default_factory=Told)
    key: str = ""
    price: Fraction | None = None
    stock: int = 1
    ahead: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spacer:
    """A spacer where it lies. key: of the part, or "" when only its thickness is told."""

    thickness: Size
    key: str = ""
    name: str = ""
    price: Fraction | None = None


@dataclass(frozen=True, slots=True)
class BenchLane:
    """A lane: offset in mm from the middle of the track, to the left positive in the direction of racing."""

    number: int
    name: str
    offset: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchTrack:
    """The track. values: by the names of conformity's TRACK_VALUES, in mm, V or A."""

    name: str = ""
    values: Mapping[str, Fraction] = field(default_factory=dict)
    sections: tuple[Section, ...] = ()
    lanes: tuple[BenchLane, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """All that is told of a build. parts by place of `register.PLACES`; spacers by `register.SPACER_PLACES`."""

    name: str = ""
    chassis: Told = field(default_factory=Told)
    runs_free: tuple[tuple[Told, Told], ...] = ()
    corners: tuple[Corner, ...] = ()
    zones: tuple[Zone, ...] = ()
    parts: Mapping[str, BenchPart] = field(default_factory=dict)
    mounting: Told = field(default_factory=Told)
    spacers: Mapping[str, tuple[Spacer, ...]] = field(default_factory=dict)
    ballast: tuple[Piece, ...] = ()
    targets: Targets = field(default_factory=Targets)
    track: BenchTrack = field(default_factory=BenchTrack)
    driving: Mapping[str, Fraction] = field(default_factory=dict)
    declared: Mapping[str, str] = field(default_factory=dict)
    on_hand: tuple[BenchPart, ...] = ()
    wanted: Mapping[str, Any] = field(default_factory=dict)
    precision: Precision = field(default_factory=Precision)
    is_precision_told: bool = False

    def size_of(self, place: str, code: str) -> Size | None:
        """A size of the part at a place, None without either."""
        part = self.parts.get(place)
        return None if part is None else part.sizes.size(code)

    def with_parts(
        self, parts: Mapping[str, BenchPart], spacers: Mapping[str, tuple[Spacer, ...]] | None = None
    ) -> "Bench":
        """The same bench with other parts at these places, and other spacers at these."""
        return replace(
            self,
            parts={**self.parts, **parts},
            spacers=self.spacers if spacers is None else {**self.spacers, **spacers},
        )


def read_bench(document: Any) -> Bench:
    """A bench document as typed values. Raises PlanningError with the path of what is wrong."""
    reader = Reader()
    head = reader.object(document, "", KEYS)
    told = reader.object(head.get("within"), "within", ("length", "mass"))
    length = reader.base(told.get("length"), "within.length", Kind.LENGTH)
    mass = reader.base(told.get("mass"), "within.mass", Kind.MASS)
    usual = Precision()
    precision = Precision(usual.length if length is None else length, usual.mass if mass is None else mass)
    return _Document(precision).bench(head, is_precision_told=length is not None)


class _Document(Reader):
    def bench(self, head: Mapping[str, Any], *, is_precision_told: bool) -> Bench:
        chassis = self.object(head.get("chassis"), "chassis", ("name", "sizes", "runs_free", "corners", "zones"))
        return Bench(
            name=self.text(chassis.get("name"), "chassis.name"),
            chassis=self.sizes(chassis.get("sizes"), "chassis.sizes", CHASSIS_SIZES),
            runs_free=self.pairs(chassis.get("runs_free")),
            corners=self.corners(chassis.get("corners")),
            zones=self.zones(chassis.get("zones")),
            parts=self.parts(head.get("parts")),
            mounting=self.sizes(head.get("mounting"), "mounting", MOUNTING_SIZES),
            spacers=self.spacers(head.get("spacers")),
            ballast=self.ballast(head.get("ballast")),
            targets=self.targets(head.get("targets")),
            track=self.track(head.get("track")),
            driving=self.driving(head.get("driving")),
            declared=self.declared(head.get("declared")),
            on_hand=tuple(
                self.part(one, under("on_hand", number), None)
                for number, one in enumerate(self.items(head.get("on_hand"), "on_hand", MOST_ON_HAND))
            ),
            wanted=self.object(head.get("wanted"), "wanted"),
            precision=self.precision,
            is_precision_told=is_precision_told,
        )

    def pairs(self, plain: Any) -> tuple[tuple[Told, Told], ...]:
        found = []
        for number, one in enumerate(self.items(plain, "chassis.runs_free", MOST_PIECES)):
            path = under("chassis.runs_free", number)
            given = self.object(one, path, ("pinion", "driven_gear"))
            gears = []
            for name, kind in (("pinion", PartKind.PINION), ("driven_gear", PartKind.SPUR_GEAR)):
                sizes = self.sizes(given.get(name), under(path, name), PART_SIZES[kind])
                if "teeth" not in sizes:
                    raise PlanningError(PlanningCode.LACKS, path=under(path, name), name="teeth")
                gears.append(sizes)
            found.append((gears[0], gears[1]))
        return tuple(found)

    def corners(self, plain: Any) -> tuple[Corner, ...]:
        found = []
        for number, one in enumerate(self.items(plain, "chassis.corners", MOST_PIECES)):
            path = under("chassis.corners", number)
            given = self.object(one, path, ("back", "side"))
            back, side = (self.needed(given, name, path, Kind.LENGTH, below_zero=True) for name in ("back", "side"))
            found.append(Corner(back=back, side=side))
        return tuple(found)

    def zones(self, plain: Any) -> tuple[Zone, ...]:
        found = []
        for number, one in enumerate(self.items(plain, "chassis.zones", MOST_PIECES)):
            path = under("chassis.zones", number)
            given = self.object(one, path, ("name", "begin", "end", "most"))
            begin, end = (self.needed(given, name, path, Kind.LENGTH, below_zero=True) for name in ("begin", "end"))
            name = self.text(given.get("name"), under(path, "name")) or str(number + 1)
            try:
                most = self.base(given.get("most"), under(path, "most"), Kind.MASS)
                found.append(Zone(name=name, begin=begin, end=end, most=most))
            except FitError as error:
                raise PlanningError(PlanningCode.IMPOSSIBLE, path=path, why=str(error)) from error
        return tuple(found)

    def parts(self, plain: Any) -> dict[str, BenchPart]:
        given = self.object(plain, "parts", PLACES)
        return {place: self.part(one, under("parts", place), PLACES[place]) for place, one in given.items()}

    def part(self, plain: Any, path: str, kinds: Sequence[PartKind] | None) -> BenchPart:
        given = self.object(plain, path, ("name", "kind", "sizes", "price", "part", "stock", "ahead", "code"))
        word = self.text(given.get("kind"), under(path, "kind"))
        if not word and kinds is not None:
            word = kinds[0]
        if word not in set(PartKind):
            raise PlanningError(PlanningCode.NOT_ONE_OF, path=under(path, "kind"), known=", ".join(PartKind))
        kind = PartKind(word)
        if kinds is not None and kind not in kinds:
            raise PlanningError(PlanningCode.KIND_DOES_NOT_FIT, path=path, known=" / ".join(kinds))
        name = self.text(given.get("name"), under(path, "name"))
        ahead = self.toleranced(given.get("ahead"), under(path, "ahead"), Kind.LENGTH, below_zero=True)
        return BenchPart(
            name=name,
            kind=kind,
            sizes=self.sizes(given.get("sizes"), under(path, "sizes"), PART_SIZES[kind]),
            key=self.text(given.get("part"), under(path, "part")) or name,
            price=self.price(given.get("price"), under(path, "price")),
            stock=self.whole(given.get("stock"), under(path, "stock"), 1),
            ahead=None if ahead is None else Size(ahead[0].base, ahead[1]),
        )

    def price(self, plain: Any, path: str) -> Fraction | None:
        """Money, without its currency: "3.50"."""
        return self.base(plain, path, Kind.RATIO)

    def spacers(self, plain: Any) -> dict[str, tuple[Spacer, ...]]:
        found: dict[str, tuple[Spacer, ...]] = {}
        for place, rows in self.object(plain, "spacers", SPACER_PLACES).items():
            path = under("spacers", place)
            found[place] = tuple(
                self.spacer(one, under(path, number)) for number, one in enumerate(self.items(rows, path, MOST_SPACERS))
            )
        return found

    def spacer(self, plain: Any, path: str) -> Spacer:
        given = self.object(plain, path, ("thickness", "part", "name", "price"))
        thickness = self.toleranced(given.get("thickness"), under(path, "thickness"), Kind.LENGTH)
        if thickness is None:
            raise PlanningError(PlanningCode.LACKS, path=path, name="thickness")
        name = self.text(given.get("name"), under(path, "name"))
        return Spacer(
            thickness=Size(thickness[0].base, thickness[1]),
            key=self.text(given.get("part"), under(path, "part")) or name,
            name=name,
            price=self.price(given.get("price"), under(path, "price")),
        )

    def ballast(self, plain: Any) -> tuple[Piece, ...]:
        found = []
        for number, one in enumerate(self.items(plain, "ballast", MOST_PIECES)):
            path = under("ballast", number)
            given = self.object(one, path, ("name", "mass", "ahead"))
            mass = self.toleranced(given.get("mass"), under(path, "mass"), Kind.MASS)
            ahead = self.toleranced(given.get("ahead"), under(path, "ahead"), Kind.LENGTH, below_zero=True)
            if mass is None or ahead is None:
                raise PlanningError(PlanningCode.LACKS, path=path, name="mass" if mass is None else "ahead")
            name = self.text(given.get("name"), under(path, "name"))
            found.append(
                Piece(
                    name=f"ballast {number + 1} {name}".strip(),
                    mass=Size(mass[0].base, mass[1]),
                    ahead=Size(ahead[0].base, ahead[1]),
                )
            )
        return tuple(found)

    def targets(self, plain: Any) -> Targets:
        values: dict[str, Fraction] = {}
        for name, text in self.object(plain, "targets", _TARGETS).items():
            kind = Kind.ANGLE if name == "swing" else Kind.LENGTH
            value = self.base(text, under("targets", name), kind, below_zero=name.startswith("front_lift"))
            if value is not None:
                values[name] = value
        return Targets(**values)

    def track(self, plain: Any) -> BenchTrack:
        given = self.object(plain, "track", ("name", "sections", "lanes", *TRACK_VALUES))
        values: dict[str, Fraction] = {}
        for name, kind in TRACK_VALUES.items():
            value = self.base(given.get(name), under("track", name), kind, below_zero=name == "conductor_height_mm")
            if value is not None:
                values[name] = value
        sections = self.items(given.get("sections"), "track.sections", MOST_SECTIONS)
        lanes = self.items(given.get("lanes"), "track.lanes", MOST_LANES)
        return BenchTrack(
            name=self.text(given.get("name"), "track.name"),
            values=values,
            sections=tuple(self.section(one, under("track.sections", place)) for place, one in enumerate(sections)),
            lanes=tuple(self.lane(one, place) for place, one in enumerate(lanes)),
        )

    def section(self, plain: Any, path: str) -> Section:
        """A straight by its length; a curve by radius, angle and turn."""
        given = self.object(plain, path, ("length", "radius", "angle", "turn"))
        try:
            if "length" in given:
                return Straight(float(self.needed(given, "length", path, Kind.LENGTH) / 1000))
            turn = self.text(given.get("turn"), under(path, "turn"))
            if turn not in set(Turn):
                raise PlanningError(PlanningCode.NOT_ONE_OF, path=under(path, "turn"), known=", ".join(Turn))
            radius = self.needed(given, "radius", path, Kind.LENGTH) / 1000
            return Curve(float(radius), float(self.needed(given, "angle", path, Kind.ANGLE)), Turn(turn))
        except DynamicsError as error:
            raise PlanningError(PlanningCode.IMPOSSIBLE, path=path, why=str(error)) from error

    def lane(self, plain: Any, place: int) -> BenchLane:
        path = under("track.lanes", place)
        given = self.object(plain, path, ("number", "name", "offset"))
        return BenchLane(
            self.whole(given.get("number"), under(path, "number"), place + 1),
            self.text(given.get("name"), under(path, "name")),
            self.needed(given, "offset", path, Kind.LENGTH, below_zero=True),
        )

    def driving(self, plain: Any) -> dict[str, Fraction]:
        values: dict[str, Fraction] = {}
        for name, text in self.object(plain, "driving", DRIVING).items():
            value = self.base(text, under("driving", name), DRIVING[name])
            if value is not None:
                values[name] = value
        return values

    def declared(self, plain: Any) -> dict[str, str]:
        """Text by the code of the characteristic; read by whoever knows the register of the rules."""
        given = self.object(plain, "declared")
        texts = {code: self.text(value, under("declared", code)) for code, value in given.items()}
        return {code: text for code, text in texts.items() if text}

"""A bench sheet as a build, for pages that need no rules, and a build that was changed as a sheet again. No query."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from inspection.fit.findings import FitReport
from inspection.fit.parts import Build, Targets
from inspection.fit.sizes import Size
from inspection.fit.weight import Weight
from inspection.gauges.selectors import read_stored
from inspection.gearing.mesh import Mesh
from inspection.gearing.spur import SpurGear
from inspection.planning.document import read_bench
from inspection.planning.errors import PlanningError
from inspection.planning.evaluation import Evaluation, evaluate
from inspection.planning.register import SPACER_PLACES
from inspection.units import Kind, base_unit, from_base

Document = Mapping[str, Any]
Sizes = Mapping[str, str]
NONE: Sizes = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gears:
    """The pair on the car. mesh: None where the distance is not known, or the driven gear is a crown."""

    pinion: SpurGear
    driven: SpurGear
    mesh: Mesh | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What is known of a document; build, gears and weight are None where too little is. wrong: why nothing is."""

    targets: Targets
    build: Build | None = None
    report: FitReport | None = None
    gears: Gears | None = None
    weight: Weight | None = None
    total_mass: Fraction | None = None
    wrong: str = ""


def bench_of(document: Document, *, cures: bool = True) -> Bench:
    """What the engines say of a document. cures: left out when only the verdict is wanted."""
    try:
        found = evaluate(read_bench(document), cures=cures)
    except PlanningError as error:
        return Bench(targets=Targets(), wrong=str(error))
    return Bench(
        targets=found.bench.targets,
        build=found.build,
        report=found.report,
        gears=_gears(found),
        weight=found.weight,
        total_mass=found.weighed.mass or found.weighed.known or None,
    )


def _gears(found: Evaluation) -> Gears | None:
    gears = found.built.gears
    if gears.pinion is None or not isinstance(gears.driven, SpurGear):
        return None
    mesh = found.mesh if isinstance(found.mesh, Mesh) else None
    return Gears(pinion=gears.pinion, driven=gears.driven, mesh=mesh)


def center_distance_of(document: Document) -> Size | None:
    """Motor shaft to axle, in mm: as typed, across both shafts, or from a pair that runs free."""
    try:
        return evaluate(read_bench(document), cures=False).built.distance
    except PlanningError:
        return None


def ratio_of(document: Document) -> Fraction | None:
    """Driven teeth over the pinion's; None where one is not told."""
    pinion, driven = (number(sizes_at(document, place), "teeth", Kind.COUNT) for place in ("pinion", "driven_gear"))
    return driven / pinion if pinion and driven else None


def number(sizes: Sizes, code: str, kind: Kind = Kind.LENGTH) -> Fraction | None:
    """A size in the base unit of its kind, exact; None when it is not there or cannot be read."""
    quantity = read_stored(sizes.get(code, "") or "", kind, "")
    return quantity.base if quantity is not None and quantity.kind is kind else None


def sizes_at(document: Document, place: str) -> Sizes:
    """The sizes of the part at a place; none where nothing is."""
    part = document.get("parts", {}).get(place) or {}
    return part.get("sizes") or NONE


# Back from a build to a sheet.


def _of_pinion(name: str) -> Callable[[Build], Size | None]:
    return lambda build: getattr(build.drive.pinion, name) if build.drive.pinion else None


def _of_axle(axle: str, name: str) -> Callable[[Build], Size | None]:
    return lambda build: getattr(found, name) if (found := getattr(build, axle)) else None


def _narrowest(build: Build) -> Size:
    return min((side.wheel.tire_width for side in (build.rear.left, build.rear.right)), key=lambda size: size.value)


# Where a size of the engine's build stands on a sheet: its mounting, or a size of the part at a place.
_SIZES: tuple[tuple[str, str, Callable[[Build], Size | None]], ...] = (
    ("mounting", "pinion_gap", _of_pinion("gap")),
    ("pinion", "length", _of_pinion("length")),
    ("mounting", "edge", lambda build: Size(max(build.rear.left.wheel.edge, build.rear.right.wheel.edge))),
    ("rear_tires", "width", _narrowest),
    *((f"{axle}_axle", "length", _of_axle(axle, "length")) for axle in ("rear", "front")),
    *(
        ("mounting", f"{axle}_{name}", _of_axle(axle, name))
        for axle in ("rear", "front")
        for name in ("end_play", "hub_to_hub")
    ),
    ("mounting", "guide_height", lambda build: build.ground.guide_height),
    ("guide", "blade_depth", lambda build: build.guide.blade_depth),
    ("guide", "blade_thickness", lambda build: build.guide.blade_thickness),
)


def changes_between(
    before: Build,
    after: Build,
    mounting: Mapping[str, str],
    parts: Mapping[str, Mapping[str, Any]],
    spacers: Mapping[str, Sequence[Mapping[str, str]]],
) -> dict[str, Any]:
    """What a sheet says once its build is another, as "mounting", "parts" and "spacers" of the sheet.

    A part that was worked on leaves the register: it is told by its sizes from then on.
    """
    mounting, parts, changed = dict(mounting), dict(parts), dict(spacers)
    for where, code, size_in in _SIZES:
        old, new = size_in(before), size_in(after)
        if new is None or old is None or old.value == new.value:
            continue
        if where == "mounting":
            mounting[code] = written_mm(new.value)
        elif where in parts:
            part = {key: value for key, value in parts[where].items() if key != "part"}
            parts[where] = part | {"sizes": part["sizes"] | {code: written_mm(new.value)}}
    for place, (was, now) in _spacers_of(before, after).items():
        if was != now:
            changed[place] = _spacer_rows(spacers.get(place, ()), was, now)
    return {"mounting": mounting, "parts": parts, "spacers": changed}


def _spacers_of(before: Build, after: Build) -> dict[str, tuple[tuple[Size, ...], tuple[Size, ...]]]:
    found = {"guide": (before.guide.spacers, after.guide.spacers)}
    for axle in ("rear", "front"):
        for side in ("left", "right"):
            one, other = (getattr(getattr(build, axle), side, None) for build in (before, after))
            if one is not None and other is not None:
                found[f"{axle}_{side}_inner"] = (one.inner_spacers, other.inner_spacers)
                found[f"{axle}_{side}_outer"] = (one.outer_spacers, other.outer_spacers)
    return {place: pair for place, pair in found.items() if place in SPACER_PLACES}


def _spacer_rows(
    rows: Sequence[Mapping[str, str]], was: Sequence[Size], now: Sequence[Size]
) -> list[Mapping[str, str]]:
    """The spacers after a cure; those that stay keep their own words."""
    kept = [row for row, old, new in zip(rows, was, now, strict=False) if old == new]
    return kept + [{"thickness": written_mm(size.value)} for size in now[len(kept) :]]


def written_mm(value: Fraction) -> str:
    """A length in mm as the model keeps it, exact."""
    return from_base(value, base_unit(Kind.LENGTH)).canonical

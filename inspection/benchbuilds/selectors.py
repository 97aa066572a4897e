"""A bench sheet's document worked out for pages that need the build and no rules. No query."""

from collections.abc import Mapping
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
from inspection.units import Kind

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

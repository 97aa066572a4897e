"""A bench in full: does it fit, do the gears run, is it legal, what does it weigh, how far does it roll."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.conformity.facts import Facts
from inspection.conformity.sheet import Sheet
from inspection.fit.check import check_fit
from inspection.fit.errors import FitError
from inspection.fit.findings import Cure, FitReport
from inspection.fit.parts import Build
from inspection.fit.weight import Weight
from inspection.gearing.crown import CrownMesh
from inspection.gearing.mesh import Mesh
from inspection.gearing.ratio import PI
from inspection.planning.assumed import Assumed, Need, NeedCode
from inspection.planning.building import Built, build_of, is_crown
from inspection.planning.document import Bench
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.gears import crown_lacks, mesh_of
from inspection.planning.legality import Legality, found_of, judge_at_home
from inspection.planning.matching import Mismatch, mismatches_of
from inspection.planning.weighing import Weighed, weigh_bench

NO_COUNTS: Final[dict[str, str]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """All about a bench. report: None while the rear axle is not known. legality: None without rules.

    rollout: mm of track for one turn of the motor, exact to the 50 digits of pi. needs: what cannot be worked out, and
    the paths of the document that would tell. mismatches: parts that do not go on each other. assumptions: what was
    taken for granted.
    """

    bench: Bench
    built: Built
    report: FitReport | None
    mesh: Mesh | CrownMesh | None
    ratio: Fraction | None
    rollout: Fraction | None
    weighed: Weighed
    legality: Legality | None
    mismatches: tuple[Mismatch, ...]
    assumptions: tuple[Assumed, ...]
    needs: tuple[Need, ...]

    @property
    def build(self) -> Build | None:
        return self.built.build

    @property
    def weight(self) -> Weight | None:
        return self.weighed.weight

    @property
    def fits(self) -> bool | None:
        """Does all that is known fit? None while the rear axle is not known."""
        return None if self.report is None else self.report.fits

    @property
    def meshes(self) -> bool | None:
        """Do the gears drive? None while that is not known."""
        if self.mesh is None:
            return None
        if isinstance(self.mesh, CrownMesh):
            return self.mesh.fits
        return self.mesh.verdict.runs

    @property
    def is_legal(self) -> bool | None:
        """Does no clause stand in its way, as far as is known? None without rules."""
        return None if self.legality is None else self.legality.is_legal

    @property
    def is_good(self) -> bool:
        """Fits, meshes, and nothing says that it is illegal."""
        return bool(self.fits) and bool(self.meshes) and self.is_legal is not False and not self.mismatches


def evaluate(
    bench: Bench,
    *,
    sheet: Sheet | None = None,
    facts: Facts | None = None,
    counts_with: dict[str, str] | None = None,
    cures: bool = True,
) -> Evaluation:
    """Everything about a bench at once.

    sheet, facts: the rules of the class and what is known of the day; without them legality is None. counts_with: by
    the code of a clearance, what the register says of gears. cures: left out when only the verdict is wanted.
    Raises PlanningError impossible for sizes that no build has.
    """
    built = build_of(bench)
    report = _report(bench, built, cures=cures)
    mesh = mesh_of(bench, built.gears, built.distance)
    weighed = weigh_bench(bench, built.distance)
    needs = [*built.needs, *weighed.needs]
    if mesh is None and is_crown(bench) and built.gears.driven is not None:
        needs.append(Need(NeedCode.MESH, crown_lacks(bench)))
    ratio = built.gears.ratio
    tire = bench.size_of("rear_tires", "diameter")
    rollout = None
    if ratio is not None and tire is not None:
        rollout = PI * tire.value / ratio
    else:
        paths = () if tire is not None else ("parts.rear_tires.sizes.diameter",)
        needs.append(Need(NeedCode.ROLLOUT, (*paths, *(() if ratio is not None else built.gears.needs[0].paths))))
    legality = None
    if sheet is not None:
        found = found_of(bench, sheet.register, build=built.build, report=report, mass=weighed.mass)
        legality = judge_at_home(sheet, found, _facts(bench, facts), counts_with=counts_with or NO_COUNTS)
    return Evaluation(
        bench=bench,
        built=built,
        report=report,
        mesh=mesh,
        ratio=ratio,
        rollout=rollout,
        weighed=weighed,
        legality=legality,
        mismatches=mismatches_of(bench),
        assumptions=(*built.assumptions, *weighed.assumptions),
        needs=tuple(needs),
    )


def judge_cure(
    evaluation: Evaluation,
    cure: Cure,
    *,
    sheet: Sheet,
    facts: Facts | None = None,
    counts_with: dict[str, str] | None = None,
) -> Legality:
    """The clauses on the build after a cure."""
    bench = evaluation.bench
    report = check_fit(cure.build, bench.targets, cures=False)
    mass = evaluation.weighed.mass
    found = found_of(bench, sheet.register, build=cure.build, report=report, mass=mass)
    return judge_at_home(sheet, found, _facts(bench, facts), counts_with=counts_with or NO_COUNTS)


def _report(bench: Bench, built: Built, *, cures: bool) -> FitReport | None:
    if built.build is None:
        return None
    try:
        return check_fit(built.build, bench.targets, cures=cures)
    except FitError as error:
        path = error.params.get("name", "targets")
        raise PlanningError(PlanningCode.IMPOSSIBLE, path=path, why=str(error)) from error


def _facts(bench: Bench, facts: Facts | None) -> Facts:
    """The facts that are told, else what the track of the document tells."""
    if facts is not None:
        return facts
    return Facts(track=bench.track.name or None, track_values=bench.track.values)

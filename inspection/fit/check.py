"""The whole of a build: does it fit?"""

from collections.abc import Iterator
from typing import Final

from inspection.fit.axle import FRONT, REAR, lines_of, look_at_axle, look_at_drive
from inspection.fit.cures import with_cures
from inspection.fit.errors import FitError, FitErrorCode
from inspection.fit.findings import Finding, FitReport, Missing
from inspection.fit.ground import look_at_clearance, look_at_nose
from inspection.fit.guide import cuts_of, look_at_guide
from inspection.fit.parts import Axle, Build, Targets

TARGETS: Final = Targets()


def check_fit(build: Build, targets: Targets = TARGETS, *, cures: bool = True) -> FitReport:
    """Everything that must fit, in the order of the work: findings with cures, what is not known, what is cut.

    cures: left out when only the verdict is wanted, which is several times quicker.
    Raises FitError size_not_positive for a tire that is none, limits_crossed for targets that no build meets.
    """
    _check_sizes(build)
    _check_targets(targets)
    looks = tuple(_look_at(build, targets))
    findings = tuple(look for look in looks if isinstance(look, Finding))
    if cures:
        findings = with_cures(build, findings, lambda changed: _look_at(changed, targets))
    missing = tuple(look for look in looks if isinstance(look, Missing))
    return FitReport(findings=findings, missing=missing, cuts=cuts_of(build, targets))


def _look_at(build: Build, targets: Targets) -> Iterator[Finding | Missing]:
    rear = lines_of(build.rear, REAR, targets)
    yield from look_at_axle(build.rear, rear, targets)
    yield from look_at_drive(build, rear, targets)
    if build.front is not None:
        yield from look_at_axle(build.front, lines_of(build.front, FRONT, targets), targets)
    yield from look_at_clearance(build, targets)
    yield from look_at_nose(build, targets)
    yield from look_at_guide(build, targets)


def _check_sizes(build: Build) -> None:
    axles: list[tuple[str, Axle]] = [(REAR, build.rear)]
    if build.front is not None:
        axles.append((FRONT, build.front))
    for name, axle in axles:
        for side, part in (("left", axle.left), ("right", axle.right)):
            for size_name, size in (
                ("reach", part.reach),
                ("tire_diameter", part.wheel.tire_diameter),
                ("tire_width", part.wheel.tire_width),
            ):
                if size.value <= 0:
                    raise FitError(FitErrorCode.SIZE_NOT_POSITIVE, name=f"{name}.{side}.{size_name}")


def _check_targets(targets: Targets) -> None:
    pairs = (
        (targets.end_play_least, targets.end_play_most),
        (targets.pinion_gap_least, targets.pinion_gap_most),
        (targets.front_lift_least, targets.front_lift_most),
    )
    if any(least is not None and most is not None and least > most for least, most in pairs):
        raise FitError(FitErrorCode.LIMITS_CROSSED)

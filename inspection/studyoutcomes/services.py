"""Take over into a gauge what a study has found, and take that back."""

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.models import Gauge, GaugeStudy, User
from inspection.studies.selectors import progress_of
from inspection.studyoutcomes.errors import NotTheLatest, StudyIncomplete
from inspection.studyoutcomes.selectors import outcome_of


@transaction.atomic
def adopt_study(*, study: GaugeStudy, by: User | None) -> GaugeStudy:
    """Put what a study has found into its gauge, whose doubt follows; taking it over twice changes nothing.

    A crossed study gives repeatability and reproducibility: any inspector of the club may measure, so both count
    (together they are GRR), but only repeatability averages out over the readings of one car. A bias study gives the
    bias, which nobody corrects for. By analysis of variance. Raises StudyIncomplete.
    """
    held = GaugeStudy.objects.hold(study.pk, "gauge__club")
    if held.adopted_at is not None:
        return held
    gauge = Gauge.objects.hold(held.gauge_id, "club")
    progress = progress_of(held)
    outcome = outcome_of(progress)
    if outcome is None:
        raise StudyIncomplete(missing=progress.missing or progress.total, wanted=progress.total)
    held.given, held.replaced = outcome.given, _stands(gauge, outcome.given)
    held.adopted_at, held.adopted_by = timezone.now(), by
    _put(gauge, held.given)
    held.save(update_fields=["given", "replaced", "adopted_at", "adopted_by"])
    detail = {"was": held.replaced, "now": held.given}
    write_log(club=gauge.club, action="took over gauge study", subject=held, by=by, **detail)
    return held


@transaction.atomic
def release_study(*, study: GaugeStudy, by: User | None) -> GaugeStudy:
    """Take back that a study was taken over: the gauge has again what it had before.

    Releasing one that is not taken over changes nothing. Raises NotTheLatest when something else has been put into
    the gauge since.
    """
    held = GaugeStudy.objects.hold(study.pk, "gauge__club")
    if held.adopted_at is None:
        return held
    gauge = Gauge.objects.hold(held.gauge_id, "club")
    later = gauge.studies.filter(kind=held.kind, adopted_at__gt=held.adopted_at)
    if _stands(gauge, held.given) != held.given or later.exists():
        raise NotTheLatest
    detail = {"was": held.given, "now": held.replaced}
    _put(gauge, held.replaced)
    held.given, held.replaced, held.adopted_at, held.adopted_by = {}, {}, None, None
    held.save(update_fields=["given", "replaced", "adopted_at", "adopted_by"])
    write_log(club=gauge.club, action="took back gauge study", subject=held, by=by, **detail)
    return held


def _stands(gauge: Gauge, like: dict[str, str]) -> dict[str, str]:
    """What the gauge has in the same fields."""
    return {name: getattr(gauge, name) for name in like}


def _put(gauge: Gauge, values: dict[str, str]) -> None:
    for name, value in values.items():
        setattr(gauge, name, value)
    gauge.save(update_fields=list(values))

"""Study a gauge: begin, record what is read, drop it."""

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.gaugestudy.order import Place
from inspection.models import Gauge, GaugeStudy, StudyReading, User
from inspection.studies.errors import (
    AlreadyMeasured,
    FarFromOthers,
    NoSuchPlace,
    NothingToRead,
    StudyFinal,
)
from inspection.studies.selectors import (
    StudyContent,
    is_far_off,
    kind_measured,
    order_of,
    progress_of,
)
from inspection.units import Quantity


@transaction.atomic
def start_study(*, gauge: Gauge, content: StudyContent, seed: int, by: User | None) -> GaugeStudy:
    """Begin a study of a gauge; its order of measuring is drawn from the seed. Raises NothingToRead."""
    if kind_measured(gauge) is None:
        raise NothingToRead(name=gauge.name)
    study = GaugeStudy.objects.create(
        gauge=gauge,
        kind=content.kind,
        name=content.name,
        parts=list(content.parts),
        inspectors=list(content.inspectors),
        trials=content.trials,
        reference=content.reference,
        tolerance=content.tolerance,
        seed=seed,
        started_by=by,
    )
    write_log(club=gauge.club, action="started gauge study", subject=study, by=by, seed=seed)
    return study


@transaction.atomic
def record_reading(
    *, study: GaugeStudy, place: Place, reading: Quantity, corrects: bool = False, sure: bool = False, by: User | None
) -> StudyReading:
    """Keep one reading of a study. Sending the same one twice changes nothing.

    corrects: it takes the place of what stands there, and the log keeps what stood. sure: it is right although it is
    far from what the part can be. Raises StudyFinal, NoSuchPlace, AlreadyMeasured, FarFromOthers.
    """
    held = GaugeStudy.objects.hold(study.pk, "gauge__club")
    if held.adopted_at is not None:
        raise StudyFinal
    if place not in order_of(held):
        raise NoSuchPlace
    progress = progress_of(held)
    stands, text = progress.readings.get(place), reading.canonical
    if stands is not None and stands.reading == text:
        return stands
    if stands is not None and not corrects:
        raise AlreadyMeasured(who=stands.by or "-")
    if not sure and is_far_off(progress, place, reading):
        raise FarFromOthers(reading=text)
    if stands is None:
        where = {"part": place.part, "inspector": place.inspector, "trial": place.trial}
        return StudyReading.objects.create(study=held, reading=text, by=by, **where)
    was, stands.reading, stands.by, stands.at = stands.reading, text, by, timezone.now()
    stands.save(update_fields=["reading", "by", "at"])
    write_log(club=held.gauge.club, action="corrected reading of gauge study", subject=held, by=by, was=was, now=text)
    return stands


@transaction.atomic
def discard_study(*, study: GaugeStudy, by: User | None) -> None:
    """Drop a study and its readings; the log keeps that it was. Raises StudyFinal when it is taken over."""
    held = GaugeStudy.objects.hold(study.pk, "gauge__club")
    if held.adopted_at is not None:
        raise StudyFinal
    write_log(club=held.gauge.club, action="discarded gauge study", subject=held, by=by, readings=held.readings.count())
    held.delete()

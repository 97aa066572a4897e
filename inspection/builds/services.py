"""Declare what a car is: each time a new numbered build, never a change of an old one."""

from django.db import transaction

from inspection.builds.errors import BuildChangedMeanwhile, NothingDeclared, NothingDiffers
from inspection.builds.selectors import WORD_LABELS, WORDS, BuildContent, content_of, is_same, latest_build
from inspection.clubs.services import write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import Build, Car, Characteristic, DeclaredValue, User


@transaction.atomic
def declare_build(*, car: Car, content: BuildContent, based_on: int | None = None, by: User | None) -> Build:
    """The car's next build. A car that was clear at tech is so no longer: what races is not what was inspected.

    content: values as `selectors.understand_value` stores them. based_on: the number of the latest build when the form
    was opened (0 for none), or None when nobody could be overtaken.
    Refuses an empty build (NothingDeclared), one that declares what the latest declares, their notes apart
    (NothingDiffers), and a form that somebody else overtook (BuildChangedMeanwhile).
    """
    car = Car.objects.hold(car.pk, "club")
    latest = latest_build(car)
    number = latest.number if latest else 0
    if based_on is not None and based_on != number:
        raise BuildChangedMeanwhile(who=last_editor_of(car.club, latest or car))
    if not content.declared and not any(getattr(content, name) for name in WORD_LABELS):
        raise NothingDeclared
    if latest is not None and is_same(content, content_of(latest), _characteristics(latest)):
        raise NothingDiffers(number=number)
    build = save_build(Build(car=car, number=number + 1, created_by=by), content)
    write_log(club=car.club, action="declared build", subject=build, by=by)
    return build


def _characteristics(build: Build) -> dict[int, Characteristic]:
    return {row.characteristic_id: row.characteristic for row in build.declared.all()}


def save_build(build: Build, content: BuildContent) -> Build:
    """Write a build and what it declares. The caller holds the transaction and writes the log."""
    for name in WORDS:
        setattr(build, name, getattr(content, name))
    build.save()
    DeclaredValue.objects.bulk_create(
        DeclaredValue(build=build, characteristic_id=characteristic_id, text=text)
        for characteristic_id, text in content.declared.items()
    )
    return build

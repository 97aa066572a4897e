"""Save what is built at the bench: each time a new numbered sheet, never a change of an old one."""

from collections.abc import Mapping

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.benchsheets.errors import NothingBuilt, NothingToDeclare, SheetOvertaken
from inspection.benchsheets.selectors import SheetContent, draft_of, latest_number
from inspection.builds.selectors import BuildContent
from inspection.builds.services import declare_build
from inspection.cars.services import CarContent, create_car
from inspection.clubs.services import write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import BenchSheet, Build, Car, Characteristic, Club, Driver, RacingClass, User


@transaction.atomic
def save_sheet(*, car: Car, content: SheetContent, based_on: int | None = None, by: User | None) -> BenchSheet:
    """The car's next bench sheet, with the chassis as it is measured now.

    based_on: the number of the latest sheet when the form was opened (0 for none), or None when nobody could be
    overtaken. Refuses an empty sheet (NothingBuilt) and a form that somebody else overtook (SheetOvertaken).
    """
    car = Car.objects.hold(car.pk, "club")
    number = latest_number(car)
    if based_on is not None and based_on != number:
        raise SheetOvertaken(
            who=last_editor_of(car.club, car.bench_sheets.get(number=number)) if number else _("Somebody")
        )
    if content.chassis is None and not content.parts:
        raise NothingBuilt
    sheet = draft_of(car, content)
    sheet.number, sheet.created_by = number + 1, by
    sheet.save()
    write_log(club=car.club, action="saved bench sheet", subject=sheet, by=by)
    return sheet


@transaction.atomic
def declare_sheet(
    *, sheet: BenchSheet, words: Mapping[str, str], declared: Mapping[str, str], by: User | None
) -> Build:
    """The build that this sheet describes, as the car's next declared one; a clearance at tech falls with it.

    words: drive_layout, motor, motor_class. declared: canonical text by the code of a characteristic; what the club's
    register does not know is left out. Refuses a sheet that says nothing (NothingToDeclare) and what `declare_build`
    refuses.
    """
    sheet = BenchSheet.objects.hold(sheet.pk, "car__club")
    known = Characteristic.objects.of(sheet.car.club).filter(code__in=declared)
    values = {each.pk: declared[each.code] for each in known}
    if not values and not any(words.values()):
        raise NothingToDeclare
    note = _("From bench sheet {number}.").format(number=sheet.number)
    build = declare_build(car=sheet.car, content=BuildContent(**words, note=note, declared=values), by=by)
    sheet.declared_as = build
    sheet.save(update_fields=["declared_as"])
    return build


@transaction.atomic
def start_car(
    *, club: Club, number: int, name: str, owner: Driver, racing_class: RacingClass | None, by: User | None
) -> Car:
    """A new car to be built. Refuses what `create_car` refuses."""
    content = CarContent(number=number, name=name, owner=owner, racing_class=racing_class)
    return create_car(club=club, content=content, by=by)

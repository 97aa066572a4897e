"""Enter chassis and change what is known of them."""

from dataclasses import dataclass, field, fields
from typing import Any

from django.db import transaction

from inspection.chassis.errors import ChassisChangedMeanwhile, ChassisNameTaken
from inspection.chassis.selectors import chassis_version
from inspection.clubs.services import hold_club, write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import Chassis, Club, Driver, User


@dataclass(frozen=True, slots=True, kw_only=True)
class ChassisContent:
    """What the form of a chassis holds; sizes and rows as the model keeps them."""

    name: str
    owner: Driver | None = None
    sizes: dict[str, str] = field(default_factory=dict)
    runs_free: list[dict[str, Any]] = field(default_factory=list)
    corners: list[dict[str, str]] = field(default_factory=list)
    zones: list[dict[str, str]] = field(default_factory=list)
    note: str = ""
    is_active: bool = True


_FIELDS = tuple(one.name for one in fields(ChassisContent))


@transaction.atomic
def create_chassis(*, club: Club, content: ChassisContent, by: User | None) -> Chassis:
    """A new chassis of the club. Refuses a name the club has (ChassisNameTaken)."""
    chassis = Chassis(club=club)
    _save(chassis, content)
    write_log(club=club, action="entered chassis", subject=chassis, by=by)
    return chassis


@transaction.atomic
def change_chassis(*, chassis: Chassis, content: ChassisContent, version: str, by: User | None) -> Chassis:
    """Save the form of a chassis; bench sheets that were made on it stay what they were.

    Refuses when somebody saved meanwhile (ChassisChangedMeanwhile), and what `create_chassis` refuses.
    """
    current = Chassis.objects.hold(chassis.pk, "club")
    if version != chassis_version(current):
        raise ChassisChangedMeanwhile(who=last_editor_of(current.club, current))
    _save(current, content)
    write_log(club=current.club, action="changed chassis", subject=current, by=by)
    return current


def _save(chassis: Chassis, content: ChassisContent) -> None:
    hold_club(chassis.club)
    if Chassis.objects.of(chassis.club).filter(name=content.name).exclude(pk=chassis.pk).exists():
        raise ChassisNameTaken(name=content.name)
    for name in _FIELDS:
        setattr(chassis, name, getattr(content, name))
    chassis.save()

"""Keep the register of characteristics and the gauges. A gauge is retired, never deleted: findings name it."""

import uuid
from typing import Any

from django.db import models, transaction
from django.utils import timezone
from django.utils.text import slugify

from inspection.clubs.errors import ChangedMeanwhile
from inspection.clubs.services import hold_club, write_log
from inspection.gauges.errors import CharacteristicCodeTaken, GaugeNameTaken
from inspection.gauges.selectors import (
    CharacteristicContent,
    GaugeContent,
    built_in_register,
    last_editor_of,
    version_of,
)
from inspection.models import Characteristic, Club, Gauge, User
from inspection.units import Quantity

# The register.


@transaction.atomic
def install_register(*, club: Club, by: User | None) -> int:
    """Give a club the built-in characteristics and default gauges that it does not have yet.

    What the club has worded or changed itself stays. Returns how many rows were made; doing it again makes none.
    """
    hold_club(club)
    built_in = built_in_register()
    gauges = {gauge.name: gauge for gauge in Gauge.objects.of(club)}
    new_gauges = [Gauge(club=club, **fields) for fields in built_in["gauges"] if fields["name"] not in gauges]
    Gauge.objects.bulk_create(new_gauges)
    gauges |= {gauge.name: gauge for gauge in new_gauges}
    known = set(Characteristic.objects.of(club).values_list("code", flat=True))
    new = [
        Characteristic(club=club, **fields | {"default_gauge": gauges.get(fields["default_gauge"])})
        for fields in built_in["characteristics"]
        if fields["code"] not in known
    ]
    Characteristic.objects.bulk_create(new)
    made = len(new) + len(new_gauges)
    if made:
        write_log(
            club=club,
            action="added built-in characteristics and gauges",
            subject=club,
            by=by,
            characteristics=len(new),
            gauges=len(new_gauges),
        )
    return made


@transaction.atomic
def create_characteristic(*, club: Club, content: CharacteristicContent, by: User | None) -> Characteristic:
    """Add a thing that can be measured or seen; its code comes from its name and stays.

    Raises CharacteristicCodeTaken.
    """
    hold_club(club)
    code = slugify(content.name)[:60] or f"own-{uuid.uuid4().hex[:8]}"
    if Characteristic.objects.of(club).filter(code=code).exists():
        raise CharacteristicCodeTaken(name=content.name)
    last = Characteristic.objects.of(club).aggregate(last=models.Max("position"))["last"] or 0
    made = Characteristic.objects.create(
        club=club, code=code, position=min(last + 10, 32000), **_characteristic_fields(content)
    )
    write_log(club=club, action="added characteristic", subject=made, by=by)
    return made


@transaction.atomic
def change_characteristic(
    *, characteristic: Characteristic, content: CharacteristicContent, version: str, by: User | None
) -> Characteristic:
    """Reword a characteristic. Its code and its kind stay: sheets and declared values stand on them.

    version: what `version_of` gave when the form was opened. Raises ChangedMeanwhile.
    """
    stored = Characteristic.objects.hold(characteristic.pk)
    _check_version(stored, version)
    for name, value in _characteristic_fields(content).items():
        if name != "kind":
            setattr(stored, name, value)
    stored.save()
    write_log(club=stored.club, action="changed characteristic", subject=stored, by=by)
    return stored


def _check_version(stored: Gauge | Characteristic, version: str) -> None:
    if version_of(stored) != version:
        raise ChangedMeanwhile(who=last_editor_of(stored.club, stored))


def _characteristic_fields(content: CharacteristicContent) -> dict[str, Any]:
    return {
        "name": content.name,
        "kind": content.kind.value,
        "unit": content.unit,
        "measuring_point": content.measuring_point,
        "group": content.group,
        "plausible_low": _text(content.plausible_low),
        "plausible_high": _text(content.plausible_high),
        "on_build_sheet": content.on_build_sheet,
        "default_gauge": content.default_gauge,
        "counts_with": content.counts_with,
        "drawing": content.drawing,
        "derivation": dict(content.derivation),
    }


def _text(quantity: Quantity | None) -> str:
    return "" if quantity is None else quantity.canonical


# Gauges.


@transaction.atomic
def create_gauge(*, club: Club, content: GaugeContent, by: User | None) -> Gauge:
    """Enter a gauge. Raises GaugeNameTaken."""
    _check_name_free(club, content.name)
    gauge = Gauge.objects.create(club=club, **_gauge_fields(content))
    write_log(club=club, action="entered gauge", subject=gauge, by=by, **_plain(gauge))
    return gauge


@transaction.atomic
def change_gauge(*, gauge: Gauge, content: GaugeContent, version: str, by: User | None) -> Gauge:
    """Change what is known of a gauge; what it was stays in the log. Findings keep the doubt they were decided by.

    version: what `version_of` gave when the form was opened. Raises GaugeNameTaken and ChangedMeanwhile.
    """
    stored = Gauge.objects.hold(gauge.pk, "club")
    _check_version(stored, version)
    _check_name_free(stored.club, content.name, besides=stored)
    was = _plain(stored)
    for name, value in _gauge_fields(content).items():
        setattr(stored, name, value)
    stored.save()
    write_log(club=stored.club, action="changed gauge", subject=stored, by=by, was=was, now=_plain(stored))
    return stored


@transaction.atomic
def retire_gauge(*, gauge: Gauge, by: User | None) -> Gauge:
    """Take a gauge out of use; retiring it twice changes nothing."""
    if gauge.retired_at is None:
        gauge.retired_at = timezone.now()
        gauge.save(update_fields=["retired_at"])
        write_log(club=gauge.club, action="retired gauge", subject=gauge, by=by)
    return gauge


@transaction.atomic
def restore_gauge(*, gauge: Gauge, by: User | None) -> Gauge:
    """Take a retired gauge back into use."""
    if gauge.retired_at is not None:
        gauge.retired_at = None
        gauge.save(update_fields=["retired_at"])
        write_log(club=gauge.club, action="took gauge back into use", subject=gauge, by=by)
    return gauge


def _check_name_free(club: Club, name: str, besides: Gauge | None = None) -> None:
    hold_club(club)
    taken = Gauge.objects.of(club).filter(name__iexact=name)
    if taken.exclude(pk=besides.pk if besides else None).exists():
        raise GaugeNameTaken(name=name)


def _gauge_fields(content: GaugeContent) -> dict[str, Any]:
    return {
        "name": content.name,
        "kind": content.kind,
        "measures": content.measures.value,
        "unit": content.unit,
        "resolution": _text(content.resolution),
        "max_permissible_error": _text(content.max_permissible_error),
        "calibrated_on": content.calibrated_on,
        "calibration_due": content.calibration_due,
        "note": content.note,
    }


def _plain(gauge: Gauge) -> dict[str, str]:
    names = ("kind", "measures", "unit", "resolution", "max_permissible_error", "calibrated_on", "calibration_due")
    return {name: str(getattr(gauge, name) or "") for name in names}

"""The build sheet and its revisions: what is asked, what was declared, what changed; read only."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from inspection.builds.errors import ValueNotUnderstood
from inspection.cars.selectors import Spec, declared_in_order, group_place, spec_of
from inspection.conformity.plausible import check_plausible
from inspection.gauges.selectors import (
    can_measure,
    characteristics_of,
    kind_of,
    plausible_band_of,
    quantity_kind_of,
    read_stored,
    read_typed,
    unit_or_none,
    units_words,
)
from inspection.models import Build, Car, Characteristic, Club
from inspection.units import DecimalMark, Quantity, Unit, UnitsError, both_systems

LONGEST_VALUE = 80
MOST_SUGGESTIONS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildContent:
    """What a build declares. declared: canonical text by the id of its characteristic; empty ones are left out."""

    drive_layout: str = ""
    motor: str = ""
    motor_class: str = ""
    note: str = ""
    declared: Mapping[int, str]


WORDS = ("drive_layout", "motor", "motor_class", "note")
WORD_LABELS = {
    "drive_layout": _lazy("Drive layout"),
    "motor": _lazy("Motor"),
    "motor_class": _lazy("Motor class"),
}


def content_of(build: Build) -> BuildContent:
    """A build as the form holds it. One query unless its declared values are loaded."""
    declared = {row.characteristic_id: row.text for row in build.declared.all()}
    return BuildContent(**{name: getattr(build, name) for name in WORDS}, declared=declared)


def latest_build(car: Car) -> Build | None:
    """The build that counts, with what it declares; None without one. Two queries."""
    return car.builds.prefetch_related(declared_in_order()).order_by("-number").first()


def build_loaded(club: Club) -> QuerySet[Build]:
    """Builds of the club, ready to be shown. Two queries when one is read."""
    loaded = Build.objects.of(club).select_related("car__owner", "car__racing_class", "created_by")
    return loaded.prefetch_related(declared_in_order())


def build_before(build: Build) -> Build | None:
    """The revision before a build. Two queries."""
    earlier = build.car.builds.filter(number__lt=build.number)
    return earlier.prefetch_related(declared_in_order()).order_by("-number").first()


def build_after(build: Build) -> Build | None:
    """The revision after a build. One query."""
    return build.car.builds.filter(number__gt=build.number).order_by("number").first()


# The sheet.


def build_sheet(club: Club, shown: Build | None = None) -> list[Characteristic]:
    """What the club asks for, and what the shown build declares besides; in measuring order. One query."""
    asked = Q(on_build_sheet=True)
    if shown is not None:
        asked |= Q(pk__in=[row.characteristic_id for row in shown.declared.all()])
    return sorted(characteristics_of(club).filter(asked), key=group_place)


def usual_unit(characteristic: Characteristic) -> Unit | None:
    """The unit a bare number is in: the usual gauge's, as at the tech table, else the register's. No query."""
    kind = quantity_kind_of(characteristic)
    if kind is None:
        return None
    gauge = characteristic.default_gauge
    if gauge is not None and can_measure(gauge, kind) and (shown := unit_or_none(gauge.unit, kind)):
        return shown
    return unit_or_none(characteristic.unit, kind)


@dataclass(frozen=True, slots=True)
class Declared:
    """A value as it was understood. stored: canonical. meant: what may have been meant, if it is hardly plausible."""

    stored: str
    quantity: Quantity | None = None
    is_plausible: bool = True
    meant: tuple[str, ...] = ()


def understand_value(characteristic: Characteristic, text: str, *, decimal_mark: DecimalMark = ".") -> Declared:
    """Read one declared value as people type them; nothing is guessed. No query.

    Raises ValueNotUnderstood for what its kind cannot be.
    """
    typed = " ".join(text.split())
    if "\x00" in typed or len(typed) > LONGEST_VALUE:
        raise _refused(characteristic, typed, _("Give at most {most} characters.").format(most=LONGEST_VALUE))
    kind = quantity_kind_of(characteristic)
    if kind is None:
        return Declared(_yes_or_no(characteristic, typed) if kind_of(characteristic) == "yes_no" else typed)
    unit = usual_unit(characteristic)
    try:
        quantity = read_typed(typed, kind=kind, unit=unit.symbol if unit else "", decimal_mark=decimal_mark)
    except UnitsError as error:
        raise _refused(characteristic, typed, units_words(error)) from error
    band = plausible_band_of(characteristic)
    found = check_plausible(quantity, band) if band else None
    if found is None or found.is_plausible:
        return Declared(quantity.canonical, quantity)
    meant = tuple(both_systems(each.quantity, decimal_mark=decimal_mark) for each in found.suggestions)
    return Declared(quantity.canonical, quantity, is_plausible=False, meant=meant[:MOST_SUGGESTIONS])


def _yes_or_no(characteristic: Characteristic, typed: str) -> str:
    words = {"yes": "yes", "y": "yes", _("yes").casefold(): "yes", "no": "no", "n": "no", _("no").casefold(): "no"}
    try:
        return words[typed.casefold()]
    except KeyError:
        raise _refused(characteristic, typed, _("Type yes or no.")) from None


def _refused(characteristic: Characteristic, text: str, why: str) -> ValueNotUnderstood:
    return ValueNotUnderstood(what=characteristic.name, text=text[:LONGEST_VALUE], why=why)


# What changed.

DASH = "\N{EN DASH}"


def says_the_same(characteristic: Characteristic, one: str, other: str) -> bool:
    """Are two stored values the same size? "20.4 mm" is "20.40 mm", so that nobody loses a clearance by a zero."""
    if one == other:
        return True
    kind = quantity_kind_of(characteristic)
    if kind is None:
        return False
    first, second = (read_stored(text, kind, characteristic.unit) for text in (one, other))
    return first is not None and second is not None and first.kind is second.kind and first.base == second.base


def is_same(one: BuildContent, other: BuildContent, characteristics: Mapping[int, Characteristic]) -> bool:
    """Do two builds declare the same, whatever their notes say? No query.

    characteristics: those of the declared values of one of them, by id.
    """
    if any(getattr(one, name) != getattr(other, name) for name in WORD_LABELS):
        return False
    if set(one.declared) != set(other.declared):
        return False
    return all(says_the_same(characteristics[key], text, other.declared[key]) for key, text in one.declared.items())


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that two builds say differently; a dash where one says nothing."""

    what: str
    before: str
    now: str


def changes_between(now: Spec, before: Spec) -> list[Change]:
    """What differs between two builds of a car, its words first, then in measuring order. No query."""
    changes = [
        Change(str(label), _word(before.build, name) or DASH, _word(now.build, name) or DASH)
        for name, label in WORD_LABELS.items()
        if getattr(now.build, name) != getattr(before.build, name)
    ]
    old, new = ({line.code: line for line in spec.lines} for spec in (before, now))
    for code, line in (new | old).items():
        was, stands = old.get(code), new.get(code)
        if was is None or stands is None or not says_the_same(line.characteristic, was.stored, stands.stored):
            changes.append(Change(line.name, was.shown if was else DASH, stands.shown if stands else DASH))
    for what, was, stands in (
        (_("Gear ratio"), before.gears.ratio_shown, now.gears.ratio_shown),
        (_("Rollout"), before.gears.rollout_shown, now.gears.rollout_shown),
    ):
        if was != stands:
            changes.append(Change(what, was or DASH, stands or DASH))
    return changes


def _word(build: Build, name: str) -> str:
    shown = build.get_drive_layout_display() if name == "drive_layout" else getattr(build, name)
    return str(shown)


def specs_side_by_side(build: Build, *, decimal_mark: DecimalMark) -> tuple[Spec, Spec | None, list[Change]]:
    """A build, the one before it, and what differs. Two queries when the build is loaded."""
    now, earlier = spec_of(build, decimal_mark=decimal_mark), build_before(build)
    if earlier is None:
        return now, None, []
    before = spec_of(earlier, decimal_mark=decimal_mark)
    return now, before, changes_between(now, before)

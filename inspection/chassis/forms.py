"""Text into a chassis: sizes as a caliper shows them, in the club's units, with its decimal mark."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.cars.selectors import owners_of
from inspection.chassis.pictures import NUMBERS
from inspection.chassis.selectors import GROUPS, SPECS, Follow, Group, chassis_version, follows_of
from inspection.chassis.services import ChassisContent
from inspection.models import Chassis, Club, Driver
from inspection.parts.forms import size_field
from inspection.parts.selectors import as_typed, usual_unit
from inspection.planning.register import SizeSpec
from inspection.units import Kind

MOST_ROWS = 12


@dataclass(frozen=True, slots=True)
class SizeRow:
    """A size as a row of a page: its field, its unit, and its number in the drawing (None: not drawn)."""

    field: forms.BoundField
    unit: str
    number: int | None = None
    code: str = ""


def _spec(code: str, label: Any, kind: Kind | None = Kind.LENGTH) -> SizeSpec:
    return SizeSpec(code=code, label=label, kind=kind)


class RowForm(forms.Form):
    """One row of sizes; an empty one is not there."""

    specs: tuple[SizeSpec, ...] = ()

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        shown = kwargs.get("initial") or {}
        by_code = {spec.code: spec for spec in self.specs}
        kwargs["initial"] = {
            code: as_typed(club, by_code[code], text) for code, text in shown.items() if code in by_code
        }
        super().__init__(*args, **kwargs)
        for spec in self.specs:
            self.fields[spec.code] = size_field(spec, club=club, **self.more(spec))

    def more(self, spec: SizeSpec) -> dict[str, Any]:
        return {}

    @property
    def is_there(self) -> bool:
        return any(self.cleaned_data.get(spec.code) for spec in self.specs)

    def needs(self, *codes: str) -> None:
        """Say at each empty field of a row that is there what it lacks."""
        if not any(self.cleaned_data.get(spec.code) for spec in self.specs):
            return
        for code in codes:
            if not self.cleaned_data.get(code) and code not in self.errors:
                self.add_error(code, _now("Fill this in, or empty the row."))


class PairForm(RowForm):
    """Two gears that somebody has seen running free in this chassis."""

    specs = (
        _spec("pinion_teeth", _("Pinion, teeth"), Kind.COUNT),
        _spec("pinion_diameter", _("Pinion, outside diameter")),
        _spec("gear_teeth", _("Gear, teeth"), Kind.COUNT),
        _spec("gear_diameter", _("Gear, outside diameter")),
        _spec("module", _("Module, if known")),
    )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        self.needs("pinion_teeth", "gear_teeth")
        if given.get("pinion_teeth") and not given.get("pinion_diameter") and not given.get("module"):
            self.add_error("pinion_diameter", _now("The diameter or the module is needed too."))
        return given

    @property
    def plain(self) -> dict[str, Any]:
        given = self.cleaned_data
        gears = {
            "pinion": {"teeth": given["pinion_teeth"], "outside_diameter": given["pinion_diameter"]},
            "driven_gear": {"teeth": given["gear_teeth"], "outside_diameter": given["gear_diameter"]},
        }
        return {
            place: {code: text for code, text in (sizes | {"module": given["module"]}).items() if text}
            for place, sizes in gears.items()
        }

    @staticmethod
    def initial_of(pair: Mapping[str, Any]) -> dict[str, str]:
        pinion, driven = pair.get("pinion", {}), pair.get("driven_gear", {})
        return {
            "pinion_teeth": pinion.get("teeth", ""),
            "pinion_diameter": pinion.get("outside_diameter", ""),
            "gear_teeth": driven.get("teeth", ""),
            "gear_diameter": driven.get("outside_diameter", ""),
            "module": pinion.get("module", "") or driven.get("module", ""),
        }


class CornerForm(RowForm):
    """A corner of the chassis that the tail of the guide may meet."""

    specs = (_spec("back", _("Behind the guide post")), _spec("side", _("Out from the middle")))

    def clean(self) -> dict[str, Any]:
        self.needs("back", "side")
        return super().clean()

    def more(self, spec: SizeSpec) -> dict[str, Any]:
        return {"may_be_zero": True}

    @property
    def plain(self) -> dict[str, str]:
        return {code: self.cleaned_data[code] for code in ("back", "side")}


class ZoneForm(RowForm):
    """Where ballast may lie, ahead of the rear axle (minus behind it), and how much."""

    specs = (
        SizeSpec(code="name", label=_("Where"), kind=None),
        SizeSpec(code="begin", label=_("From, ahead of the rear axle"), may_be_negative=True),
        SizeSpec(code="end", label=_("To"), may_be_negative=True),
        _spec("most", _("At most"), Kind.MASS),
    )

    def clean(self) -> dict[str, Any]:
        self.needs("name", "begin", "end")
        return super().clean()

    @property
    def plain(self) -> dict[str, str]:
        return {code: text for code in ("name", "begin", "end", "most") if (text := self.cleaned_data[code])}


def rows_of(form: type[RowForm], shown: list[dict[str, Any]], data: Any, *, club: Club, prefix: str) -> Any:
    """A formset of rows; an empty one follows those shown."""
    made = forms.formset_factory(form, extra=1, max_num=MOST_ROWS, absolute_max=MOST_ROWS + 4, validate_max=True)
    return made(data, initial=shown, prefix=prefix, form_kwargs={"club": club})


def plain_rows(rows: Any) -> list[dict[str, Any]]:
    """The rows of a sent formset that are there and right, as they are kept."""
    return [row.plain for row in rows if row.is_valid() and row.is_there]


class ChassisForm(forms.Form):
    """A chassis, with its rows. chassis: the one to change, None for a new one."""

    name = forms.CharField(
        label=_("Name"),
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("As you tell it from others, such as its car and motor mount."),
    )
    owner = forms.ModelChoiceField(
        label=_("Owner"), queryset=Driver.objects.none(), required=False, empty_label=_("The club")
    )
    note = forms.CharField(label=_("Note"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    is_active = forms.BooleanField(label=_("In use"), required=False, initial=True)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(self, data: Any = None, *, club: Club, chassis: Chassis | None = None) -> None:
        self.club, self.chassis = club, chassis
        shown: dict[str, Any] = {"gear_side": "right", "layout": "sidewinder"} if chassis is None else chassis.sizes
        initial = {f"size-{code}": as_typed(club, SPECS[code], text) for code, text in shown.items() if code in SPECS}
        if chassis is not None:
            initial |= {name: getattr(chassis, name) for name in ("name", "owner", "note", "is_active")}
            initial["version"] = chassis_version(chassis)
        super().__init__(data, initial=initial)
        self.fields["owner"].queryset = owners_of(club, chassis.owner if chassis else None)
        for spec in SPECS.values():
            self.fields[f"size-{spec.code}"] = size_field(spec, club=club)
        pairs = [PairForm.initial_of(pair) for pair in (chassis.runs_free if chassis else [])]
        corners, zones = (chassis.corners, chassis.zones) if chassis else ([], [])
        self.pairs = rows_of(PairForm, pairs, data, club=club, prefix="pair")
        self.corners = rows_of(CornerForm, corners, data, club=club, prefix="corner")
        self.zones = rows_of(ZoneForm, zones, data, club=club, prefix="zone")

    def is_valid(self) -> bool:
        return all([super().is_valid(), *(rows.is_valid() for rows in (self.pairs, self.corners, self.zones))])

    @property
    def sizes(self) -> dict[str, str]:
        """The sizes that can be read, as they are kept; those of the record while nothing is sent."""
        if not self.is_bound:
            return self.chassis.sizes if self.chassis else {}
        return {code: text for code in SPECS if (text := self.cleaned_data.get(f"size-{code}"))}

    @property
    def content(self) -> ChassisContent:
        plain = {name: self.cleaned_data[name] for name in ("name", "owner", "note", "is_active")}
        return ChassisContent(
            **plain,
            sizes=self.sizes,
            runs_free=plain_rows(self.pairs),
            corners=plain_rows(self.corners),
            zones=plain_rows(self.zones),
        )

    @property
    def follows(self) -> list[Follow]:
        """What follows from what stands in the form now."""
        stored = self.chassis.runs_free if self.chassis else []
        pairs = plain_rows(self.pairs) if self.is_bound else stored
        return follows_of(self.sizes, pairs, decimal_mark=self.club.decimal_mark)

    @property
    def groups(self) -> Iterator[tuple[Group, list[SizeRow]]]:
        for group in GROUPS:
            yield group, [self._row(code) for code in group.codes]

    def _row(self, code: str) -> SizeRow:
        return SizeRow(self[f"size-{code}"], usual_unit(self.club, SPECS[code].kind), NUMBERS.get(code), code)

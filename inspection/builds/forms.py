"""Text into a build: one field for each thing on the club's build sheet, typed as people type."""

import hashlib
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.builds.errors import ValueNotUnderstood
from inspection.builds.selectors import (
    LONGEST_VALUE,
    WORDS,
    BuildContent,
    Declared,
    build_sheet,
    understand_value,
    usual_unit,
)
from inspection.cars.selectors import Gears, gears_of
from inspection.gauges.selectors import kind_of, quantity_kind_of
from inspection.models import Build, Characteristic, Club
from inspection.units import both_systems

_TYPED = {"autocomplete": "off", "spellcheck": "false"}


@dataclass(frozen=True, slots=True)
class Row:
    """One thing asked for: its field, its unit, and how what stands in it is understood ("" when it is not)."""

    field: forms.BoundField
    characteristic: Characteristic
    unit: str
    understood: str

    @property
    def is_figure(self) -> bool:
        """Is it a quantity, whose field is narrow and has a unit beside it?"""
        return quantity_kind_of(self.characteristic) is not None

    @property
    def echo_id(self) -> str:
        return f"echo-{self.field.html_name}"


class BuildForm(forms.Form):
    """The build sheet of a club.

    shown: the build to start from, or None for an empty sheet. A value outside its plausible band asks "did you mean";
    the tick of `odd_mark` says that it is right as typed. The mark names the values, so that a tick holds for these
    only.
    """

    drive_layout = forms.ChoiceField(
        label=_("Drive layout"), required=False, choices=[("", _("Not said")), *Build.DriveLayout.choices]
    )
    motor = forms.CharField(label=_("Motor"), max_length=80, required=False, widget=forms.TextInput(attrs=_TYPED))
    motor_class = forms.CharField(
        label=_("Motor class"), max_length=40, required=False, widget=forms.TextInput(attrs=_TYPED)
    )
    note = forms.CharField(
        label=_("Note"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("What you changed and why."),
    )
    based_on = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=100_000)
    right_as_typed = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(self, *args: Any, club: Club, shown: Build | None, based_on: int, **kwargs: Any) -> None:
        self.club, self.is_copy = club, shown is not None
        self.sheet = build_sheet(club, shown)
        self.understood: dict[int, Declared] = {}
        self.odd: list[tuple[str, str]] = []
        stored = {row.characteristic_id: row.text for row in shown.declared.all()} if shown else {}
        words = {name: getattr(shown, name) for name in WORDS if name != "note"} if shown else {}
        values = {_name(each): self._typed(each, stored.get(each.pk, "")) for each in self.sheet}
        super().__init__(*args, initial=words | values | {"based_on": based_on}, **kwargs)
        for each in self.sheet:
            self.fields[_name(each)] = _field(each)
        if not self.is_bound:
            self._understand_initial()

    def _typed(self, characteristic: Characteristic, stored: str) -> str:
        """A stored value as somebody of this club would type it; the usual unit is beside the field, so left out."""
        if quantity_kind_of(characteristic) is None:
            return stored
        unit = usual_unit(characteristic)
        number = stored.removesuffix(f" {unit.symbol}") if unit and unit.symbol else stored
        return number.replace(".", self.club.decimal_mark)

    def _understand_initial(self) -> None:
        for each in self.sheet:
            if self.initial[_name(each)]:
                self._understand(each, self.initial[_name(each)])

    def _understand(self, characteristic: Characteristic, text: str) -> Declared | None:
        try:
            found = understand_value(characteristic, text, decimal_mark=self.club.decimal_mark)
        except ValueNotUnderstood as refusal:
            if self.is_bound:
                self.add_error(_name(characteristic), refusal.params["why"])
            return None
        self.understood[characteristic.pk] = found
        return found

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for each in self.sheet:
            text = cleaned.get(_name(each), "")
            found = self._understand(each, text) if text else None
            if found is not None and not found.is_plausible:
                self.odd.append((_name(each), self._question(found)))
        if self.odd and cleaned.get("right_as_typed") != self.odd_mark:
            for name, question in self.odd:
                self.add_error(name, question)
        return cleaned

    def _question(self, found: Declared) -> str:
        said = both_systems(found.quantity, decimal_mark=self.club.decimal_mark)
        if not found.meant:
            return _now("{value} is hardly possible here. Is it right as typed?").format(value=said)
        meant = _now(" or ").join(found.meant)
        return _now("{value} is hardly possible here. Did you mean {meant}?").format(value=said, meant=meant)

    @property
    def asks(self) -> bool:
        """Is a tick all that is missing for the odd values?"""
        return bool(self.odd)

    @property
    def questions(self) -> list[tuple[str, str]]:
        """The label of each value that is hardly possible, and what may have been meant."""
        return [(str(self[name].label), question) for name, question in self.odd]

    @property
    def odd_mark(self) -> str:
        """Stands for the values that are hardly possible, as they are typed."""
        said = "\x1f".join(f"{name}={self.data.get(name, '')}" for name, _question in self.odd)
        return hashlib.sha256(said.encode()).hexdigest()[:16]

    @property
    def content(self) -> BuildContent:
        declared = {key: found.stored for key, found in self.understood.items() if found.stored}
        return BuildContent(**{name: self.cleaned_data[name] for name in WORDS}, declared=declared)

    @property
    def gears(self) -> Gears:
        """Ratio and rollout of what stands in the form now."""
        values = {each.code: found.quantity for each in self.sheet if (found := self.understood.get(each.pk))}
        return gears_of(values, decimal_mark=self.club.decimal_mark)

    @property
    def rows(self) -> list[Row]:
        return [
            Row(self[_name(each)], each, self._unit(each), self._said(self.understood.get(each.pk)))
            for each in self.sheet
        ]

    @property
    def groups(self) -> list[tuple[str, list[Row]]]:
        """The rows under where they are checked, in the order of the register."""
        by_group = groupby(self.rows, key=lambda row: row.characteristic.get_group_display())
        return [(name, list(rows)) for name, rows in by_group]

    def _unit(self, characteristic: Characteristic) -> str:
        """The unit that stands beside the field; none where another was typed into it."""
        unit, found = usual_unit(characteristic), self.understood.get(characteristic.pk)
        if unit is None or (found and found.quantity and found.quantity.unit != unit):
            return ""
        return unit.symbol

    def _said(self, found: Declared | None) -> str:
        """How a value was understood, in both systems of measures, so that a slip is seen; "" for plain words."""
        if found is None or found.quantity is None or not found.quantity.unit.symbol:
            return ""
        return both_systems(found.quantity, decimal_mark=self.club.decimal_mark)

    def show_based_on(self, number: int) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["based_on"] = str(number)


def _name(characteristic: Characteristic) -> str:
    return f"of-{characteristic.code}"


def _field(characteristic: Characteristic) -> forms.Field:
    if kind_of(characteristic) == "yes_no":
        choices = [("", _("Not said")), ("yes", _("yes")), ("no", _("no"))]
        return forms.ChoiceField(
            label=characteristic.name, required=False, choices=choices, help_text=characteristic.measuring_point
        )
    attrs = dict(_TYPED)
    if quantity_kind_of(characteristic) is not None:
        attrs |= {"class": "number", "inputmode": "text"}
    return forms.CharField(
        label=characteristic.name,
        required=False,
        max_length=LONGEST_VALUE,
        help_text=characteristic.measuring_point,
        widget=forms.TextInput(attrs=attrs),
    )

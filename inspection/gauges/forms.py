"""Text into gauges and characteristics; quantities as people type them."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.gauges.selectors import (
    GaugeContent,
    read_typed,
    unit_or_none,
    units_words,
    version_of,
)
from inspection.models import Club, Gauge
from inspection.units import Kind, Quantity, UnitsError, accepted_units

KIND_WORDS = {
    "length": _("length"),
    "mass": _("weight"),
    "angle": _("angle"),
    "rotation_speed": _("rotation speed"),
    "voltage": _("voltage"),
    "current": _("current"),
    "resistance": _("resistance"),
    "force": _("force"),
    "torque": _("torque"),
    "magnetic_pull": _("magnetic pull"),
    "temperature": _("temperature"),
    "time": _("time"),
    "ratio": _("ratio"),
    "count": _("count"),
    "choice": _("one of a list"),
    "yes_no": _("yes or no"),
    "text": _("words"),
}
UNTYPED = {"autocomplete": "off", "spellcheck": "false"}


class ReadsQuantities(forms.Form):
    """A form whose quantities depend on what is measured, said in another field."""

    club: Club
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def quantity(self, name: str, kind: Kind, unit: str) -> Quantity | None:
        text = self.cleaned_data.get(name, "")
        if not text:
            return None
        try:
            return read_typed(text, kind=kind, unit=unit, decimal_mark=self.club.decimal_mark)
        except UnitsError as error:
            self.add_error(name, units_words(error))
            return None

    def check_unit(self, kind: Kind) -> str:
        """The unit's symbol, whatever spelling was typed."""
        typed = self.cleaned_data.get("unit", "")
        found = unit_or_none(typed, kind)
        if found is None:
            known = ", ".join(unit.symbol for unit in accepted_units(kind) if unit.symbol) or _("none")
            self.add_error("unit", _("Give a unit of this kind: %(units)s.") % {"units": known})
        return found.symbol if found else ""

    def show_version(self, version: str) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["version"] = version


class GaugeForm(ReadsQuantities):
    name = forms.CharField(label=_("Name"), max_length=60)
    kind = forms.ChoiceField(label=_("Kind"), choices=Gauge.Kind.choices, widget=forms.RadioSelect, initial="reading")
    measures = forms.ChoiceField(label=_("Measures"), choices=[(kind.value, KIND_WORDS[kind.value]) for kind in Kind])
    unit = forms.CharField(label=_("Unit it shows"), max_length=12, required=False, initial="mm")
    resolution = forms.CharField(
        label=_("Smallest step it shows"),
        max_length=30,
        required=False,
        widget=forms.TextInput(attrs=UNTYPED),
        help_text=_("Such as 0.01 mm or .0005 in."),
    )
    max_permissible_error = forms.CharField(
        label=_("Largest error its maker permits"),
        max_length=30,
        required=False,
        widget=forms.TextInput(attrs=UNTYPED),
        help_text=_("To either side, from its data sheet or calibration, such as 0.03 mm."),
    )
    calibrated_on = forms.DateField(
        label=_("Calibrated on"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    calibration_due = forms.DateField(
        label=_("Calibration due"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, club: Club, gauge: Gauge | None = None, **kwargs: Any) -> None:
        self.club = club
        if gauge is not None:
            kwargs["initial"] = _gauge_initial(gauge, club)
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if "measures" in cleaned and "kind" in cleaned:
            kind = Kind(cleaned["measures"])
            reads = cleaned["kind"] == Gauge.Kind.READING
            cleaned["unit"] = self.check_unit(kind) if reads or cleaned.get("unit") else ""
            for name in ("resolution", "max_permissible_error"):
                cleaned[name] = self.quantity(name, kind, cleaned["unit"])
            resolution = cleaned["resolution"]
            if resolution is not None and resolution.magnitude <= 0:
                self.add_error("resolution", _("A step is larger than 0."))
        calibrated, due = cleaned.get("calibrated_on"), cleaned.get("calibration_due")
        if calibrated and due and due < calibrated:
            self.add_error("calibration_due", _("This is before the day it was calibrated."))
        return cleaned

    def content(self) -> GaugeContent:
        said = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        return GaugeContent(**said | {"measures": Kind(said["measures"])})


def _gauge_initial(gauge: Gauge, club: Club) -> dict[str, Any]:
    names = ("name", "kind", "measures", "unit", "calibrated_on", "calibration_due", "note")
    return {name: getattr(gauge, name) for name in names} | {
        "resolution": gauge.resolution.replace(".", club.decimal_mark),
        "max_permissible_error": gauge.max_permissible_error.replace(".", club.decimal_mark),
        "version": version_of(gauge),
    }

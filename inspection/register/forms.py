"""Text into characteristics: what they are, where they are measured, what they are worked out from."""

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.conformity.clauses import CharacteristicKind
from inspection.conformity.errors import RULE_MESSAGES, RuleError
from inspection.conformity.parse import parse_derivation
from inspection.drawings.pictures import DRAWINGS
from inspection.gauges.forms import KIND_WORDS, UNTYPED, ReadsQuantities
from inspection.gauges.selectors import (
    CharacteristicContent,
    can_measure,
    characteristics_of,
    gauges_in_use,
    version_of,
)
from inspection.models import Characteristic, Club, Gauge

DERIVATION_WORDS = {
    "ratio": _("the first divided by the second"),
    "rollout": _("rollout: tire, pinion, driven gear"),
    "sum": _("the sum of them"),
    "difference": _("the first less the second"),
    "share": _("the share of the first in both"),
    "product": _("one times the other"),
    "track": _("a value of the track"),
}
TRACK_WORDS = {
    "slot_depth_mm": _("slot depth"),
    "slot_width_mm": _("slot width"),
    "lane_spacing_mm": _("lane spacing"),
    "conductor_height_mm": _("height of the conductors"),
    "voltage_v": _("voltage"),
    "fuse_a": _("fuse"),
    "supply_a": _("supply"),
}


class CharacteristicForm(ReadsQuantities):
    name = forms.CharField(label=_("Name"), max_length=80)
    kind = forms.ChoiceField(
        label=_("Kind"), choices=[(kind.value, KIND_WORDS[kind.value]) for kind in CharacteristicKind]
    )
    unit = forms.CharField(
        label=_("Usual unit"), max_length=12, required=False, help_text=_("Such as mm, in, g, rpm; none for a count.")
    )
    measuring_point = forms.CharField(
        label=_("Measuring point"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    counts_with = forms.CharField(
        label=_("Gears, pins, tape"), max_length=120, required=False, help_text=_("Whether they count.")
    )
    drawing = forms.ChoiceField(
        label=_("Drawing"),
        required=False,
        choices=[("", _("None")), *((name, one.words) for name, one in DRAWINGS.items())],
    )
    form = forms.ChoiceField(
        label=_("Worked out"),
        required=False,
        choices=[("", _("No: it is measured or answered")), *DERIVATION_WORDS.items()],
    )
    of = forms.CharField(
        label=_("Worked out from"),
        max_length=300,
        required=False,
        widget=forms.TextInput(attrs=UNTYPED),
        help_text=_("Names in the register in this order, with ; between."),
    )
    track_value = forms.ChoiceField(
        label=_("Value of the track"), required=False, choices=[("", _("None")), *TRACK_WORDS.items()]
    )
    group = forms.ChoiceField(label=_("Where it is checked"), choices=Characteristic.Group.choices, initial="other")
    plausible_low = forms.CharField(
        label=_("Plausible from"), max_length=30, required=False, widget=forms.TextInput(attrs=UNTYPED)
    )
    plausible_high = forms.CharField(
        label=_("Plausible up to"),
        max_length=30,
        required=False,
        widget=forms.TextInput(attrs=UNTYPED),
        help_text=_("A reading outside asks whether another unit or decimal mark was meant."),
    )
    on_build_sheet = forms.BooleanField(label=_("Asked for on the build sheet"), required=False)
    default_gauge = forms.ModelChoiceField(
        label=_("Usual gauge"), queryset=Gauge.objects.none(), required=False, empty_label=_("None")
    )

    def __init__(self, *args: Any, club: Club, characteristic: Characteristic | None = None, **kwargs: Any) -> None:
        self.club = club
        if characteristic is not None:
            kwargs["initial"] = _characteristic_initial(characteristic, club)
        super().__init__(*args, **kwargs)
        self.fields["default_gauge"].queryset = gauges_in_use(club)
        if characteristic is not None:
            self.fields["kind"].disabled = True

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if "kind" not in cleaned:
            return cleaned
        cleaned["derivation"] = self._derivation(cleaned)
        kind = CharacteristicKind(cleaned["kind"]).quantity_kind
        if kind is None:
            cleaned |= {"unit": "", "plausible_low": None, "plausible_high": None, "default_gauge": None}
            return cleaned
        cleaned["unit"] = self.check_unit(kind)
        for name in ("plausible_low", "plausible_high"):
            cleaned[name] = self.quantity(name, kind, cleaned["unit"])
        low, high = cleaned["plausible_low"], cleaned["plausible_high"]
        if low and high and low.base > high.base:
            self.add_error("plausible_high", _("This is less than the lower end of the band."))
        gauge = cleaned.get("default_gauge")
        if gauge and not can_measure(gauge, kind):
            self.add_error("default_gauge", _("This gauge measures something else."))
        return cleaned

    def _derivation(self, cleaned: dict[str, Any]) -> dict[str, Any]:
        form, value = cleaned.pop("form", ""), cleaned.pop("track_value", "")
        names = [" ".join(name.split()) for name in cleaned.pop("of", "").split(";") if name.strip()]
        register = {one.name.casefold(): one for one in characteristics_of(self.club)} if names else {}
        register |= {one.code.casefold(): one for one in register.values()}
        for name in names:
            if name.casefold() not in register:
                self.add_error("of", _("“%(name)s” is not in the register.") % {"name": name})
                return {}
        plain: dict[str, Any] = {"form": form} if form else {}
        if form:
            plain |= {"value": value} if form == "track" else {"of": [register[name.casefold()].code for name in names]}
        try:
            parse_derivation(plain)
        except RuleError as error:
            place = "track_value" if error.path == "value" else "of"
            self.add_error(place, gettext(RULE_MESSAGES[error.code]) % error.params)
        return plain

    def content(self) -> CharacteristicContent:
        said = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        return CharacteristicContent(**said | {"kind": CharacteristicKind(said["kind"])})


def _characteristic_initial(characteristic: Characteristic, club: Club) -> dict[str, Any]:
    names = ("name", "kind", "unit", "measuring_point", "group", "on_build_sheet", "default_gauge")
    names += ("counts_with", "drawing")
    derivation = characteristic.derivation
    band = {name: getattr(characteristic, name) for name in ("plausible_low", "plausible_high")}
    return {name: getattr(characteristic, name) for name in names} | {
        **{name: text.replace(".", club.decimal_mark) for name, text in band.items()},
        "form": derivation.get("form", ""),
        "of": "; ".join(derivation.get("of", ())),
        "track_value": derivation.get("value", ""),
        "version": version_of(characteristic),
    }

"""What is assumed of a drive, typed by whoever knows better."""

from fractions import Fraction
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.lapforecasts.selectors import Assumptions
from inspection.models import Club
from inspection.units import MESSAGES, Kind, UnitsError, format_decimal, parse_quantity

_USUAL = Assumptions()


class NumberField(forms.Field):
    """A number in the club's decimal mark, from `least` to `most`, kept exactly; None when empty."""

    def __init__(
        self, *, least: Fraction, most: Fraction, kind: Kind = Kind.RATIO, unit: str = "", **kwargs: Any
    ) -> None:
        self.least, self.most, self.kind, self.unit, self.decimal_mark = least, most, kind, unit, "."
        widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "number", "autocomplete": "off"})
        super().__init__(required=False, widget=widget, **kwargs)

    def to_python(self, value: Any) -> Fraction | None:
        text = str(value or "").strip()
        if not text:
            return None
        try:
            found = parse_quantity(text, self.kind, default_unit=self.unit or None, decimal_mark=self.decimal_mark).base
        except UnitsError as error:
            raise forms.ValidationError(_(MESSAGES[error.code]) % error.params, code=error.code) from error
        if not self.least <= found <= self.most:
            words = _("From %(least)s to %(most)s.")
            raise forms.ValidationError(words, params={"least": float(self.least), "most": float(self.most)})
        return found

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Fraction):
            return value
        return format_decimal(value, places=2, decimal_mark=self.decimal_mark)


def _share(label: Any, most: Fraction = Fraction(1)) -> NumberField:
    return NumberField(label=label, least=Fraction(5, 100), most=most)


def _within(label: Any) -> NumberField:
    return NumberField(label=label, least=Fraction(0), most=Fraction(1))


class AssumedForm(forms.Form):
    """Grip, braking, what the drive passes on, each with how far it may be off; the weight where no sheet tells it."""

    grip = _share(_("Grip: sideways pull a tire holds, of its load"), Fraction(20))
    grip_within = _within(_("Grip, give or take"))
    braking = _share(_("Share of the grip used for braking"))
    braking_within = _within(_("Braking, give or take"))
    efficiency = _share(_("Share of the pull that the drive passes on"))
    efficiency_within = _within(_("Drive, give or take"))
    mass = NumberField(
        label=_("Weight ready to race, g"), kind=Kind.MASS, unit="g", least=Fraction(1), most=Fraction(2000)
    )
    lane = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, club: Club) -> None:
        names = [name for name in self.base_fields if name not in {"mass", "lane"}]
        usual = {name: getattr(_USUAL, name) for name in names}
        is_typed = data is not None and any(name in data for name in self.base_fields if name != "lane")
        super().__init__(data.copy() if is_typed else None, initial=usual)
        for field in self.fields.values():
            if isinstance(field, NumberField):
                field.decimal_mark = club.decimal_mark
        for name, value in usual.items() if is_typed else ():
            if not self.data.get(name, "").strip():  # what is left empty is the usual, and says so
                self.data[name] = self.fields[name].prepare_value(value)

    @property
    def assumptions(self) -> Assumptions:
        """What is typed, and the usual where nothing is."""
        if not self.is_bound or not self.is_valid():
            return _USUAL
        typed = {name: value for name, value in self.cleaned_data.items() if value is not None and name != "lane"}
        return Assumptions(**typed)

"""Text into a single motor and its tests."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.cars.selectors import owners_of
from inspection.models import Club, Driver, MotorUnit, Part
from inspection.motors.selectors import kinds_of_motor, motor_version
from inspection.motors.services import MotorContent, MotorTestContent
from inspection.parts.forms import SizeField
from inspection.planning.register import SizeSpec
from inspection.units import Kind

VOLTAGE = SizeSpec(code="voltage", label="At, V", kind=Kind.VOLTAGE)
SPEED = SizeSpec(code="speed", label="Speed, rpm", kind=Kind.ROTATION_SPEED)
CURRENT = SizeSpec(code="current", label="Current, A", kind=Kind.CURRENT)


class MotorForm(forms.Form):
    """One motor. A new one is offered a number that follows the club's last."""

    number = forms.CharField(label=_("Number"), max_length=20, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    part = forms.ModelChoiceField(
        label=_("Kind of motor"), queryset=Part.objects.none(), empty_label=_("Choose one of the parts")
    )
    owner = forms.ModelChoiceField(
        label=_("Owner"), queryset=Driver.objects.none(), required=False, empty_label=_("The club")
    )
    hours = forms.DecimalField(
        label=_("Hours run"),
        max_digits=6,
        decimal_places=1,
        min_value=Decimal(0),
        required=False,
        localize=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"}),
    )
    note = forms.CharField(label=_("Note"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    is_active = forms.BooleanField(label=_("In use"), required=False, initial=True)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(
        self, data: Any = None, *, club: Club, motor: MotorUnit | None = None, part: Part | None = None
    ) -> None:
        initial: dict[str, Any] = {"part": part}
        if motor is not None:
            initial = {name: getattr(motor, name) for name in ("number", "part", "owner", "note", "is_active")}
            initial |= {"hours": f"{motor.hours:.1f}".replace(".", club.decimal_mark), "version": motor_version(motor)}
        if data is not None and "," in data.get("hours", ""):
            data = data.copy()
            data["hours"] = data["hours"].replace(",", ".")
        super().__init__(data, initial=initial)
        self.fields["part"].queryset = kinds_of_motor(club)
        self.fields["owner"].queryset = owners_of(club, motor.owner if motor else None)

    @property
    def content(self) -> MotorContent:
        given = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        return MotorContent(**(given | {"hours": given["hours"] or Decimal(0)}))


class MotorTestForm(forms.Form):
    """What was measured without load."""

    tested_on = forms.DateField(
        label=_("Measured on"), widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    )
    note = forms.CharField(
        label=_("Note"), max_length=200, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    field_order = ("voltage", "speed", "current", "tested_on", "note")

    def __init__(self, data: Any = None, *, club: Club) -> None:
        super().__init__(data, initial={"tested_on": timezone.localdate()})
        self.fields["voltage"] = SizeField(VOLTAGE, club=club, is_required=True)
        self.fields["speed"] = SizeField(SPEED, club=club)
        self.fields["current"] = SizeField(CURRENT, club=club)
        self.order_fields(self.field_order)

    @property
    def content(self) -> MotorTestContent:
        return MotorTestContent(**self.cleaned_data)

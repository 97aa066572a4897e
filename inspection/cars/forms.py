"""Text into a car."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.cars.selectors import LARGEST_NUMBER, car_version, next_free_number, owners_of
from inspection.cars.services import CarContent
from inspection.models import Car, Club, Driver, RacingClass


class CarForm(forms.Form):
    """A car of the register. A new one is offered the lowest number that is free."""

    number = forms.IntegerField(
        label=_("Number"),
        min_value=0,
        max_value=LARGEST_NUMBER,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "number", "autocomplete": "off"}),
    )
    name = forms.CharField(label=_("Name"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    owner = forms.ModelChoiceField(label=_("Owner"), queryset=Driver.objects.none(), empty_label=_("Choose the driver"))
    racing_class = forms.ModelChoiceField(
        label=_("Class"), queryset=RacingClass.objects.none(), required=False, empty_label=_("None yet")
    )
    note = forms.CharField(label=_("Note"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    is_active = forms.BooleanField(label=_("In use"), required=False, initial=True)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(self, *args: Any, club: Club, car: Car | None = None, owner: str = "", **kwargs: Any) -> None:
        owners = owners_of(club, car.owner if car else None)
        if car is not None:
            names = ("number", "name", "owner", "racing_class", "note", "is_active")
            shown = {name: getattr(car, name) for name in names}
            kwargs["initial"] = shown | {"version": car_version(car)}
        else:
            kwargs["initial"] = {
                "number": next_free_number(club),
                "owner": owners.filter(public_id=owner).first() if owner else None,
            }
        super().__init__(*args, **kwargs)
        self.fields["owner"].queryset = owners
        self.fields["racing_class"].queryset = RacingClass.objects.of(club).order_by("-is_active", "name")

    def clean_number(self) -> int:
        """The number typed, or the free one that was offered and taken."""
        taken = self.data.get("take_number", "")
        if taken.isascii() and taken.isdigit() and len(taken) <= 6 and int(taken) <= LARGEST_NUMBER:
            self.show(number=taken)
            return int(taken)
        return self.cleaned_data["number"]

    @property
    def content(self) -> CarContent:
        return CarContent(**{name: value for name, value in self.cleaned_data.items() if name != "version"})

    def show(self, **values: str) -> None:
        """Put something else into a sent form; of the version, so that what is typed can be saved after all."""
        self.data = self.data.copy()
        self.data.update(values)

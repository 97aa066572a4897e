"""The desk's forms: typed text into drivers, cars, names and reasons; nothing more."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.drivers.services import DriverContent
from inspection.models import Car, Club, Driver
from racedesk.entries.services import NewCar
from racedesk.models import Race

LARGEST_NUMBER = 99_999


class CarChoice(forms.ModelChoiceField):
    """A car of the club, by its public id; shown with its owner."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**({"queryset": None, "to_field_name": "public_id", "required": False} | kwargs))

    def label_from_instance(self, obj: Car) -> str:
        """Number, name and owner."""
        return f"{obj}, {obj.owner}"

    @classmethod
    def cars_of(cls, club: Club, race: Race) -> Any:
        """The club's cars in use that fit the race's class; a car without a class fits any."""
        cars = Car.objects.of(club).filter(is_active=True).select_related("owner")
        if race.racing_class_id is None:
            return cars
        return cars.filter(racing_class=race.racing_class_id) | cars.filter(racing_class__isnull=True)


def reason_field(label: Any, **kwargs: Any) -> forms.CharField:
    """A reason that goes into the log."""
    return forms.CharField(label=label, max_length=300, **kwargs)


class CarPart(forms.Form):
    """The car to enter: one of the club's, or a new one by number and name; and perhaps a spare."""

    car = CarChoice(label=_("Car"), empty_label=_("no car"))
    new_car_number = forms.IntegerField(
        label=_("Number of a new car"), required=False, min_value=1, max_value=LARGEST_NUMBER
    )
    new_car_name = forms.CharField(label=_("Name of the new car"), required=False, max_length=80)
    spare = CarChoice(label=_("Spare car"), empty_label=_("no spare"))

    def __init__(self, *args: Any, club: Club, race: Race, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("car", "spare"):
            self.fields[name].queryset = CarChoice.cars_of(club, race)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        number, name = cleaned.pop("new_car_number", None), cleaned.pop("new_car_name", "")
        if number is not None or name:
            if cleaned.get("car"):
                self.add_error("car", _("Choose a car, or give a new one: not both."))
            cleaned["car"] = NewCar(number, name)
        return cleaned


class EntryForm(CarPart):
    """Enter a driver the club knows, or a new one."""

    driver = forms.ModelChoiceField(
        label=_("Driver"), queryset=None, to_field_name="public_id", required=False, empty_label=_("a new driver")
    )
    new_name = forms.CharField(label=_("Name of a new driver"), max_length=120, required=False)
    is_junior = forms.BooleanField(label=_("Junior"), required=False)
    contact = forms.CharField(label=_("Contact, kept private"), max_length=200, required=False)
    late_reason = reason_field(_("Why admitted late"), required=False)

    field_order = ("driver", "new_name", "is_junior", "contact", "car", "new_car_number", "new_car_name", "spare")

    def __init__(self, *args: Any, club: Club, race: Race, may_admit_late: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, club=club, race=race, **kwargs)
        self.fields["driver"].queryset = Driver.objects.of(club)
        if not may_admit_late:
            del self.fields["late_reason"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        name, junior = cleaned.pop("new_name", ""), cleaned.pop("is_junior", False)
        contact = cleaned.pop("contact", "")
        if cleaned.get("driver") and name:
            self.add_error("new_name", _("Choose a driver, or give a new one: not both."))
        elif name:
            cleaned["driver"] = DriverContent(name=" ".join(name.split()), is_junior=junior, contact=contact)
        elif not cleaned.get("driver") and "driver" not in self.errors:
            self.add_error("driver", _("Choose a driver, or type the name of a new one."))
        return cleaned

"""A file of cars, and whose and which numbers they become."""

import json
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.carfiles.errors import UnreadableCars
from inspection.carfiles.imports import LARGEST_FILE, read_cars
from inspection.carfiles.selectors import CarOfFile, CarsContent, cars_by_number, owner_matches
from inspection.cars.selectors import LARGEST_NUMBER
from inspection.models import Car, Club, Driver

NEW = "new"


class _ReadsCars(forms.Form):
    """Reads cars; what is wrong with them stands in `problems`, apart from the errors of the form."""

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        self.club = club
        self.problems: tuple[str, ...] = ()
        super().__init__(*args, **kwargs)

    def read(self, data: bytes) -> CarsContent:
        try:
            return read_cars(data, club=self.club)
        except UnreadableCars as refusal:
            self.problems = refusal.problems
            raise forms.ValidationError(str(refusal), code=refusal.code) from refusal


class CarFileForm(_ReadsCars):
    file = forms.FileField(label=_("File"), help_text=_("Cars as a JSON file, as another club sends them."))

    def clean_file(self) -> tuple[str, CarsContent]:
        data = self.cleaned_data["file"].read(LARGEST_FILE + 1)
        content = self.read(data)
        plain = json.loads(data.decode("utf-8-sig"))
        return json.dumps(plain, ensure_ascii=False, separators=(",", ":")), content


class CarDocumentForm(_ReadsCars):
    """The same file once more, as the page before showed it."""

    document = forms.CharField(widget=forms.HiddenInput, max_length=LARGEST_FILE, strip=False)

    def clean_document(self) -> tuple[str, CarsContent]:
        text = self.cleaned_data["document"]
        return text, self.read(text.encode())


@dataclass(frozen=True, slots=True)
class CarRow:
    """A car that would come in. conflict: who has its number here, in words, or ""."""

    car: CarOfFile
    number: forms.BoundField
    conflict: str


@dataclass(frozen=True, slots=True)
class OwnerRow:
    """An owner as the file spells the name, and whose it may be. note: what to look at, or ""."""

    name: str
    choice: forms.BoundField
    note: str


class CarsConfirmForm(forms.Form):
    """Which number each car takes here, and who each owner is. Nobody is taken for somebody else without a choice."""

    document = forms.CharField(widget=forms.HiddenInput, max_length=LARGEST_FILE, strip=False)

    def __init__(self, *args: Any, club: Club, content: CarsContent, may_enter_drivers: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.content, self.may_enter = content, may_enter_drivers
        self.matches = owner_matches(club, content)
        self.taken = cars_by_number(club)
        self.conflicts: dict[int, str] = {}
        self._add_numbers()
        self.drivers: dict[str, Driver] = {}
        for place, key in enumerate(content.owners):
            self.fields[f"owner-{place}"] = self._owner_field(key)

    def _add_numbers(self) -> None:
        free = _FreeNumbers(self.taken, {car.number for car in self.content.cars})
        for place, car in enumerate(self.content.cars):
            there, offered = self.taken.get(car.number), car.number
            if there is not None:
                offered = free.after(car.number)
                self.conflicts[place] = _conflict(there, offered)
            self.fields[f"number-{place}"] = forms.IntegerField(
                label=_("Number of {name}").format(name=car.name),
                min_value=0,
                max_value=LARGEST_NUMBER,
                initial=offered,
                widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "number", "autocomplete": "off"}),
            )

    def _owner_field(self, key: str) -> forms.Field:
        match = self.matches[key]
        known = [match.exact] if match.exact else list(match.near)
        self.drivers |= {driver.public_id: driver for driver in known}
        choices = [(driver.public_id, driver.name) for driver in known]
        if match.exact is None and self.may_enter:
            choices.append((NEW, _("Enter as a new driver")))
        initial = match.exact.public_id if match.exact else NEW if not match.near and self.may_enter else None
        if initial is None:
            choices.insert(0, ("", _("Choose")))
        return forms.ChoiceField(label=self.content.owners[key], choices=choices, initial=initial)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        used: set[int] = set()
        free = _FreeNumbers(self.taken, set(self.numbers))
        for place, number in ((place, cleaned.get(f"number-{place}")) for place in range(len(self.content.cars))):
            if number is None:
                continue
            if number in self.taken:
                self.add_error(f"number-{place}", _conflict(self.taken[number], free.after(number)))
            elif number in used:
                self.add_error(f"number-{place}", _now("Two of these cars would have number {n}.").format(n=number))
            used.add(number)
        return cleaned

    @property
    def numbers(self) -> list[int]:
        return [self.cleaned_data.get(f"number-{place}", -1) for place in range(len(self.content.cars))]

    @property
    def owners(self) -> dict[str, Driver | None]:
        """Whose each spelling is; None for a driver to be entered."""
        chosen = [self.cleaned_data[f"owner-{place}"] for place in range(len(self.content.owners))]
        return {key: self.drivers.get(choice) for key, choice in zip(self.content.owners, chosen, strict=True)}

    @property
    def car_rows(self) -> list[CarRow]:
        return [
            CarRow(car, self[f"number-{place}"], "" if self.is_bound else self.conflicts.get(place, ""))
            for place, car in enumerate(self.content.cars)
        ]

    @property
    def owner_rows(self) -> list[OwnerRow]:
        return [
            OwnerRow(name, self[f"owner-{place}"], self._note(self.matches[key]))
            for place, (key, name) in enumerate(self.content.owners.items())
        ]

    def _note(self, match: Any) -> str:
        if match.exact:
            return ""
        if match.near:
            return _now("nearly the name of somebody here")
        return "" if self.may_enter else _now("not known here: the entry desk must enter this driver first")


class _FreeNumbers:
    """Gives out numbers that neither the club nor the file has, each once."""

    def __init__(self, taken: Any, wanted: set[int]) -> None:
        self.used = set(taken) | wanted

    def after(self, number: int) -> int:
        found = number + 1
        while found in self.used:
            found += 1
        self.used.add(found)
        return found


def _conflict(there: Car, free: int) -> str:
    words = _now("Number {number} is on “{car}” of {owner} here; {free} is free.")
    return words.format(number=there.number, car=there.name, owner=there.owner, free=free)

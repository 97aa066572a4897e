"""Text into what the club has set."""

import zoneinfo
from dataclasses import fields
from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from inspection.clubs.services import ClubContent, club_version
from inspection.models import Club


def time_zones() -> list[str]:
    """Names such as Europe/Vienna, by name; UTC for who needs none."""
    return [*sorted(name for name in zoneinfo.available_timezones() if "/" in name and name[:3] != "Etc"), "UTC"]


def let_save_over(form: forms.Form, **marks: Any) -> None:
    """Let what was typed be saved over what stands now, once its author has been told: marks are the hidden fields."""
    form.data = form.data.copy()
    for name, value in marks.items():
        form.data[form.add_prefix(name)] = value


class ClubForm(forms.Form):
    """What the club has set for all its pages and papers."""

    name = forms.CharField(label=_("Name"), max_length=120)
    time_zone = forms.ChoiceField(label=_("Time zone"), initial="UTC")
    units = forms.ChoiceField(label=_("Units shown first"), choices=Club.Units.choices, initial=Club.Units.METRIC)
    decimal_mark = forms.ChoiceField(
        label=_("Decimal mark"), choices=Club.DecimalMark.choices, initial=Club.DecimalMark.POINT
    )
    paper = forms.ChoiceField(label=_("Paper"), choices=Club.Paper.choices, initial=Club.Paper.A4)
    currency = forms.CharField(
        label=_("Currency"),
        help_text=_("Its three letters, such as EUR."),
        initial="EUR",
        validators=[RegexValidator(r"^[A-Z]{3}$", _("Give the three letters of the currency, such as EUR."))],
    )
    hall_closes_at = forms.TimeField(
        label=_("The hall closes at"),
        required=False,
        help_text=_("Leave empty if nobody turns you out."),
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
    )
    version = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        zones = time_zones()
        known = self.initial.get("time_zone", "UTC")
        self.fields["time_zone"].choices = [(zone, zone) for zone in (zones if known in zones else [known, *zones])]

    @classmethod
    def of(cls, club: Club, data: Any = None) -> "ClubForm":
        """The form as the club stands."""
        shown = {name: getattr(club, name) for name in cls.base_fields if name != "version"}
        return cls(data, initial=shown | {"version": club_version(club)})

    @property
    def content(self) -> ClubContent:
        known = {field.name for field in fields(ClubContent)}
        return ClubContent(**{name: value for name, value in self.cleaned_data.items() if name in known})

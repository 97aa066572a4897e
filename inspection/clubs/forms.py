"""Forms of the club's pages: text in, typed values out."""

import zoneinfo
from dataclasses import fields
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.contrib.auth.password_validation import validate_password
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from inspection.clubs.services import ClubContent, club_version
from inspection.models import Club, Role, User

_NO_MATCH = _("This name and password do not match. Capital letters count in the password.")


class SignInForm(AuthenticationForm):
    """Sign-in name and password. Says no more than that the two do not match."""

    error_messages = {"invalid_login": _NO_MATCH, "inactive": _NO_MATCH}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Sign-in name")


class NewPasswordForm(PasswordChangeForm):
    """The old password once, the new one twice."""


def time_zones() -> list[str]:
    """Names such as Europe/Vienna, by name; UTC for who needs none."""
    return [*sorted(name for name in zoneinfo.available_timezones() if "/" in name and name[:3] != "Etc"), "UTC"]


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


class RolesField(forms.MultipleChoiceField):
    """The roles a person holds."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**({"label": _("Roles"), "choices": Role.choices} | kwargs))


class MemberForm(forms.Form):
    """A person who signs in, and how they come by a password."""

    ONE_TIME, TYPED, KNOWN = "one_time", "typed", "known"

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=150,
        validators=[User.username_validator],
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off", "spellcheck": "false"}),
    )
    name = forms.CharField(label=_("Name"), max_length=120, required=False)
    roles = RolesField()
    how = forms.ChoiceField(
        label=_("Password"),
        widget=forms.RadioSelect,
        initial=ONE_TIME,
        choices=[
            (ONE_TIME, _("Make one now and show it once")),
            (TYPED, _("They type one here")),
            (KNOWN, _("They sign in here already, for another club")),
        ],
    )
    password = forms.CharField(
        label=_("Password, if typed here"),
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("how") == self.TYPED and "password" in cleaned:
            try:
                person = User(username=cleaned.get("username", ""), name=cleaned.get("name", ""))
                validate_password(cleaned["password"], person)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned


class MemberEditForm(forms.Form):
    """A member's name and roles."""

    name = forms.CharField(label=_("Name"), max_length=120, required=False)
    roles = RolesField(required=False)

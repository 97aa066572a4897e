"""Text into sign-in names, passwords and roles."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.contrib.auth.password_validation import validate_password
from django.utils.translation import gettext_lazy as _

from inspection.models import Role, User

_NO_MATCH = _("This name and password do not match. Capital letters count in the password.")


class SignInForm(AuthenticationForm):
    """Sign-in name and password. Says no more than that the two do not match."""

    error_messages = {"invalid_login": _NO_MATCH, "inactive": _NO_MATCH}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Sign-in name")


class NewPasswordForm(PasswordChangeForm):
    """The old password once, the new one twice."""


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

"""Text into a driver, a spelling and a link to who signs in."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.drivers.selectors import match_name, users_to_link
from inspection.drivers.services import DriverContent, driver_version
from inspection.models import Club, Driver, DriverSpelling, User, name_key


class DriverForm(forms.Form):
    """A driver. A name nearly like another's is held until somebody says that it is a different person.

    near: who may be meant; is_same_name: the first of them has this very spelling, so no tick helps.
    """

    name = forms.CharField(label=_("Name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    public_name = forms.CharField(
        label=_("Public name"),
        max_length=120,
        required=False,
        help_text=_("Shown on public pages and paper instead of the name, for a junior for example."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    grade = forms.CharField(label=_("Grade"), max_length=40, required=False)
    is_junior = forms.BooleanField(label=_("Junior"), required=False)
    contact = forms.CharField(
        label=_("Contact, kept private"),
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    note = forms.CharField(
        label=_("Note, kept private"), max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    is_active = forms.BooleanField(label=_("Comes to race nights"), required=False, initial=True)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)
    different_from = forms.CharField(widget=forms.HiddenInput, required=False, max_length=140)

    def __init__(self, *args: Any, club: Club, driver: Driver | None = None, **kwargs: Any) -> None:
        self.club, self.driver = club, driver
        self.near: tuple[Driver, ...] = ()
        self.is_same_name = False
        if driver is not None:
            names = ("name", "public_name", "grade", "is_junior", "contact", "note", "is_active")
            shown = {name: getattr(driver, name) for name in names}
            kwargs["initial"] = shown | {"version": driver_version(driver)}
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        key = name_key(cleaned.get("name", ""))
        if not key or (self.driver and self.driver.spellings.filter(key=key).exists()):
            return cleaned
        match = match_name(self.club, cleaned["name"])
        near = [each for each in (match.exact, *match.near) if each and (not self.driver or each.pk != self.driver.pk)]
        self.is_same_name = match.exact is not None
        if near and (self.is_same_name or cleaned.get("different_from") != key):
            self.near = tuple(near)
            self.add_error("name", self._question())
        return cleaned

    def _question(self) -> Any:
        if self.is_same_name:
            return _("There is a driver of this name already.")
        return _("This is nearly the name of somebody else. See below, then save again.")

    @property
    def key(self) -> str:
        """The spelling that the tick "a different person" stands for."""
        return name_key(self.data.get("name", ""))

    @property
    def content(self) -> DriverContent:
        known = ("version", "different_from")
        return DriverContent(**{name: value for name, value in self.cleaned_data.items() if name not in known})

    def show_version(self, version: str) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["version"] = version


class SpellingForm(forms.Form):
    """Another way in which the driver's name is written."""

    name = forms.CharField(
        label=_("Another spelling"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )


class SpellingDropForm(forms.Form):
    spelling = forms.ModelChoiceField(label=_("Spelling"), queryset=DriverSpelling.objects.none())

    def __init__(self, *args: Any, driver: Driver, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["spelling"].queryset = driver.spellings.select_related("driver__club")


class LinkForm(forms.Form):
    """Who signs in as this driver."""

    user = forms.ModelChoiceField(
        label=_("Signs in as"), queryset=User.objects.none(), required=False, empty_label=_("Nobody")
    )

    def __init__(self, *args: Any, driver: Driver, **kwargs: Any) -> None:
        super().__init__(*args, initial={"user": driver.user_id}, **kwargs)
        self.fields["user"].queryset = users_to_link(driver)

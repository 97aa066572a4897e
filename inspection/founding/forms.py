"""Text into a club, its first director and its track."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.validators import validate_slug
from django.utils.translation import gettext_lazy as _

from inspection.clubs.forms import ClubForm
from inspection.models import User
from inspection.models.club import RESERVED_SLUGS
from inspection.tracks.forms import MOST_LANES
from inspection.tracks.selectors import USUAL_NAMES


class LaneNamesField(forms.CharField):
    """The names of the lanes, in order, with commas between them."""

    def to_python(self, value: Any) -> tuple[str, ...]:
        names = tuple(" ".join(name.split()) for name in super().to_python(value).split(",") if name.strip())
        if len({name.casefold() for name in names}) < len(names):
            raise forms.ValidationError(_("Two lanes have one name: give each its own."))
        if len(names) > MOST_LANES:
            raise forms.ValidationError(_("That is more lanes than a track has here."))
        if any(len(name) > 30 for name in names):
            raise forms.ValidationError(_("Keep each lane's name to 30 letters."))
        return names


class FoundingForm(ClubForm):
    """The first page of an installation. Everything but names can be changed later."""

    code = forms.CharField(
        label=_("Code"),
        max_length=40,
        help_text=_("It stands in the window in which RaceDesk was started, so that nobody else on the network can."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "class": "code"}),
    )
    slug = forms.SlugField(
        label=_("Short name in addresses"),
        max_length=40,
        validators=[validate_slug],
        help_text=_("Small letters, such as quarry: pages stand under /quarry/ then, and on every printed QR code."),
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    track_name = forms.CharField(label=_("Name of the track"), max_length=80, initial=_("Main track"))
    lane_names = LaneNamesField(
        label=_("Lanes, in order"),
        max_length=400,
        initial=", ".join(USUAL_NAMES[:6]),
        help_text=_("The names the track has for them, with commas. Colors, lengths and posts can follow."),
    )
    username = forms.CharField(
        label=_("Your sign-in name"),
        max_length=150,
        validators=[User.username_validator],
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    person = forms.CharField(label=_("Your name"), max_length=120, required=False)
    password = forms.CharField(
        label=_("A password"),
        strip=False,
        help_text=_("At least ten characters. You are the club's owner and race director with it."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    field_order = ["code", "name", "slug", "time_zone", "units", "decimal_mark", "paper", "currency"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["version"], self.fields["hall_closes_at"]

    def clean_slug(self) -> str:
        slug = self.cleaned_data["slug"].lower()
        if slug in RESERVED_SLUGS:
            raise forms.ValidationError(_("This word stands for another page. Choose another."))
        return slug

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if "password" in cleaned:
            try:
                person = User(username=cleaned.get("username", ""), name=cleaned.get("person", ""))
                validate_password(cleaned["password"], person)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned

    @property
    def parts(self) -> dict[str, Any]:
        """What `found_club` takes."""
        own = {name: self.cleaned_data[name] for name in ("code", "slug", "track_name", "lane_names", "username")}
        return own | {
            "content": self.content,
            "name": self.cleaned_data["person"],
            "password": self.cleaned_data["password"],
        }

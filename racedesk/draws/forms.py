"""What is typed about draws."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from racedesk.models import Draw
from racedesk.rotation.draw import LARGEST_SEED


class DrawForm(forms.Form):
    """Which draw to use. replaces: number of the draw that stood when the page was opened, 0 for none."""

    preset = forms.ChoiceField(label=_("Draw"), choices=Draw.Preset.choices)
    seed = forms.IntegerField(label=_("Seed"), min_value=0, max_value=LARGEST_SEED)
    replaces = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Why drawn again"),
        max_length=300,
        required=False,
        help_text=_("Kept with the new draw; the old one stays on record."),
    )


class ChoiceForm(forms.Form):
    """Which seed and preset the page shows."""

    seed = forms.IntegerField(min_value=0, max_value=LARGEST_SEED)
    preset = forms.ChoiceField(choices=Draw.Preset.choices, required=False)

    def chosen(self) -> tuple[int | None, str]:
        """Seed, None when none or a bad one was given, and preset, empty likewise."""
        self.is_valid()
        data: dict[str, Any] = self.cleaned_data
        return data.get("seed"), data.get("preset", "")


class AdmitForm(forms.Form):
    """The director's word that an entry races although tech has not cleared it."""

    reason = forms.CharField(label=_("Reason"), max_length=300, required=False)

"""What is typed about tech after a race."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import Finding
from racedesk.models import Penalty

LARGEST_SEED = 2**63 - 1


class CallForm(forms.Form):
    first_places = forms.IntegerField(label=_("First places"), min_value=0, max_value=99, initial=3)
    drawn = forms.IntegerField(label=_("Drawn besides"), min_value=0, max_value=99, initial=1)
    seed = forms.IntegerField(
        label=_("Seed"),
        min_value=0,
        max_value=LARGEST_SEED,
        help_text=_("It is shown and printed: with it and the result anybody can draw again."),
    )


class DismissForm(forms.Form):
    finding = forms.ModelChoiceField(Finding.objects.none(), widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Reason"),
        max_length=300,
        required=False,
        help_text=_("Why nothing follows from it. It is kept with your name, and shown beside the call."),
    )

    def __init__(self, *args: Any, findings: list[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["finding"].queryset = Finding.objects.filter(pk__in=findings)


class ConfirmForm(forms.Form):
    finding = forms.ModelChoiceField(Finding.objects.none(), widget=forms.HiddenInput)
    kind = forms.ChoiceField(label=_("What follows"), choices=Penalty.Kind.choices, initial=Penalty.Kind.EXCLUSION)
    laps = forms.IntegerField(label=_("Laps"), required=False, min_value=0, max_value=999)
    reason = forms.CharField(label=_("Reason"), max_length=300, required=False)

    def __init__(self, *args: Any, findings: list[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["finding"].queryset = Finding.objects.filter(pk__in=findings)

    def clean_laps(self) -> int:
        """No number means none: the service says whether that will do."""
        return self.cleaned_data["laps"] or 0

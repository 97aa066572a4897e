"""What is typed about results."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from racedesk.models import Entry, Penalty


class CorrectionForm(forms.Form):
    change_note = forms.CharField(
        label=_("What changed and why"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("It stands on the new result, beside the number of the one it takes the place of."),
    )


class PenaltyForm(forms.ModelForm):
    laps = forms.IntegerField(label=_("Laps"), required=False, min_value=0, max_value=999)

    class Meta:
        model = Penalty
        fields = ["entry", "kind", "laps", "reason"]

    def __init__(self, *args: Any, entries: list[Entry], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["entry"].queryset = Entry.objects.filter(pk__in=[entry.pk for entry in entries])
        self.fields["entry"].choices = [("", "---------"), *((entry.pk, str(entry)) for entry in entries)]

    def clean_laps(self) -> int:
        """No number means none: the service says whether that will do."""
        return self.cleaned_data["laps"] or 0


class WithdrawPenaltyForm(forms.Form):
    reason = forms.CharField(label=_("Why it is taken back"), max_length=300, required=False)

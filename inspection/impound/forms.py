"""What is typed about impound."""

from django import forms
from django.utils.translation import gettext_lazy as _


class SealForm(forms.Form):
    seal_number = forms.CharField(label=_("Seal number"), max_length=30, required=False)


class TouchForm(forms.Form):
    reason = forms.CharField(
        label=_("What was done to the car, and why"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("The car is not clear any more: it is looked at and signed again."),
    )

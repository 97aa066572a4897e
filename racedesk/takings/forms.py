"""A payment as typed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from racedesk.events.forms import AmountField
from racedesk.models import Payment


class PaymentForm(forms.Form):
    """One line of the takings."""

    kind = forms.ChoiceField(label=_("What"), choices=Payment.Kind.choices, widget=forms.RadioSelect)
    amount = AmountField(label=_("Amount"))
    note = forms.CharField(label=_("Note"), max_length=200, required=False)
    version = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)

    def line(self) -> dict[str, Any]:
        """What was typed, and the version of the account that the page showed, for the service."""
        return {name: self.cleaned_data[name] for name in ("kind", "amount", "note", "version")}


class TakeBackForm(forms.Form):
    """Why a line was a mistake."""

    reason = forms.CharField(label=_("What was wrong"), max_length=200)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].widget.attrs["autofocus"] = True

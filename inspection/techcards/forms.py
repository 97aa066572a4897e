"""What the card sends, as typed values."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import Clause, Gauge, Inspection


class AnswerForm(forms.Form):
    """One answer: a reading, a word, a choice. The unit chosen beside the field holds when none is typed."""

    clause = forms.ModelChoiceField(Clause.objects.none())
    text = forms.CharField(required=False, max_length=200, strip=False)
    unit = forms.CharField(required=False, max_length=12)
    gauge = forms.ModelChoiceField(Gauge.objects.none(), required=False, to_field_name="public_id")
    client_key = forms.CharField(required=False, max_length=40)
    confirmed = forms.BooleanField(required=False)
    reason = forms.CharField(required=False, max_length=400)

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["clause"].queryset = Clause.objects.filter(revision=inspection.occasion.revision)
        self.fields["gauge"].queryset = Gauge.objects.of(inspection.occasion.club)

    def answer(self) -> dict[str, Any]:
        """The arguments of `record_measurement`, apart from who and where."""
        names = ("clause", "text", "gauge", "client_key", "confirmed", "reason")
        cleaned = {name: self.cleaned_data[name] for name in names}
        text, unit = cleaned["text"].strip(), self.cleaned_data["unit"]
        if unit and text and text[-1].isnumeric():
            cleaned["text"] = f"{text} {unit}"
        return cleaned


class RulingForm(forms.Form):
    """A judge's decision."""

    clause = forms.ModelChoiceField(Clause.objects.none())
    passes = forms.TypedChoiceField(choices=[("pass", _("Pass")), ("fail", _("Fail"))], coerce=lambda v: v == "pass")
    reason = forms.CharField(required=False, max_length=400)
    client_key = forms.CharField(required=False, max_length=40)

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["clause"].queryset = Clause.objects.filter(revision=inspection.occasion.revision)

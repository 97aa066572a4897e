"""What the card sends, as typed values."""

import datetime as dt
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import Characteristic, Clause, Gauge, Inspection


class AnswerForm(forms.Form):
    """One answer: a reading, a word, a choice. The unit chosen beside the field holds when none is typed."""

    clause = forms.ModelChoiceField(Clause.objects.none())
    characteristic = forms.ModelChoiceField(Characteristic.objects.none(), required=False)
    number = forms.IntegerField(required=False, min_value=1, max_value=10)
    text = forms.CharField(required=False, max_length=200, strip=False)
    temperature = forms.CharField(required=False, max_length=30)
    unit = forms.CharField(required=False, max_length=12)
    gauge = forms.ModelChoiceField(Gauge.objects.none(), required=False, to_field_name="public_id")
    client_key = forms.CharField(required=False, max_length=120)
    confirmed = forms.BooleanField(required=False)
    reason = forms.CharField(required=False, max_length=400)
    seen = forms.IntegerField(required=False, min_value=0)
    replaces = forms.BooleanField(required=False)

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["clause"].queryset = Clause.objects.filter(revision=inspection.occasion.revision)
        self.fields["characteristic"].queryset = Characteristic.objects.of(inspection.occasion.club)
        self.fields["gauge"].queryset = Gauge.objects.of(inspection.occasion.club)

    def answer(self) -> dict[str, Any]:
        """The arguments of `record_measurement`, apart from who and where."""
        names = (
            *("clause", "characteristic", "number", "text", "temperature", "gauge", "client_key", "confirmed"),
            "reason",
        )
        cleaned = {name: self.cleaned_data[name] for name in names}
        text, unit = cleaned["text"].strip(), self.cleaned_data["unit"]
        if unit and text and text[-1].isnumeric():
            cleaned["text"] = f"{text} {unit}"
        cleaned["seen"] = None if self.cleaned_data["replaces"] else self.cleaned_data["seen"]
        return cleaned


class SignForm(forms.Form):
    """What goes with a signature: the seal of a car that is clear, the time to cure of one that is not."""

    not_clear = forms.BooleanField(required=False)
    seal_number = forms.CharField(required=False, max_length=30)
    cure_by = forms.TimeField(required=False)

    def clean_cure_by(self) -> dt.datetime | None:
        """The next time that the club's clock shows this time of day."""
        at = self.cleaned_data["cure_by"]
        if at is None:
            return None
        now = timezone.localtime()
        meant = now.replace(hour=at.hour, minute=at.minute, second=0, microsecond=0)
        return meant if meant >= now else meant + dt.timedelta(days=1)


class TouchedForm(forms.Form):
    """What the cure touched besides what failed, by where it is checked."""

    touched = forms.MultipleChoiceField(required=False, choices=Characteristic.Group.choices)


class RulingForm(forms.Form):
    """A judge's decision."""

    clause = forms.ModelChoiceField(Clause.objects.none())
    passes = forms.TypedChoiceField(choices=[("pass", _("Pass")), ("fail", _("Fail"))], coerce=lambda v: v == "pass")
    reason = forms.CharField(required=False, max_length=400)
    client_key = forms.CharField(required=False, max_length=120)

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["clause"].queryset = Clause.objects.filter(revision=inspection.occasion.revision)

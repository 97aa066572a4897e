"""Text into checks."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import Gauge, GaugeCheck
from inspection.studies.forms import BY_HAND, GaugeQuantities


class CheckForm(GaugeQuantities):
    """The size of the check piece is remembered from last time."""

    nominal = forms.CharField(label=_("Check piece"), max_length=40, widget=forms.TextInput(attrs=BY_HAND))
    reading = forms.CharField(label=_("It reads"), max_length=40, widget=forms.TextInput(attrs=BY_HAND))
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, gauge: Gauge, last: GaugeCheck | None, **kwargs: Any) -> None:
        nominal = last.nominal.replace(".", gauge.club.decimal_mark) if last else ""
        super().__init__(*args, gauge=gauge, initial={"nominal": nominal}, **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        cleaned |= {name: self.quantity(name) for name in ("nominal", "reading")}
        return cleaned

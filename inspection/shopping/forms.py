"""Which class, and for which car."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import BenchSheet, Club, RacingClass
from inspection.shopping.selectors import sheets_to_shop_for


class ShoppingForm(forms.Form):
    """Asked in the address, so that a list can be sent to somebody."""

    racing_class = forms.ModelChoiceField(
        label=_("Class"), queryset=RacingClass.objects.none(), empty_label=_("Choose the class")
    )
    sheet = forms.ModelChoiceField(
        label=_("For a car, by its bench sheet"),
        queryset=BenchSheet.objects.none(),
        required=False,
        empty_label=_("From nothing"),
        to_field_name="public_id",
    )

    def __init__(self, data: Any = None, *, club: Club) -> None:
        super().__init__(data)
        self.fields["racing_class"].queryset = RacingClass.objects.of(club).order_by("-is_active", "name")
        self.fields["sheet"].queryset = sheets_to_shop_for(club)

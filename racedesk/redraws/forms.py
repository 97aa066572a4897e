"""What is typed about a re-draw."""

from collections.abc import Iterable

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from racedesk.restplans.selectors import BUDGETS

LARGEST = 10_000


class AcceptForm(forms.Form):
    """Use the plan that is shown. seen: what the plan rests on, as it was when the page was opened."""

    reason = forms.CharField(label=_("Why drawn again"), max_length=300, required=False)
    steps = forms.TypedChoiceField(choices=[(steps, steps) for steps in BUDGETS], coerce=int, widget=forms.HiddenInput)
    seen = forms.CharField(max_length=16, widget=forms.HiddenInput)


class WishForm(forms.Form):
    """One wish more: a driver, what of it, and the heat or the other driver."""

    KINDS = [
        ("later", _("cannot race before heat")),
        ("until", _("has to leave after heat")),
        ("apart", _("cannot be in a heat with driver")),
    ]
    driver = forms.TypedChoiceField(label=_("Driver"), coerce=int)
    kind = forms.ChoiceField(label=_("Wish"), choices=KINDS)
    number = forms.IntegerField(label=_("Number"), min_value=1, max_value=LARGEST)

    def __init__(self, data: QueryDict | None, *, drivers: Iterable[tuple[int, str]]) -> None:
        super().__init__(data)
        self.fields["driver"].choices = list(drivers)  # type: ignore[attr-defined]


class LaneBackForm(forms.Form):
    """From which heat on a lane can be driven again."""

    lane = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    back = forms.IntegerField(label=_("back from heat"), min_value=1, max_value=LARGEST)

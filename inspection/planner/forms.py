"""What is wanted of a plan, typed."""

from fractions import Fraction
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.lapforecasts.forms import NumberField
from inspection.models import Club, Lane
from inspection.planner.selectors import Wanted
from inspection.planning.candidates import SORTS, Sort
from inspection.units import Kind

# What needs nothing typed stands first: a form sends it when nobody chooses.
_ORDER = (Sort.FEWEST_CHANGES, Sort.ROLLOUT, Sort.LAP_TIME, Sort.PRICE)
_CHOICES = [(sort.value, _(SORTS[sort])) for sort in _ORDER]


def _length(label: Any, help_text: Any) -> NumberField:
    sizes = {"least": Fraction(1), "most": Fraction(500), "kind": Kind.LENGTH, "unit": "mm"}
    return NumberField(label=label, help_text=help_text, **sizes)


class WantedForm(forms.Form):
    """What the best is, and what may be used for it. lanes: of the track, whose length is known."""

    sort = forms.ChoiceField(label=_("Best is"), choices=_CHOICES, required=False)
    rollout = _length(
        _("Rollout wanted, mm"), _("For “nearest to the rollout wanted”: way of the car for one turn of the motor.")
    )
    lane = forms.TypedChoiceField(
        label=_("Lane"), coerce=int, empty_value=None, required=False, help_text=_("For a lap by prediction.")
    )
    register = forms.BooleanField(label=_("Also parts that are not in stock"), required=False)
    spacers = forms.BooleanField(label=_("Also with other spacers on the rear axle"), required=False)
    trued_to = _length(_("Tires trued to, mm"), _("Shows the gears that bring the rollout of this sheet back."))
    tires = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, club: Club, lanes: list[Lane]) -> None:
        super().__init__(data)
        self.fields["lane"].choices = [("", _("The first")), *((lane.number, str(lane)) for lane in lanes)]
        for field in self.fields.values():
            if isinstance(field, NumberField):
                field.decimal_mark = club.decimal_mark

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("sort") == Sort.ROLLOUT and cleaned.get("rollout") is None and "rollout" not in self.errors:
            self.add_error("rollout", _("Say which rollout you want."))
        return cleaned

    @property
    def wanted(self) -> Wanted | None:
        """What is asked; None while it cannot be read. Unsent it is what needs no answer."""
        if not self.is_bound:
            return Wanted()
        if not self.is_valid():
            return None
        said = {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}
        return Wanted(**(said | {"sort": Sort(said.get("sort", Sort.FEWEST_CHANGES))}))

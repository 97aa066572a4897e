"""What is typed about seasons."""

from decimal import Decimal, InvalidOperation
from itertools import pairwise
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from racedesk.models import Race, Season
from racedesk.seasons.selectors import races_without_round

MOST_PLACES = 60
MOST_POINTS = 10_000


class PointsField(forms.CharField):
    """Points by place, typed with spaces, semicolons or dashes between: "25 18 15 12", "8.5; 6; 3.5"."""

    def clean(self, value: Any) -> list[Decimal]:
        text = super().clean(value)
        parts = text.replace(";", " ").replace("-", " ").replace("/", " ").split()
        try:
            points = [Decimal(part.strip(",").replace(",", ".")) for part in parts]
        except InvalidOperation as error:
            raise ValidationError(
                _("Give numbers from first place down, with spaces between: 25 18 15 12."), code="not_numbers"
            ) from error
        if not points or len(points) > MOST_PLACES:
            raise ValidationError(
                _("Give points for 1 to %(most)s places."), code="places", params={"most": MOST_PLACES}
            )
        if any(not each.is_finite() or not 0 <= each <= MOST_POINTS for each in points):
            raise ValidationError(_("Points are 0 or more, and no more than 10,000."), code="range")
        if any(later > earlier for earlier, later in pairwise(points)):
            raise ValidationError(_("A later place cannot score more than an earlier one."), code="order")
        return points


class SeasonForm(forms.Form):
    name = forms.CharField(label=_("Name"), max_length=120)
    points = PointsField(
        label=_("Points, from first place down"),
        initial="25 22 20 18 16 15 14 13 12 11 10 9 8 7 6 5 4 3 2 1",
        help_text=_("Places beyond the list score nothing; a shared place gets the mean of the places it takes up."),
    )
    rounds_planned = forms.IntegerField(label=_("Rounds planned"), required=False, min_value=1, max_value=100)
    rounds_that_count = forms.IntegerField(
        label=_("Best rounds that count"),
        required=False,
        min_value=1,
        max_value=100,
        help_text=_("Empty: all of them. The others are dropped and shown struck through."),
    )


class RoundForm(forms.Form):
    race = forms.ModelChoiceField(label=_("Race"), queryset=Race.objects.none())
    number = forms.IntegerField(label=_("Round"), min_value=1, max_value=100)

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["race"].queryset = races_without_round(season)
        numbers = [each.number for each in season.rounds.all()]
        self.fields["number"].initial = max(numbers, default=0) + 1

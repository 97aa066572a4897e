"""What is typed about a heat."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import Driver, Lane
from racedesk.models import Heat

CORRECTION_REASONS = [
    _("a lap was missed"),
    _("a lap was counted twice"),
    _("counted on the wrong lane"),
    _("the section was read again"),
    _("typed wrongly"),
    _("decided by the race director"),
]


class LapsForm(forms.Form):
    """The laps of a heat: one field a lane, and beside it what the page read back for it."""

    reason = forms.ChoiceField(label=_("Reason"), required=False)
    other_reason = forms.CharField(label=_("Another reason"), max_length=300, required=False)
    is_confirmed = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, lanes: list[Lane], initial: dict[str, Any] | None = None) -> None:
        super().__init__(data, initial=initial)
        self.lane_numbers = [lane.number for lane in lanes]
        self.fields["reason"].choices = [("", "")] + [(str(reason), reason) for reason in CORRECTION_REASONS]
        for lane in lanes:
            self.fields[f"laps-{lane.number}"] = forms.CharField(
                label=_("Lane {number}, {name}").format(number=lane.number, name=lane.name),
                max_length=60,
                required=False,
                widget=forms.TextInput(
                    attrs={
                        "class": "input number laps-input",
                        "data-lane": lane.number,
                        "autocomplete": "off",
                        "enterkeyhint": "next",
                        "size": 8,
                    }
                ),
            )
            self.fields[f"echoed-{lane.number}"] = forms.CharField(required=False, widget=forms.HiddenInput)

    def typed(self) -> dict[int, str]:
        """What was typed, by lane number; lanes left blank are not among them."""
        texts = {number: self.cleaned_data.get(f"laps-{number}", "") for number in self.lane_numbers}
        return {number: text for number, text in texts.items() if text}

    def is_echoed(self) -> bool:
        """Has every text already been read back to the person who typed it?"""
        return all(self.cleaned_data.get(f"echoed-{number}") == text for number, text in self.typed().items())

    def why(self) -> str:
        """The reason chosen or typed."""
        return self.cleaned_data.get("other_reason") or self.cleaned_data.get("reason") or ""


class DroveForm(forms.Form):
    """Somebody else drives a lane."""

    lane = forms.ModelChoiceField(label=_("Lane"), queryset=Lane.objects.none())
    driver = forms.ModelChoiceField(label=_("Drives, or drove"), queryset=Driver.objects.none())
    reason = forms.CharField(label=_("Reason"), max_length=300)

    def __init__(self, data: Any = None, *, heat: Heat, lane: str = "") -> None:
        """lane: number of the lane that is chosen at first."""
        lanes = Lane.objects.filter(pk__in=heat.lanes.values("lane"))
        chosen = next((each.pk for each in lanes if str(each.number) == lane), None)
        super().__init__(data, initial={"lane": chosen})
        self.fields["lane"].queryset = lanes
        self.fields["driver"].queryset = Driver.objects.of(heat.draw.stage.race.event.club).filter(is_active=True)

"""What is pressed at the director's table."""

from django import forms
from django.utils.translation import gettext_lazy as _

from racedesk.timing.events import EventKind

# A press that could not be sent is sent again for this long and still counts from when it was made.
LONGEST_AGE_MS = 60_000
COMMANDS = [
    EventKind.READY,
    EventKind.STAND_DOWN,
    EventKind.START,
    EventKind.CALL_TRACK,
    EventKind.RESUME,
    EventKind.END,
    EventKind.VOID,
    EventKind.LANE_OUT,
    EventKind.LANE_BACK,
]
GROUNDS = [
    "",
    _("car where no marshal can reach"),
    _("car in the wrong lane"),
    _("cars blocking the track"),
    _("braid or tape up"),
    _("no power on a lane"),
    _("equipment failure"),
    _("somebody over the track"),
]


class CommandForm(forms.Form):
    """One press. age_ms: how long ago it was made, when it could not be sent at once."""

    kind = forms.ChoiceField(choices=[(kind.value, kind.value) for kind in COMMANDS])
    client_key = forms.CharField(max_length=40, required=False)
    age_ms = forms.IntegerField(min_value=0, required=False)
    lane = forms.IntegerField(min_value=1, required=False)
    reason = forms.CharField(max_length=300, required=False)
    ground = forms.CharField(max_length=100, required=False)
    called_by = forms.CharField(max_length=100, required=False)

    def clean_age_ms(self) -> int:
        return min(self.cleaned_data.get("age_ms") or 0, LONGEST_AGE_MS)

    def detail(self) -> dict[str, str]:
        """What a track call says about itself."""
        if self.cleaned_data["kind"] != EventKind.CALL_TRACK:
            return {}
        return {name: self.cleaned_data[name] for name in ("ground", "called_by") if self.cleaned_data[name]}

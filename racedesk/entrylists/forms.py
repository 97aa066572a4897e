"""Typed names, ticks and files."""

import re
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, Driver
from racedesk.entries.forms import reason_field
from racedesk.entrylists.selectors import NEW, OUT, ImportLine
from racedesk.events.forms import LengthOfTimeField
from racedesk.events.selectors import tracks_with_a_layout, usual_track


class RepeatForm(forms.Form):
    """Who of last time races again."""

    drivers = forms.ModelMultipleChoiceField(queryset=None, to_field_name="public_id", required=False)
    late_reason = reason_field(_("Why admitted late"), required=False)

    def __init__(self, *args: Any, drivers: list[Driver], may_admit_late: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["drivers"].queryset = Driver.objects.filter(pk__in=[driver.pk for driver in drivers])
        if not may_admit_late:
            del self.fields["late_reason"]


class QuickRaceForm(forms.Form):
    """Names, track and heat length: all that a race from typed names needs."""

    names = forms.CharField(
        label=_("Names"),
        max_length=20_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 14, "autofocus": True, "autocapitalize": "words", "spellcheck": "false"}),
        help_text=_("One name a line, or all on one line with commas between."),
    )
    track = forms.ModelChoiceField(label=_("Track"), queryset=None, empty_label=None)
    heat_length_s = LengthOfTimeField(
        label=_("Heat length"), low=10, initial=180, help_text=_("Minutes and seconds: 3:00.")
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, initial={"track": usual_track(club)}, **kwargs)
        self.fields["track"].queryset = tracks_with_a_layout(club)

    def clean_names(self) -> list[str]:
        """The names as typed, blank ones left out."""
        lines = [line for line in self.cleaned_data["names"].splitlines() if line.strip()]
        if len(lines) <= 1:
            return [name.strip() for line in lines for name in re.split(r"[,;\t]", line) if name.strip()]
        doubtful = [line.strip() for line in lines if re.search(r"[,;\t]", line.strip().rstrip(",;"))]
        if doubtful:
            message = _("“%(line)s” has a comma. Write one name a line, or all names on one line with commas between.")
            raise forms.ValidationError(message, params={"line": doubtful[0][:60]})
        return [line.strip().rstrip(",;").strip() for line in lines]


class ImportForm(forms.Form):
    """A file of entries."""

    file = forms.FileField(
        label=_("File"),
        help_text=_("CSV or XLSX. The first row says what the columns are, in any order: driver, car number, fee …"),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx,.xlsm"}),
    )


class ConfirmForm(forms.Form):
    """Who is meant in the rows whose name is like a known driver's: the first `most` of these lines that need it."""

    most = 300

    late_reason = reason_field(_("Why admitted late"), required=False)
    rest_is_new = forms.BooleanField(required=False)

    def __init__(self, *args: Any, lines: Sequence[ImportLine], may_admit_late: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        undecided = [line for line in lines if line.outcome == "choose"]
        self.asked, self.rest = undecided[: self.most], undecided[self.most :]
        for line in self.asked:
            self.fields[line.choice] = forms.ChoiceField(
                label=line.name,
                choices=self._choices(line),
                widget=forms.RadioSelect,
                required=False,
                initial=line.near[0].public_id if line.is_same_key else None,
            )
        rest = _now("The other {count} rows that are like a known driver are new people")
        self.fields["rest_is_new"].label = rest.format(count=len(self.rest))
        if not self.rest:
            del self.fields["rest_is_new"]
        if not may_admit_late:
            del self.fields["late_reason"]

    @staticmethod
    def _choices(line: ImportLine) -> list[tuple[str, Any]]:
        offered = [
            (driver.public_id, _now("the same person as {name}").format(name=driver.name)) for driver in line.near
        ]
        new = [] if line.is_same_key else [(NEW, _("a new person"))]
        return [*offered, *new, (OUT, _("leave this row out"))]

    def choices(self) -> dict[int, str]:
        """What was said, by row number; only of rows that were asked about."""
        said = {line.row: self.cleaned_data[line.choice] for line in self.asked if self.cleaned_data[line.choice]}
        if self.cleaned_data.get("rest_is_new"):
            said |= {line.row: NEW for line in self.rest}
        return said

    def rows(self) -> list[tuple[ImportLine, forms.BoundField]]:
        """Each row asked about with its field."""
        return [(line, self[line.choice]) for line in self.asked]

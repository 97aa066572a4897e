"""Text into a run: where, on which lane, which laps."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from inspection.models import BenchSheet, Car, Run, TrackLayout
from inspection.runs.selectors import (
    layouts_in_use,
    read_laps,
    run_version,
    runs_loaded,
    seconds_words,
    sheets_of,
    times_of,
)
from inspection.runs.services import RunContent


class RunForm(forms.Form):
    """A run. Track and lane are one choice, so that a lane is always one of that track."""

    run_on = forms.DateField(label=_("Date"), widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
    where = forms.ChoiceField(label=_("Track and lane"), required=False)
    sheet = forms.ModelChoiceField(
        label=_("Bench sheet"),
        queryset=BenchSheet.objects.none(),
        required=False,
        empty_label=_("not written down"),
        help_text=_("What the car was built like."),
    )
    laps = forms.CharField(
        label=_("Lap times, s"),
        max_length=8000,
        widget=forms.Textarea(attrs={"rows": 6, "inputmode": "text", "autocomplete": "off", "spellcheck": "false"}),
        help_text=_("As you have them: with blanks between or one a line."),
    )
    changes = forms.CharField(label=_("What was changed before it"), max_length=300, required=False)
    note = forms.CharField(label=_("Note"), max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    version = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: Any = None, *, car: Car, run: Run | None = None, sheet: str = "") -> None:
        self.car, self.mark = car, car.club.decimal_mark
        self.layouts = layouts_in_use(car.club)
        if run and run.track_layout and run.track_layout_id not in {layout.pk for layout in self.layouts}:
            self.layouts.append(run.track_layout)
        sheets = sheets_of(car)
        super().__init__(data, initial=self._of(run) if run else self._usual(sheets, sheet))
        self.fields["sheet"].queryset = sheets
        self.fields["sheet"].label_from_instance = lambda each: _now("bench sheet {number}").format(number=each.number)
        self.fields["where"].choices = [("", _("not written down")), *map(_choices, self.layouts)]

    def _of(self, run: Run) -> dict[str, Any]:
        laps = "\n".join(text.replace(".", self.mark) for text in run.lap_times)
        where = _place(run.track_layout, run.lane) if run.track_layout else ""
        plain = {name: getattr(run, name) for name in ("run_on", "changes", "note")}
        return plain | {"where": where, "sheet": run.sheet_id, "laps": laps, "version": run_version(run)}

    def _usual(self, sheets: Any, public_id: str) -> dict[str, Any]:
        """Today, the sheet that the address names or else the newest, and where the car was driven last."""
        last = runs_loaded(self.car.club).filter(car=self.car).first()
        sheet = (sheets.filter(public_id=public_id).first() if public_id else None) or sheets.first()
        known = {layout.pk for layout in self.layouts}
        layout = last.track_layout if last and last.track_layout_id in known else None
        where = _place(layout, last.lane) if last and layout else ""
        return {"run_on": timezone.localdate(), "sheet": sheet.pk if sheet else None, "where": where}

    def clean_laps(self) -> tuple[str, ...]:
        try:
            return read_laps(self.cleaned_data["laps"], decimal_mark=self.mark)
        except Refused as refusal:
            raise forms.ValidationError(str(refusal), code=refusal.code) from refusal

    @property
    def content(self) -> RunContent:
        given = self.cleaned_data
        public_id, _dash, lane = given["where"].partition("-")
        layout = next((each for each in self.layouts if each.public_id == public_id), None)
        return RunContent(
            run_on=given["run_on"],
            lap_times=given["laps"],
            layout=layout,
            lane=int(lane) if lane else None,
            sheet=given["sheet"],
            changes=given["changes"],
            note=given["note"],
        )


def _place(layout: TrackLayout | None, lane: int | None) -> str:
    return f"{layout.public_id}-{lane or ''}" if layout else ""


def _choices(layout: TrackLayout) -> tuple[str, list[tuple[str, str]]]:
    """A layout's lanes under its name."""
    lanes = [(_place(layout, lane.number), f"{layout.track}, {lane}") for lane in layout.lanes.all()]
    unknown = (_place(layout, None), _now("{track}, lane not written down").format(track=layout.track))
    return str(layout), [*lanes, unknown]


class CompareForm(forms.Form):
    """Two runs, or all runs of two bench sheets."""

    first = forms.ChoiceField(label=_("A"))
    second = forms.ChoiceField(label=_("B"))

    def __init__(self, data: Any = None, *, runs: Sequence[Run], mark: str, **kwargs: Any) -> None:
        super().__init__(data, auto_id="compare-%s", **kwargs)
        sheets = {run.sheet_id: run.sheet for run in runs if run.sheet}
        named = sorted(sheets.values(), key=lambda sheet: -sheet.number)
        choices = [
            (_now("Bench sheets"), [(f"sheet-{s.public_id}", _sheet_words(s)) for s in named]),
            (_now("Runs"), [(f"run-{run.public_id}", _run_words(run, mark)) for run in runs]),
        ]
        for field in self.fields.values():
            field.choices = [group for group in choices if group[1]]


def _sheet_words(sheet: BenchSheet) -> str:
    return _now("bench sheet {number}, all its runs").format(number=sheet.number)


def _run_words(run: Run, mark: str) -> str:
    best = seconds_words(min(times_of(run)), decimal_mark=mark)
    lane = _now("lane {lane}").format(lane=run.lane) if run.lane else _now("no lane")
    return _now("{date}, {lane}, best {best}").format(date=run.run_on, lane=lane, best=best)

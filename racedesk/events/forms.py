"""Typed text into times, amounts and lengths of time; nothing more."""

import datetime as dt
import re
import zoneinfo
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, RacingClass, RuleSheet
from racedesk.events.selectors import (
    clock_text,
    event_version,
    race_version,
    tracks_with_a_layout,
    usual_tariff,
    usual_track,
)
from racedesk.events.services import EventContent, RaceContent
from racedesk.models import Event, Race

NIGHT_BEGINS = dt.time(5)  # a time of day before this belongs to the night that began the day before
LONGEST_STEP = dt.timedelta(hours=12)
LONGEST_AMOUNT = 40  # letters: what is longer is no amount, and is not searched for one

_AMOUNT = re.compile(r"([0-9]{1,6})(?:[.,]([0-9]{1,2}))?")
_MINUTES = re.compile(r"([0-9]{1,3}):([0-5][0-9])")
_WITH_UNIT = re.compile(r"([0-9]{1,5})\s*(min|m|s|sec)\.?")


class AmountField(forms.Field):
    """Money: "7.50", "7,50", "7", with or without the currency. Gives a Decimal of two places, never negative."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    default_error_messages = {
        "invalid": _("“%(value)s” is not an amount. Write 7.50 or 7,50, without a separator for thousands."),
    }

    def to_python(self, value: Any) -> Decimal | None:
        text = str(value or "").strip()
        if not text:
            return None
        if len(text) > LONGEST_AMOUNT:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid", params={"value": text[:40]})
        bare = re.sub(r"^[A-Z]{3}\s*|\s*[A-Z]{3}$|[€$£¥]", "", text).strip()
        found = _AMOUNT.fullmatch(bare)
        if found is None:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid", params={"value": text[:40]})
        return Decimal(f"{found[1]}.{(found[2] or '0').ljust(2, '0')}")


class LengthOfTimeField(forms.Field):
    """A length of time in whole seconds: "3:00", "3 min", "180 s"; a bare number is minutes."""

    widget = forms.TextInput(attrs={"autocomplete": "off"})
    default_error_messages = {
        "invalid": _("“%(value)s” is not a length of time. Write 3:00, 3 min or 180 s."),
        "range": _("Give between %(low)s and %(high)s seconds; “%(value)s” is %(seconds)s."),
    }

    def __init__(self, *, low: int = 1, high: int = 24 * 3600, **kwargs: Any) -> None:
        self.low, self.high = low, high
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        """Seconds as minutes and seconds, for an opened form."""
        return clock_text(value) if isinstance(value, int) else value

    def to_python(self, value: Any) -> int | None:
        if isinstance(value, int):
            return value
        text = str(value or "").strip()
        if not text:
            return None
        seconds = self._seconds(text.lower())
        if seconds is None:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid", params={"value": text[:40]})
        if not self.low <= seconds <= self.high:
            params = {"low": self.low, "high": self.high, "value": text[:40], "seconds": seconds}
            raise forms.ValidationError(self.error_messages["range"], code="range", params=params)
        return seconds

    @staticmethod
    def _seconds(text: str) -> int | None:
        if found := _MINUTES.fullmatch(text):
            return int(found[1]) * 60 + int(found[2])
        if found := _WITH_UNIT.fullmatch(text):
            return int(found[1]) * (60 if found[2].startswith("m") else 1)
        return int(text) * 60 if re.fullmatch(r"[0-9]{1,2}", text) else None


class ClockField(forms.TimeField):
    """A time of day as clubs write it: 19:30, 19.30, 7:30 pm."""

    widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})

    def __init__(self, **kwargs: Any) -> None:
        formats = ["%H:%M", "%H.%M", "%H:%M:%S", "%I:%M %p", "%I:%M%p"]
        super().__init__(**({"required": False, "input_formats": formats} | kwargs))


def night_moment(
    date: dt.date, time: dt.time, zone: zoneinfo.ZoneInfo, *, after: dt.datetime | None = None
) -> dt.datetime:
    """The moment of a time of day on a night: after midnight it is the next day's.

    A time before 05:00, or before the moment `after`, belongs to the day after the date.
    """
    moment = dt.datetime.combine(date, time, tzinfo=zone)
    earliest = after or dt.datetime.combine(date, NIGHT_BEGINS, tzinfo=zone)
    while moment < earliest:
        moment = dt.datetime.combine(moment.date() + dt.timedelta(days=1), time, tzinfo=zone)
    return moment


def night_moments(date: dt.date, times: Sequence[dt.time | None], zone: zoneinfo.ZoneInfo) -> list[dt.datetime | None]:
    """Moments of times given in the order in which they come; each is at or after the one before."""
    moments: list[dt.datetime | None] = []
    latest = None
    for time in times:
        moment = night_moment(date, time, zone, after=latest) if time is not None else None
        latest = moment or latest
        moments.append(moment)
    return moments


class EventForm(forms.Form):
    """A night. The times are times of that date in the club's zone; those after midnight roll over."""

    name = forms.CharField(label=_("Name"), max_length=120)
    date = forms.DateField(label=_("Date"), widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
    track = forms.ModelChoiceField(label=_("Track"), queryset=None, empty_label=None)
    doors_at = ClockField(label=_("Doors and practice"))
    tech_opens_at = ClockField(label=_("Tech opens"))
    tech_closes_at = ClockField(label=_("Tech closes"))
    racing_at = ClockField(label=_("Racing from"))
    hall_closes_at = ClockField(label=_("Hall closes"), help_text=_("A time after midnight counts as the next day's."))
    note = forms.CharField(label=_("Note, shown to everybody"), max_length=500, required=False)
    version = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, club: Club, event: Event | None = None, **kwargs: Any) -> None:
        self.zone = zoneinfo.ZoneInfo(club.time_zone)
        super().__init__(*args, initial=self._shown(club, event), **kwargs)
        tracks = tracks_with_a_layout(club)
        if event is not None:
            tracks = tracks | tracks.model.objects.filter(pk=event.track_layout.track_id)
        self.fields["track"].queryset = tracks

    def _shown(self, club: Club, event: Event | None) -> dict[str, Any]:
        if event is None:
            return {"date": timezone.localdate(), "track": usual_track(club), "hall_closes_at": club.hall_closes_at}
        times = {name: getattr(event, name) for name in EventContent.TIMES}
        local = {name: at.astimezone(self.zone).time() if at else None for name, at in times.items()}
        plain = {"name": event.name, "date": event.date, "note": event.note, "track": event.track_layout.track}
        return plain | local | {"version": event_version(event)}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if "date" not in cleaned:
            return cleaned
        names = EventContent.TIMES
        moments = night_moments(cleaned["date"], [cleaned.get(name) for name in names], self.zone)
        before = None
        for name, moment in zip(names, moments, strict=True):
            if moment and before and name != "hall_closes_at" and moment - before > LONGEST_STEP:
                self.add_error(name, _("This comes before the time above it. Put the times in order."))
            before = moment or before
        return cleaned | dict(zip(names, moments, strict=True))

    def content(self) -> EventContent:
        """What was typed, for the services."""
        return EventContent(**{name: value for name, value in self.cleaned_data.items() if name != "version"})


class RaceForm(forms.Form):
    """A race of a night."""

    name = forms.CharField(
        label=_("Name"), max_length=120, required=False, help_text=_("Left empty, the name of the class.")
    )
    racing_class = forms.ModelChoiceField(label=_("Class"), queryset=None, required=False, empty_label=_("no class"))
    needs_tech = forms.TypedChoiceField(
        label=_("Tech"),
        choices=[("yes", _("Cars go through tech")), ("no", _("No tech tonight; the results say so"))],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
    )
    rule_sheet = forms.ModelChoiceField(
        label=_("Rule sheet"),
        queryset=None,
        required=False,
        empty_label=_("the sheet of the class"),
        help_text=_("The revision in force on the night is pinned: later ones do not change this race."),
    )
    entries_close_on = forms.DateField(
        label=_("Entries close on"),
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        help_text=_("Left empty, the night itself."),
    )
    entries_close_at = ClockField(label=_("Entries close at"), help_text=_("Left empty, when the heats are drawn."))
    cap = forms.IntegerField(
        label=_("Most entries"),
        required=False,
        min_value=2,
        max_value=999,
        help_text=_("Those who come after go on a waiting list."),
    )
    fee = AmountField(label=_("Fee"), required=False)
    junior_fee = AmountField(label=_("Fee for juniors"), required=False, help_text=_("Left empty, the same."))
    heat_length_s = LengthOfTimeField(label=_("Heat length"), low=10, help_text=_("Minutes and seconds: 3:00."))
    changeover_s = LengthOfTimeField(label=_("Change-over"), low=0, high=3600, help_text=_("From heat to heat."))
    countdown_s = forms.IntegerField(label=_("Countdown, s"), min_value=0, max_value=60)
    lap_method = forms.ChoiceField(label=_("Part laps"), choices=Race.LapMethod.choices, widget=forms.RadioSelect)
    tie_rule = forms.ChoiceField(label=_("Ties"), choices=Race.TieRule.choices, widget=forms.RadioSelect)
    missed_duty_laps = forms.IntegerField(
        label=_("Laps for a missed marshal duty"),
        required=False,
        min_value=0,
        max_value=99,
        help_text=_("Taken away with one tap on the roster or while a heat runs. Left empty or 0, none are."),
    )
    groups_from = forms.IntegerField(
        label=_("In groups from so many drivers on"),
        required=False,
        min_value=3,
        max_value=500,
        help_text=_("With as many ready the draw makes groups. Left empty, all drive in one rotation."),
    )
    version = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, event: Event, race: Race | None = None, **kwargs: Any) -> None:
        self.event = event
        self.zone = zoneinfo.ZoneInfo(event.club.time_zone)
        super().__init__(*args, initial=self._shown(race), **kwargs)
        self.fields["racing_class"].queryset = RacingClass.objects.of(event.club).filter(is_active=True)
        if race is not None and race.racing_class_id:
            self.fields["racing_class"].queryset |= RacingClass.objects.filter(pk=race.racing_class_id)
        self.fields["rule_sheet"].queryset = RuleSheet.objects.of(event.club)

    def _shown(self, race: Race | None) -> dict[str, Any]:
        shown = race or Race(event=self.event)
        plain = {name: getattr(shown, name) for name in RaceContent.PLAIN}
        plain["needs_tech"] = "yes" if shown.needs_tech else "no"
        if race is None:
            return plain | {"fee": None, "missed_duty_laps": usual_tariff(self.event.club)}
        closes = race.entries_close_at.astimezone(self.zone) if race.entries_close_at else None
        if closes is not None:
            rolled = closes.time() < NIGHT_BEGINS and closes.date() == self.event.date + dt.timedelta(days=1)
            plain["entries_close_on"] = self.event.date if rolled else closes.date()
            plain["entries_close_at"] = closes.time()
        sheet = race.rule_revision.rule_sheet if race.rule_revision else None
        return plain | {"rule_sheet": sheet, "version": race_version(race)}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        on, at = cleaned.pop("entries_close_on", None), cleaned.get("entries_close_at")
        if on and not at:
            self.add_error("entries_close_at", _("Give the time as well."))
        cleaned["entries_close_at"] = night_moment(on or self.event.date, at, self.zone) if at else None
        cleaned["fee"] = cleaned.get("fee") or Decimal(0)
        cleaned["missed_duty_laps"] = cleaned.get("missed_duty_laps") or 0
        racing_class = cleaned.get("racing_class")
        if not cleaned.get("name"):
            if racing_class is None:
                self.add_error("name", _("Give a name, or choose a class."))
            else:
                cleaned["name"] = racing_class.name
        if cleaned.get("needs_tech") and not cleaned.get("rule_sheet") and racing_class is not None:
            cleaned["rule_sheet"] = RuleSheet.objects.filter(racing_class=racing_class).order_by("name").first()
        return cleaned

    def content(self) -> RaceContent:
        """What was typed, for the services."""
        return RaceContent(**{name: value for name, value in self.cleaned_data.items() if name != "version"})

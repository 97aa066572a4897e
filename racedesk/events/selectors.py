"""What is on, and how far it is."""

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Exists, IntegerField, Model, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, LogEntry, Track, TrackLayout
from racedesk.models import Draw, Entry, Event, Heat, HeatEvent, Race, ResultSheet

EVENT_FIELDS = (
    "name",
    "date",
    "track_layout_id",
    "doors_at",
    "tech_opens_at",
    "tech_closes_at",
    "racing_at",
    "hall_closes_at",
    "note",
)
RACE_FIELDS = (
    "name",
    "racing_class_id",
    "needs_tech",
    "rule_revision_id",
    "entries_close_at",
    "cap",
    "fee",
    "junior_fee",
    "heat_length_s",
    "changeover_s",
    "countdown_s",
    "lap_method",
    "tie_rule",
    "missed_duty_laps",
    "groups_from",
)


@dataclass(frozen=True, slots=True)
class RaceStatus:
    """How far a race is. code: open, closed, drawn, running, run or published; label: the same for people."""

    code: str
    label: str | Promise


OPEN = RaceStatus("open", _("entries open"))
CLOSED = RaceStatus("closed", _("entries closed"))
DRAWN = RaceStatus("drawn", _("heats drawn"))
RUNNING = RaceStatus("running", _("running"))
RUN = RaceStatus("run", _("all heats run"))
PUBLISHED = RaceStatus("published", _("results out"))


def _count(rows: QuerySet, path: str) -> Coalesce:
    """The number of rows whose `path` is the outer race; a subquery, so that counts do not multiply one another."""
    counted = rows.filter(**{path: OuterRef("pk")}).order_by().values(path).annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def with_progress(races: QuerySet) -> QuerySet:
    """Races with entries_racing, entries_checked_in, entries_waiting, heats_drawn, heats_run, has_draw, has_begun,
    is_published. Still one query."""
    voided = HeatEvent.objects.filter(heat=OuterRef("heat"), kind="void", number__gt=OuterRef("number"))
    closes = HeatEvent.objects.filter(heat=OuterRef("pk"), kind="close").filter(~Exists(voided))
    heats = Heat.objects.filter(draw__superseded_at__isnull=True)
    draws = Draw.objects.filter(stage__race=OuterRef("pk"), superseded_at__isnull=True)
    events = HeatEvent.objects.filter(heat__draw__stage__race=OuterRef("pk"))
    published = ResultSheet.objects.filter(race=OuterRef("pk"), superseded_at__isnull=True)
    racing = Entry.objects.racing()
    return races.annotate(
        entries_racing=_count(racing, "race"),
        entries_checked_in=_count(racing.filter(state=Entry.State.CHECKED_IN), "race"),
        entries_waiting=_count(Entry.objects.filter(state=Entry.State.WAITING), "race"),
        heats_drawn=_count(heats, "draw__stage__race"),
        heats_run=_count(heats.filter(Exists(closes)), "draw__stage__race"),
        has_draw=Exists(draws),
        has_begun=Exists(events),
        is_published=Exists(published),
    )


def races_of(event: Event) -> list[Race]:
    """The races of the night in order, with class, rule revision and progress loaded. 1 query."""
    loaded = Race.objects.filter(event=event).select_related("racing_class", "rule_revision__rule_sheet", "event")
    return list(with_progress(loaded).order_by("position", "id"))


def race_status(race: Race, *, now: dt.datetime | None = None) -> RaceStatus:
    """How far the race is. No query for a race from `races_of`; 1 for any other."""
    if not hasattr(race, "has_draw"):
        race = with_progress(Race.objects.filter(pk=race.pk)).get()
    if race.is_published:
        return PUBLISHED
    if race.heats_drawn and race.heats_run == race.heats_drawn:
        return RUN
    if race.has_begun:
        return RUNNING
    if race.has_draw:
        return DRAWN
    closed = race.entries_close_at is not None and race.entries_close_at <= (now or timezone.now())
    return CLOSED if closed else OPEN


def clock_text(seconds: int) -> str:
    """Seconds as minutes and seconds: 180 is "3:00"."""
    return f"{seconds // 60}:{seconds % 60:02d}"


def is_drawn(race: Race) -> bool:
    """Whether heats stand for this race. 1 query."""
    return Draw.objects.filter(stage__race=race, superseded_at__isnull=True).exists()


def race_or_404(club: Club, public_id: str) -> Race:
    """A race of the club as its pages need it, with its night, track and tech day. One query."""
    related = ("event__club", "event__track_layout__track", "tech_occasion")
    return get_object_or_404(Race.objects.of(club).select_related(*related), public_id=public_id)


def has_begun(race: Race) -> bool:
    """Whether anything has happened on the track. 1 query."""
    return HeatEvent.objects.filter(heat__draw__stage__race=race).exists()


def events_of(club: Club) -> QuerySet:
    """All nights with track and races loaded; 2 queries however many."""
    races = Prefetch("races", queryset=Race.objects.select_related("racing_class"))
    return Event.objects.of(club).select_related("club", "track_layout__track").prefetch_related(races)


def upcoming_events(club: Club, *, today: dt.date) -> QuerySet:
    """Tonight and later, the next first. 2 queries."""
    return events_of(club).filter(date__gte=today).order_by("date", "name")


def past_events(club: Club, *, today: dt.date) -> QuerySet:
    """Before today, the latest first. 2 queries."""
    return events_of(club).filter(date__lt=today).order_by("-date", "name")


def current_layout(track: Track) -> TrackLayout | None:
    """The latest layout. 1 query."""
    return track.layouts.order_by("-number").first()


def tracks_with_a_layout(club: Club) -> QuerySet:
    """The tracks that can be raced on, those in use only. 1 query."""
    return (
        Track.objects.of(club).filter(is_active=True).filter(Exists(TrackLayout.objects.filter(track=OuterRef("pk"))))
    )


def usual_track(club: Club) -> Track | None:
    """The track of the latest night, else the club's first. 1 or 2 queries."""
    last = Event.objects.of(club).select_related("track_layout__track").order_by("-date", "-id").first()
    if last is not None and last.track_layout.track.is_active:
        return last.track_layout.track
    return tracks_with_a_layout(club).first()


def usual_tariff(club: Club) -> int:
    """Laps for a missed marshal duty as in the race that the club planned last; 1 before its first. 1 query."""
    last = Race.objects.of(club).order_by("-pk").values_list("missed_duty_laps", flat=True).first()
    return 1 if last is None else last


def _version(row: Model, fields: Sequence[str]) -> str:
    values = "\x1f".join(str(getattr(row, name)) for name in fields)
    return hashlib.sha256(values.encode()).hexdigest()[:16]


def event_version(event: Event) -> str:
    """Changes with anything the form shows: a form that carries another one was opened before a change."""
    return _version(event, EVENT_FIELDS)


def race_version(race: Race) -> str:
    """As `event_version`, for a race."""
    return _version(race, RACE_FIELDS)


def last_hand(club: Club, row: Model) -> str:
    """Who changed this last, by the log. 1 query."""
    lines = LogEntry.objects.filter(
        Q(subject_type=type(row).__name__), club=club, subject_id=str(getattr(row, "public_id", row.pk))
    )
    line = lines.select_related("by").first()
    return str(line.by) if line is not None and line.by else str(_("Somebody"))

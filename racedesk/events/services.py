"""Plan nights and their races."""

import datetime as dt
import zoneinfo
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import formats
from django.utils.translation import gettext as _

from inspection.clubs.errors import ChangedMeanwhile
from inspection.clubs.services import write_log
from inspection.inspections.services import open_occasion
from inspection.models import Club, RacingClass, RuleSheet, RuleSheetRevision, TechOccasion, Track, TrackLayout, User
from inspection.rulesheets.selectors import revision_in_force
from racedesk.events.errors import (
    FixedByTech,
    FixedByTheDraw,
    FixedByTheHeats,
    NoRuleSheetGiven,
    NoRuleSheetInForce,
    RaceNameTaken,
    TrackWithoutLayout,
)
from racedesk.events.selectors import current_layout, event_version, has_begun, is_drawn, last_hand, race_version
from racedesk.models import Event, Race


@dataclass(frozen=True, slots=True)
class EventContent:
    """A night as its form gives it; times are moments."""

    name: str
    date: dt.date
    track: Track
    doors_at: dt.datetime | None = None
    tech_opens_at: dt.datetime | None = None
    tech_closes_at: dt.datetime | None = None
    racing_at: dt.datetime | None = None
    hall_closes_at: dt.datetime | None = None
    note: str = ""

    TIMES = ("doors_at", "tech_opens_at", "tech_closes_at", "racing_at", "hall_closes_at")


@dataclass(frozen=True, slots=True)
class RaceContent:
    """A race as its form gives it. rule_sheet: asked for when cars go through tech."""

    name: str
    racing_class: RacingClass | None = None
    needs_tech: bool = True
    rule_sheet: RuleSheet | None = None
    entries_close_at: dt.datetime | None = None
    cap: int | None = None
    fee: Decimal = Decimal(0)
    junior_fee: Decimal | None = None
    heat_length_s: int = 180
    changeover_s: int = 75
    countdown_s: int = 5
    lap_method: str = Race.LapMethod.LANE_BY_LANE
    tie_rule: str = Race.TieRule.BEST_LANE
    missed_duty_laps: int = 1
    groups_from: int | None = None

    PLAIN = (
        "name",
        "racing_class",
        "needs_tech",
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


FIXED_BY_THE_DRAW = ("racing_class", "needs_tech", "rule_revision")
FIXED_BY_THE_HEATS = ("heat_length_s", "lap_method", "tie_rule")


def _layout_of(track: Track) -> TrackLayout:
    layout = current_layout(track)
    if layout is None:
        raise TrackWithoutLayout(track=track)
    return layout


def _names(fields: Iterable[str]) -> str:
    return ", ".join(str(Race._meta.get_field(name).verbose_name) for name in fields)  # noqa: SLF001  Django's own API


@transaction.atomic
def create_event(*, club: Club, content: EventContent, by: User | None) -> Event:
    """A new night on the latest layout of its track. Refused: track_without_layout."""
    times = {name: getattr(content, name) for name in EventContent.TIMES}
    layout = _layout_of(content.track)
    event = Event.objects.create(
        club=club, name=content.name, date=content.date, track_layout=layout, note=content.note, **times
    )
    write_log(club=club, action="planned event", subject=event, by=by, date=content.date.isoformat())
    return event


@transaction.atomic
def change_event(*, event: Event, content: EventContent, version: str, by: User | None) -> Event:
    """Change a night. The races' closing times move with its date, and their sheets are pinned anew.

    version: of the night the form was opened with. Refused: changed_meanwhile, track_without_layout,
    fixed_by_the_draw (track and date), fixed_by_tech (date), no_rule_sheet_in_force.
    """
    event = Event.objects.hold(event.pk, "track_layout__track", "club")
    if event_version(event) != version:
        raise ChangedMeanwhile(who=last_hand(event.club, event))
    changed = []
    # A draw takes the race's lock: nothing is drawn between looking and saving.
    list(event.races.order_by("pk").select_for_update(no_key=True).values_list("pk"))
    races = list(event.races.select_related("tech_occasion", "rule_revision__rule_sheet"))
    if content.track != event.track_layout.track:
        event.track_layout = _layout_of(content.track)
        changed.append(_("track"))
    if content.date != event.date:
        changed.append(_("date"))
    if changed and any(is_drawn(race) for race in races):
        raise FixedByTheDraw(fields=", ".join(changed))
    shift = content.date - event.date
    for name in ("name", "date", "note", *EventContent.TIMES):
        setattr(event, name, getattr(content, name))
    event.save()
    for race in races if changed else []:
        _move_race(race, event=event, shift=shift, fields=", ".join(changed))
    write_log(club=event.club, action="changed event", subject=event, by=by, date=content.date.isoformat())
    return event


def _move_race(race: Race, *, event: Event, shift: dt.timedelta, fields: str) -> None:
    """Take a race to its night's new date or track: closing time, pinned revision and tech occasion."""
    occasion = race.tech_occasion
    if race.entries_close_at is not None:
        # By the hall's clock: where the shift crosses a change of the clocks, half past seven stays half past seven.
        race.entries_close_at = race.entries_close_at.astimezone(zoneinfo.ZoneInfo(event.club.time_zone)) + shift
    if race.needs_tech and occasion is not None:
        if occasion.inspections.exists():
            raise FixedByTech(race=race.name, fields=fields)
        race.rule_revision = _revision_for(race.rule_revision.rule_sheet, event.date)
        TechOccasion.objects.filter(pk=occasion.pk).update(
            date=event.date, track_layout=event.track_layout, revision=race.rule_revision
        )
    race.save()


def _revision_for(sheet: RuleSheet | None, on: dt.date) -> RuleSheetRevision:
    if sheet is None:
        raise NoRuleSheetGiven
    revision = revision_in_force(rule_sheet=sheet, on=on)
    if revision is None:
        raise NoRuleSheetInForce(sheet=sheet, date=formats.date_format(on))
    return revision


def _occasion_for(race: Race, by: User | None) -> TechOccasion:
    """The occasion of the night by the same revision, so that a car is inspected once for two races; else a new one."""
    event = race.event
    shared = Race.objects.filter(event=event, rule_revision=race.rule_revision, tech_occasion__isnull=False)
    other = shared.exclude(pk=race.pk).select_related("tech_occasion").first()
    if other is not None:
        return other.tech_occasion
    return open_occasion(
        club=event.club,
        name=f"{event.name}, {race.name}"[:120],
        date=event.date,
        track_layout=event.track_layout,
        revision=race.rule_revision,
        by=by,
    )


def _pin_rules(race: Race, content: RaceContent, by: User | None) -> None:
    """Set the revision in force on the night, and the occasion at which cars are inspected by it."""
    if not content.needs_tech:
        race.rule_revision = None
        race.tech_occasion = None
        return
    sheet_stays = race.rule_revision is not None and race.rule_revision.rule_sheet == content.rule_sheet
    if not sheet_stays:
        race.rule_revision = _revision_for(content.rule_sheet, race.event.date)
        race.tech_occasion = None
    if race.tech_occasion is None:
        race.tech_occasion = _occasion_for(race, by)


def _refuse_a_taken_name(race: Race) -> None:
    if Race.objects.filter(event=race.event, name__iexact=race.name).exclude(pk=race.pk).exists():
        raise RaceNameTaken(name=race.name)


@transaction.atomic
def create_race(*, event: Event, content: RaceContent, by: User | None) -> Race:
    """Add a race to the night; with tech, pin the revision in force that day and open its tech occasion.

    Refused: race_name_taken, no_rule_sheet_given, no_rule_sheet_in_force.
    """
    event = Event.objects.hold(event.pk, "club", "track_layout")
    last = event.races.aggregate(last=Max("position"))["last"] or 0
    race = Race(event=event, position=last + 1, **{name: getattr(content, name) for name in RaceContent.PLAIN})
    _refuse_a_taken_name(race)
    _pin_rules(race, content, by)
    race.save()
    write_log(club=event.club, action="added race", subject=race, by=by, rules=str(race.rule_revision or ""))
    return race


@transaction.atomic
def change_race(*, race: Race, content: RaceContent, version: str, by: User | None) -> Race:
    """Change a race. What the draw or the heats already run stand on stays as it is.

    Refused: changed_meanwhile, race_name_taken, fixed_by_the_draw (class, tech, rule sheet), fixed_by_the_heats
    (heat length, part laps, ties), fixed_by_tech (tech, rule sheet), no_rule_sheet_given, no_rule_sheet_in_force.
    """
    loaded = ("event__club", "event__track_layout", "rule_revision__rule_sheet", "racing_class", "tech_occasion")
    Event.objects.hold(race.event_id)  # names and occasions are the night's
    race = Race.objects.hold(race.pk, *loaded)
    if race_version(race) != version:
        raise ChangedMeanwhile(who=last_hand(race.event.club, race))
    before = {name: getattr(race, name) for name in (*FIXED_BY_THE_DRAW, *FIXED_BY_THE_HEATS)}
    old_occasion = race.tech_occasion
    for name in RaceContent.PLAIN:
        setattr(race, name, getattr(content, name))
    _refuse_a_taken_name(race)
    _pin_rules(race, content, by)
    _refuse_what_is_fixed(race, {name for name, value in before.items() if getattr(race, name) != value})
    if old_occasion is not None and race.tech_occasion != old_occasion:
        _leave_occasion(race, old_occasion)
    race.save()
    write_log(club=race.event.club, action="changed race", subject=race, by=by, rules=str(race.rule_revision or ""))
    return race


def _refuse_what_is_fixed(race: Race, changed: set[str]) -> None:
    by_draw = [name for name in FIXED_BY_THE_DRAW if name in changed]
    by_heats = [name for name in FIXED_BY_THE_HEATS if name in changed]
    if by_draw and is_drawn(race):
        raise FixedByTheDraw(fields=_names(by_draw))
    if by_heats and has_begun(race):
        raise FixedByTheHeats(fields=_names(by_heats))


def _leave_occasion(race: Race, occasion: TechOccasion) -> None:
    """Take the race away from its occasion, which goes too unless another race uses it."""
    if occasion.races.exclude(pk=race.pk).exists():
        return
    if occasion.inspections.exists():
        raise FixedByTech(race=race.name, fields=_names(["needs_tech", "rule_revision"]))
    Race.objects.filter(pk=race.pk).update(
        tech_occasion=race.tech_occasion, needs_tech=race.needs_tech, rule_revision=race.rule_revision
    )
    occasion.delete()

"""Publish a race's result, correct it by a new revision, and keep penalties as lines of their own."""

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.models import Finding, User
from racedesk.models import Entry, Heat, Penalty, Race, ResultRow, ResultSheet
from racedesk.results import errors
from racedesk.results.selectors import changes_between, outcome_of


def _locked(race: Race) -> Race:
    """The race under a lock, so that two directors cannot publish at once."""
    return Race.objects.hold(race.pk, "event__club")


def _write_sheet(race: Race, *, number: int, change_note: str, by: User | None) -> ResultSheet:
    outcome = outcome_of(race)
    if not outcome.is_drawn:
        raise errors.NotDrawn
    if outcome.unrun:
        raise errors.HeatsUnrun(heats=", ".join(str(heat) for heat in outcome.unrun))
    sheet = ResultSheet.objects.create(
        race=race,
        number=number,
        published_by=by,
        change_note=change_note,
        tech_note=outcome.tech_note,
        tie_rule=race.tie_rule,
        notes=list(outcome.notes),
    )
    for row in outcome.rows:
        row.sheet = sheet
    ResultRow.objects.bulk_create(outcome.rows)
    return sheet


@transaction.atomic
def publish_results(*, race: Race, by: User | None) -> ResultSheet:
    """Publish the first result of a race. Raises NotDrawn, HeatsUnrun or AlreadyPublished."""
    race = _locked(race)
    published = race.result_sheets.order_by("-number").first()
    if published:
        raise errors.AlreadyPublished(number=published.number)
    sheet = _write_sheet(race, number=1, change_note="", by=by)
    write_log(club=race.event.club, action="published result", subject=sheet, by=by)
    return sheet


@transaction.atomic
def correct_results(*, race: Race, change_note: str, by: User | None) -> ResultSheet:
    """Publish a new revision from the laps and penalties as they stand now; the old one stays readable.

    Raises NotPublished, ChangeNotSaid, NothingChanged, NotDrawn or HeatsUnrun.
    """
    race = _locked(race)
    published = race.result_sheets.current().first()
    if published is None:
        raise errors.NotPublished
    if not change_note.strip():
        raise errors.ChangeNotSaid
    now = timezone.now()
    race.result_sheets.filter(pk=published.pk).update(superseded_at=now)
    sheet = _write_sheet(race, number=published.number + 1, change_note=change_note.strip(), by=by)
    if not changes_between(list(published.rows.all()), list(sheet.rows.all())):
        raise errors.NothingChanged
    write_log(
        club=race.event.club,
        action="corrected result",
        subject=sheet,
        by=by,
        reason=change_note,
        supersedes=published.number,
    )
    return sheet


@transaction.atomic
def add_penalty(
    *,
    race: Race,
    entry: Entry,
    kind: str,
    laps: int = 0,
    reason: str,
    finding: Finding | None = None,
    missed_heat: Heat | None = None,
    by: User | None,
) -> Penalty:
    """Take laps away or exclude. It shows when the result is published or corrected, not before.

    missed_heat: the heat in which the entry should have marshalled.
    Raises PenaltyNeedsReason, PenaltyNeedsLaps or PenaltyGivenAlready.
    """
    race = _locked(race)
    if not reason.strip():
        raise errors.PenaltyNeedsReason
    if kind == Penalty.Kind.LAPS and laps < 1:
        raise errors.PenaltyNeedsLaps
    what = {
        "entry": entry,
        "kind": kind,
        "laps": laps if kind == Penalty.Kind.LAPS else 0,
        "reason": reason.strip(),
        "finding": finding,
        "missed_heat": missed_heat,
    }
    if race.penalties.filter(**what, withdrawn_at__isnull=True).exists():
        raise errors.PenaltyGivenAlready(entry=entry)
    penalty = Penalty.objects.create(race=race, by=by, **what)
    write_log(club=race.event.club, action="gave penalty", subject=penalty, by=by, reason=reason, laps=penalty.laps)
    return penalty


@transaction.atomic
def withdraw_penalty(*, penalty: Penalty, reason: str, by: User | None) -> None:
    """Take a penalty back; its line stays on record. Raises PenaltyNeedsReason or PenaltyTakenBack."""
    if not reason.strip():
        raise errors.PenaltyNeedsReason
    _locked(penalty.race)
    penalty.refresh_from_db(fields=["withdrawn_at"])
    if penalty.withdrawn_at is not None:
        raise errors.PenaltyTakenBack
    penalty.withdrawn_at = timezone.now()
    penalty.withdrawn_reason = reason.strip()
    penalty.save(update_fields=["withdrawn_at", "withdrawn_reason"])
    write_log(club=penalty.race.event.club, action="withdrew penalty", subject=penalty, by=by, reason=reason)

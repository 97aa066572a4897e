"""The tech line: open a card, record what is found, let a judge decide, sign, inspect again what failed.

Nothing that was found is ever lost: a correction strikes the old finding through and keeps it. Findings are their own
log (who, when, by which gauge, to which limit); the club's log adds what changes a card's standing.
"""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clauses.selectors import checked_clause, checked_clauses, gauge_for, keeping_published_sheets
from inspection.clubs.services import write_log
from inspection.inspections.errors import (
    BuildChanged,
    BuildIsCurrent,
    ClauseNotOnCard,
    FoundMeanwhile,
    NotAllChecked,
    NothingFailed,
    OccasionNameMissing,
    SheetNotPublished,
)
from inspection.judging.selectors import GAUGE, JUDGE, asked_of, held_card, loaded_card, unit_of_input
from inspection.judging.services import decide, keep_reading
from inspection.models import (
    Build,
    Car,
    Characteristic,
    Clause,
    Club,
    Finding,
    Gauge,
    Inspection,
    Reading,
    RuleSheetRevision,
    TechOccasion,
    TrackLayout,
    User,
)
from inspection.readings.errors import ReasonMissing
from inspection.readings.selectors import Understood, refuse_overdue, ruling_typed, take
from inspection.wording.selectors import limit_words

IMPOUND = ("seal_number", "impounded_at", "impounded_by")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What became of an answer.

    finding: what the clause came to; None while it needs more. reading: the row that was written, if one was.
    replaced: the finding it strikes through, perhaps another inspector's. was_sent_before: the same sending came
    twice and was recorded once. reopened: the card was signed; the signature is gone.
    """

    clause: Clause | None = None
    finding: Finding | None
    replaced: Finding | None = None
    reading: Reading | None = None
    was_sent_before: bool = False
    reopened: bool = False


@transaction.atomic
def open_occasion(
    *,
    club: Club,
    name: str,
    date: dt.date,
    revision: RuleSheetRevision,
    track_layout: TrackLayout | None = None,
    by: User | None,
) -> TechOccasion:
    """A tech day or the tech of a race night. The revision is pinned: a newer one has no effect on it.

    Refuses a draft (SheetNotPublished) and a blank name (OccasionNameMissing).
    """
    if not revision.is_published:
        raise SheetNotPublished(sheet=revision)
    if not name.strip():
        raise OccasionNameMissing
    occasion = TechOccasion.objects.create(
        club=club, name=name.strip(), date=date, revision=revision, track_layout=track_layout
    )
    write_log(club=club, action="opened tech", subject=occasion, by=by, revision=str(revision))
    return occasion


@transaction.atomic
def open_inspection(
    *, occasion: TechOccasion, car: Car, phase: str = Inspection.Phase.BEFORE, by: User | None
) -> Inspection:
    """The car's card at this phase: the one there is, or a new one for the car's latest build."""
    if car.club_id != occasion.club_id:
        raise Car.DoesNotExist
    latest = car.builds.order_by("-number").first()
    card, is_new = Inspection.objects.get_or_create(
        occasion=occasion, car=car, phase=phase, defaults={"build": latest, "opened_by": by}
    )
    if is_new:
        write_log(club=occasion.club, action="opened card", subject=card, by=by)
        card = loaded_card(card.pk)
        decide(card=card, by=by)
    elif card.build_id != (latest.pk if latest else None):
        card = held_card(card)
        if not card.findings.exists():
            card.build = latest
            card.save(update_fields=["build"])
    return card


@keeping_published_sheets()
@transaction.atomic
def record_measurement(
    *,
    inspection: Inspection,
    clause: Clause,
    text: str,
    characteristic: Characteristic | None = None,
    number: int | None = None,
    gauge: Gauge | None = None,
    temperature: str = "",
    client_key: str = "",
    confirmed: bool = False,
    reason: str = "",
    seen: int | None = None,
    by: User | None,
) -> Recorded:
    """Record one input of a clause: a reading, yes or no, a choice; or what a gauge or a judge says of the clause.

    A reading belongs to its characteristic: every clause that needs it is decided by it. text: as typed, in the club's
    decimal mark, the unit typed or implied by the gauge, else by the clause. characteristic, number: which input, and
    which reading of it, when a clause has several; None for what is asked for next. gauge: what it was taken with;
    None for the usual one. temperature: of a resistance. confirmed: a reading outside the plausible band is right, and
    is recorded with a note. client_key: sent with each answer by the page; a repeated sending is recorded once, and
    the same key with another text is a correction. reason: asked of a judge. seen: the finding that whoever types has
    in sight, 0 for none; None replaces whatever stands there.
    Refuses with an AnswerRefused: ReadingNotUnderstood, DidYouMean, AnswerNotKnown, ReasonMissing, GaugeOfWrongKind,
    GaugeOverdue, ClauseNotOnCard, FoundMeanwhile (somebody else has found something that `seen` does not name).
    """
    card = held_card(inspection)
    clause = _on_card(card, clause)
    again = _sent_before(card, clause, client_key, text)
    if again is not None:
        return again
    _refuse_unseen(card, clause, seen, by)
    key = "" if client_key and _is_taken(card, client_key) else client_key
    used = gauge or gauge_for(clause)
    ruled = ruling_typed(clause=clause, text=text, gauge=used, reason=reason)
    if ruled is not None:
        refuse_overdue(clause, used, card.occasion.date)
        return _record(card, clause, ruled, client_key=key, by=by)
    asked = asked_of(card, clause, characteristic, number)
    taken = take(
        characteristic=asked.input.characteristic,
        text=text,
        gauge=gauge or asked.input.gauge,
        unit=unit_of_input(clause, asked.input, gauge),
        temperature=temperature,
        decimal_mark=card.occasion.club.decimal_mark,
        confirmed=confirmed,
        reason=reason,
        allowed=", ".join(asked.input.choices),
    )
    refuse_overdue(clause, taken.gauge, card.occasion.date)
    row = keep_reading(
        card=card, characteristic=asked.input.characteristic, number=asked.number, taken=taken, client_key=key, by=by
    )
    return _decided(card, clause, row, client_key=key, by=by)


@keeping_published_sheets()
@transaction.atomic
def record_ruling(
    *, inspection: Inspection, clause: Clause, passes: bool, reason: str, client_key: str = "", by: User
) -> Recorded:
    """A judge decides a clause, whatever it asks for: by is the judge, and the reason is kept with the date.

    A ruling stands over a reading; what was found before stays on the card, struck through.
    Refuses ReasonMissing and ClauseNotOnCard.
    """
    card = held_card(inspection)
    clause = _on_card(card, clause)
    before = card.findings.filter(client_key=client_key).first() if client_key else None
    if before is not None:
        return Recorded(clause=clause, finding=before, was_sent_before=True)
    if not reason.strip():
        raise ReasonMissing
    ruling = Understood.ruling(passes=passes, reason=reason)
    return _record(card, clause, ruling, client_key=client_key, by=by)


@transaction.atomic
def sign_card(
    *,
    inspection: Inspection,
    not_clear: bool = False,
    seal_number: str = "",
    cure_by: dt.datetime | None = None,
    by: User,
) -> Inspection:
    """Sign the card: clear when every clause of its phase was found to pass, otherwise not clear.

    A card with clauses not checked is signed only when the inspector says that it is not clear (`not_clear`).
    seal_number: the car is clear, is marked with it and goes into impound. cure_by: the car is not clear, and is to be
    presented again by then. Signing twice changes nothing. Refuses NotAllChecked and BuildChanged.
    """
    card = held_card(inspection)
    if card.signed_at is not None:
        return card
    _check_build(card)
    clauses = checked_clauses(card.occasion.revision, card.phase)
    current = {finding.clause_id: finding for finding in card.findings.filter(superseded_at__isnull=True)}
    missing = [clause for clause in clauses if clause.pk not in current]
    if missing and not not_clear:
        raise NotAllChecked(count=len(missing), numbers=", ".join(clause.number for clause in missing))
    failed = [f.clause_number for f in current.values() if f.outcome == Finding.Outcome.FAIL]
    card.signed_at = timezone.now()
    card.signed_by = by
    card.signed_clear = not missing and not failed and not not_clear
    card.cure_by = None if card.signed_clear else cure_by
    if card.signed_clear and seal_number.strip():
        card.seal_number, card.impounded_at, card.impounded_by = seal_number.strip()[:30], card.signed_at, by
    card.save(update_fields=["signed_at", "signed_by", "signed_clear", "cure_by", *IMPOUND])
    action = "signed card clear" if card.signed_clear else "signed card not clear"
    write_log(
        club=card.occasion.club,
        action=action,
        subject=card,
        by=by,
        failed=failed,
        not_checked=[clause.number for clause in missing],
        seal=card.seal_number,
    )
    return card


@transaction.atomic
def inspect_again(*, inspection: Inspection, touched: Collection[int] = (), by: User | None) -> Inspection:
    """The car comes back cured: what failed is to be found anew, and what the cure touched; all else stays.

    touched: ids of clauses. Refuses NothingFailed.
    """
    card = held_card(inspection)
    current = list(card.findings.filter(superseded_at__isnull=True))
    if not any(finding.outcome == Finding.Outcome.FAIL for finding in current):
        raise NothingFailed
    failed = [f for f in current if f.outcome == Finding.Outcome.FAIL or f.clause_id in touched]
    card.cure_by = None
    _reopen(card, failed, by)
    write_log(
        club=card.occasion.club,
        action="inspected again",
        subject=card,
        by=by,
        attempt=card.attempt,
        clauses=[finding.clause_number for finding in failed],
    )
    return card


@transaction.atomic
def take_up_build(*, inspection: Inspection, by: User | None) -> Inspection:
    """The card goes on with the car's latest build. Refuses BuildIsCurrent.

    What was measured on another build says nothing of this one: every clause is to be found anew. Where no build was
    declared before, the findings stand and the card is signed again.
    """
    card = held_card(inspection)
    latest = _latest_build(card.car)
    if latest is None or card.build_id == latest.pk:
        raise BuildIsCurrent
    had_build = card.build is not None
    card.build = latest
    current = list(card.findings.filter(superseded_at__isnull=True)) if had_build else []
    _reopen(card, current, by)
    write_log(club=card.occasion.club, action="took up build", subject=card, by=by, build=latest.number)
    return card


def _on_card(card: Inspection, clause: Clause) -> Clause:
    """The clause as the card asks it, its characteristic and gauges loaded."""
    checked = checked_clause(card.occasion.revision, card.phase, clause.pk)
    if checked is None:
        raise ClauseNotOnCard(number=clause.number)
    return checked


def _refuse_unseen(card: Inspection, clause: Clause, seen: int | None, by: User | None) -> None:
    """Nobody strikes through what another has found without having been told of it."""
    if seen is None:
        return
    found = card.findings.filter(clause=clause, superseded_at__isnull=True).select_related("by").first()
    if found is not None and found.pk != seen and found.by_id != (by.pk if by else None):
        raise FoundMeanwhile(found)


def _sent_before(card: Inspection, clause: Clause, client_key: str, text: str) -> Recorded | None:
    """What became of the same sending for this clause, when it came before."""
    if not client_key:
        return None
    typed = " ".join(text.split())
    finding = card.findings.filter(client_key=client_key).select_related("clause").first()
    if finding is not None and finding.answer in (text.strip()[:80], typed[:80]):
        return Recorded(clause=finding.clause, finding=finding, was_sent_before=True)
    row = card.readings.filter(client_key=client_key).first()
    if row is None or row.typed != typed:
        return None
    current = card.findings.filter(superseded_at__isnull=True, clause=clause)
    return Recorded(clause=clause, finding=current.first(), was_sent_before=True)


def _is_taken(card: Inspection, client_key: str) -> bool:
    """Has this key come with another text before? Then this is a correction, and has none."""
    rows = (card.findings, card.readings)
    return any(each.filter(client_key=client_key).exists() for each in rows)


def _decided(card: Inspection, clause: Clause, row: Reading, *, client_key: str, by: User | None) -> Recorded:
    """Decide the card by its readings as they stand now; a signature on it is gone."""
    reopened = card.signed_at is not None
    if reopened:
        drop_signature(card)
    decided = decide(card=card, answered=clause, client_key=client_key, reason=row.reason, by=by)
    finding, replaced = decided.made.get(clause.pk), decided.struck.get(clause.pk)
    if replaced is not None or reopened or row.reason:
        write_log(
            club=card.occasion.club,
            action="corrected finding" if replaced else "recorded finding",
            subject=card,
            by=by,
            reason=row.reason,
            clause=clause.number,
            answer=row.typed,
            outcome=finding.outcome if finding else "",
            before=replaced.answer if replaced else "",
            dropped_signature=reopened,
        )
    return Recorded(clause=clause, finding=finding, replaced=replaced, reopened=reopened, reading=row)


def _record(card: Inspection, clause: Clause, understood: Understood, *, client_key: str, by: User | None) -> Recorded:
    """Write what a judge or a gauge says of a clause, and strike through what it replaces."""
    now = timezone.now()
    club = card.occasion.club
    replaced = card.findings.filter(clause=clause, superseded_at__isnull=True).select_related("by").first()
    if replaced is not None:
        replaced.superseded_at = now
        replaced.save(update_fields=["superseded_at"])
    source = GAUGE if understood.gauge else JUDGE
    finding = Finding.objects.create(
        inspection=card,
        clause=clause,
        attempt=card.attempt,
        clause_number=clause.number,
        subject=str(clause.characteristic or clause.text)[:80],
        limit_text=limit_words(clause, decimal_mark=club.decimal_mark)[:200],
        gauge=understood.gauge,
        gauge_name=understood.gauge.name if understood.gauge else "",
        answer=understood.answer[:80],
        outcome=Finding.Outcome.PASS if understood.verdict.clears else Finding.Outcome.FAIL,
        inputs=[{"code": "", "name": "", "source": source, "readings": [understood.answer]}],
        reason=understood.reason[:500],
        at=now,
        by=by,
        client_key=client_key[:120],
    )
    reopened = card.signed_at is not None
    if reopened:
        drop_signature(card)
    if replaced is not None or reopened or understood.reason:
        write_log(
            club=club,
            action="corrected finding" if replaced else "recorded finding",
            subject=card,
            by=by,
            reason=understood.reason,
            clause=clause.number,
            answer=finding.answer,
            outcome=finding.outcome,
            before=replaced.answer if replaced else "",
            dropped_signature=reopened,
        )
    decide(card=card, by=by)
    return Recorded(clause=clause, finding=finding, replaced=replaced, reopened=reopened)


def _reopen(card: Inspection, findings: list[Finding], by: User | None) -> None:
    """Strike these findings through with the readings they rest on, and start the next attempt, unsigned.

    What else rests on those readings is to be found anew as well.
    """
    now = timezone.now()
    codes = {each.get("code") for finding in findings for each in finding.inputs} - {"", None}
    card.findings.filter(pk__in=[finding.pk for finding in findings]).update(superseded_at=now)
    current = card.readings.filter(superseded_at__isnull=True)
    current.filter(characteristic__code__in=codes).update(superseded_at=now)
    card.attempt += 1
    drop_signature(card)
    decide(card=card, by=by)


def drop_signature(card: Inspection) -> None:
    """Take the signature off a card that is held, and the car out of impound with it."""
    card.signed_at = card.signed_by = card.signed_clear = card.impounded_at = card.impounded_by = None
    card.seal_number = ""
    card.save(update_fields=["signed_at", "signed_by", "signed_clear", "attempt", "build", "cure_by", *IMPOUND])


def _latest_build(car: Car) -> Build | None:
    return car.builds.order_by("-number").first()


def _check_build(card: Inspection) -> None:
    latest = _latest_build(card.car)
    if latest is not None and card.build_id != latest.pk:
        inspected = _("build {number}").format(number=card.build.number) if card.build else _("no declared build")
        raise BuildChanged(latest=latest.number, inspected=inspected)

"""Call cars to tech after a race, and confirm what follows from what was found there."""

from django.db import transaction

from inspection.clubs.services import write_log
from inspection.inspections.services import open_inspection
from inspection.models import Finding, Inspection, User
from racedesk.aftertech.errors import CallsNobody, DismissalNeedsReason, NobodyToCall, NoTechForCall, NotProposed
from racedesk.aftertech.selectors import Proposal, planned_call, proposals_of
from racedesk.entries.selectors import first_car
from racedesk.models import CalledEntry, DismissedFinding, Penalty, Race, TechCall
from racedesk.results.services import add_penalty


@transaction.atomic
def call_to_tech(*, race: Race, first_places: int, drawn: int, seed: int, by: User | None) -> TechCall:
    """Call the first places, and so many more by the seed; each gets a card for after the race.

    A later call is one of its own: both stay on record. Refuses NoTechForCall, CallsNobody and NobodyToCall.
    """
    race = Race.objects.hold(race.pk, "event__club", "tech_occasion__club")
    if not race.needs_tech or race.tech_occasion is None:
        raise NoTechForCall(race=race.name)
    if first_places + drawn < 1:
        raise CallsNobody
    planned = planned_call(race, first_places=first_places, drawn=drawn, seed=seed)
    if not planned.by_place and not planned.drawn:
        raise NobodyToCall(race=race.name)
    call = TechCall.objects.create(race=race, first_places=first_places, drawn=drawn, seed=str(seed), by=by)
    named = [(entry, CalledEntry.Why.PLACE) for entry in planned.by_place]
    named += [(entry, CalledEntry.Why.DRAWN) for entry in planned.drawn]
    for position, (entry, why) in enumerate(named, start=1):
        CalledEntry.objects.create(call=call, entry=entry, why=why, position=position)
        car = first_car(entry)
        if car is not None:
            open_inspection(occasion=race.tech_occasion, car=car.car, phase=Inspection.Phase.AFTER, by=by)
    write_log(club=race.event.club, action="called to tech", subject=call, by=by, seed=call.seed, cars=len(named))
    return call


@transaction.atomic
def confirm_finding(*, race: Race, finding: Finding, kind: str, laps: int = 0, reason: str, by: User | None) -> Penalty:
    """The director makes a penalty of what tech found. It shows when the result is published or corrected.

    Refuses NotProposed, and what `add_penalty` refuses.
    """
    race = Race.objects.hold(race.pk, "event__club")
    proposed = _proposed(race, finding)
    return add_penalty(race=race, entry=proposed.entry, kind=kind, laps=laps, reason=reason, finding=finding, by=by)


@transaction.atomic
def dismiss_finding(*, race: Race, finding: Finding, reason: str, by: User | None) -> DismissedFinding:
    """The director makes no penalty of what tech found; the reason is kept, logged and shown.

    Refuses NotProposed and DismissalNeedsReason.
    """
    race = Race.objects.hold(race.pk, "event__club")
    proposed = _proposed(race, finding)
    if not reason.strip():
        raise DismissalNeedsReason
    dismissed = DismissedFinding.objects.create(race=race, finding=proposed.finding, reason=reason.strip(), by=by)
    write_log(club=race.event.club, action="dismissed finding", subject=dismissed, by=by, reason=dismissed.reason)
    return dismissed


def _proposed(race: Race, finding: Finding) -> Proposal:
    """What is proposed of a finding. Refuses NotProposed."""
    proposed = next((one for one in proposals_of(race) if one.finding.pk == finding.pk), None)
    if proposed is None:
        raise NotProposed
    return proposed

"""Put a car that passed into impound, and record it when somebody touches it there."""

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.impound.errors import NotClear, NotInImpound, TouchNeedsReason
from inspection.inspections.services import IMPOUND, drop_signature
from inspection.judging.selectors import held_card
from inspection.models import ImpoundTouch, Inspection, User


@transaction.atomic
def put_in_impound(*, inspection: Inspection, seal_number: str = "", by: User) -> Inspection:
    """The car is marked, with its seal where the club uses one, and put away. Refuses NotClear.

    A car that is there already gets the other seal number, and the log says so.
    """
    card = held_card(inspection)
    latest = card.car.builds.order_by("-number").values_list("pk", flat=True).first()
    if not card.signed_clear or latest not in (None, card.build_id):
        raise NotClear
    card.seal_number, card.impounded_at, card.impounded_by = seal_number.strip()[:30], timezone.now(), by
    card.save(update_fields=IMPOUND)
    write_log(club=card.occasion.club, action="put in impound", subject=card, by=by, seal=card.seal_number)
    return card


@transaction.atomic
def record_touch(*, inspection: Inspection, reason: str, by: User) -> ImpoundTouch:
    """Somebody touched the car in impound: its clearance is gone until the card is signed again.

    Refuses NotInImpound and TouchNeedsReason.
    """
    card = held_card(inspection)
    if card.impounded_at is None:
        raise NotInImpound(car=card.car)
    if not reason.strip():
        raise TouchNeedsReason
    touch = ImpoundTouch.objects.create(inspection=card, reason=reason.strip()[:300], by=by)
    seal = card.seal_number
    drop_signature(card)
    write_log(club=card.occasion.club, action="touched in impound", subject=card, by=by, reason=reason, seal=seal)
    return touch

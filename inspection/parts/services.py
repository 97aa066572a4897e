"""Enter parts, change what is known of them, and move their stock."""

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.services import hold_club, write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import Club, Driver, Part, RacingClass, StockMove, User
from inspection.parts.errors import NothingMoved, NotInStock, PartChangedMeanwhile, PartCodeTaken, StrangerInPart
from inspection.parts.selectors import LARGEST_STOCK, part_version, with_diameter_of_code


@dataclass(frozen=True, slots=True, kw_only=True)
class PartContent:
    """What the form of a part holds; sizes as the model keeps them. owner: None for the club's own."""

    code: str
    name: str
    owner: Driver | None = None
    sizes: dict[str, str] = field(default_factory=dict)
    price: Decimal | None = None
    note: str = ""
    is_active: bool = True
    allowed_in: Sequence[RacingClass] = ()


_FIELDS = tuple(one.name for one in fields(PartContent) if one.name != "allowed_in")


@transaction.atomic
def create_part(*, club: Club, kind: str, content: PartContent, stock: int = 0, by: User | None) -> Part:
    """A new part of the club or of one of its drivers. kind: a value of Part.Kind.

    Refused: part_code_taken, stranger_in_part, nothing_moved (a stock below 0 or too large).
    """
    part = Part(club=club, kind=kind)
    _save(part, content)
    if stock:
        _move(part, stock, _("first entered"), by)
    write_log(club=club, action="entered part", subject=part, by=by, code=part.code)
    return part


@transaction.atomic
def change_part(*, part: Part, content: PartContent, version: str, by: User | None) -> Part:
    """Save the form of a part; its stock is moved by the services below. Bench sheets keep the sizes they took over.

    Refuses when somebody saved meanwhile (PartChangedMeanwhile), and what `create_part` refuses.
    """
    current = Part.objects.hold(part.pk, "club")
    if version != part_version(current):
        raise PartChangedMeanwhile(who=last_editor_of(current.club, current))
    _save(current, content)
    write_log(club=current.club, action="changed part", subject=current, by=by, code=current.code)
    return current


def _save(part: Part, content: PartContent) -> None:
    if content.owner is not None and content.owner.club_id != part.club_id:
        raise StrangerInPart(name=content.owner)
    for group in content.allowed_in:
        if group.club_id != part.club_id:
            raise StrangerInPart(name=group)
    hold_club(part.club)
    taken = Part.objects.of(part.club).filter(code=content.code).exclude(pk=part.pk).first()
    if taken is not None:
        raise PartCodeTaken(number=content.code, part=taken)
    for name in _FIELDS:
        setattr(part, name, getattr(content, name))
    part.sizes = with_diameter_of_code(part.kind, content.sizes)
    part.save()
    part.allowed_in.set(content.allowed_in)


# The stock.


@transaction.atomic
def use_stock(*, part: Part, quantity: int, reason: str, by: User | None) -> Part:
    """So many fewer in stock, and why. quantity: 1 or more. Refused: nothing_moved, not_in_stock."""
    current = _held(part, quantity)
    if quantity > current.stock:
        raise NotInStock(part=current, stock=current.stock, wanted=quantity)
    return _moved(current, -quantity, reason or _("used"), "used part", by)


@transaction.atomic
def add_stock(*, part: Part, quantity: int, reason: str, by: User | None) -> Part:
    """So many more in stock, and why. quantity: 1 or more. Refused: nothing_moved."""
    return _moved(_held(part, quantity), quantity, reason or _("came in"), "put part into stock", by)


@transaction.atomic
def count_stock(*, part: Part, counted: int, reason: str, by: User | None) -> Part:
    """The stock as somebody has just counted it, 0 or more. Refused: nothing_moved."""
    current = _held(part, counted, least=0)
    return _moved(current, counted - current.stock, reason or _("counted anew"), "counted part", by)


def _held(part: Part, quantity: int, least: int = 1) -> Part:
    if not least <= quantity <= LARGEST_STOCK:
        raise NothingMoved
    return Part.objects.hold(part.pk, "club")


def _moved(part: Part, change: int, reason: str, action: str, by: User | None) -> Part:
    _move(part, change, reason, by)
    write_log(club=part.club, action=action, subject=part, by=by, reason=reason, change=change, stock=part.stock)
    return part


def _move(part: Part, change: int, reason: str, by: User | None) -> None:
    """Change the stock and keep why. A count that finds what was written is kept too: somebody has looked."""
    if not 0 <= part.stock + change <= LARGEST_STOCK:
        raise NothingMoved
    part.stock += change
    part.save(update_fields=["stock"])
    StockMove.objects.create(part=part, change=change, reason=reason[:200], by=by)

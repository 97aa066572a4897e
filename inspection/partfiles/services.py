"""Bring parts in from a file: all of it or nothing."""

from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.imports import TableFile
from inspection.clubs.services import hold_club, write_log
from inspection.models import Club, Part, StockMove, User
from inspection.partfiles.errors import PartFileTooLong, PartRowsRefused
from inspection.partfiles.selectors import CHANGED, MOST_ROWS, NEW, WRONG, PartLine, plan_parts

_FIELDS = ("name", "owner", "sizes", "price", "note", "is_active", "stock")


@transaction.atomic
def bring_in_parts(*, club: Club, table: TableFile, by: User | None) -> dict[str, int]:
    """The rows of a file as parts of the club; how many are new, changed and the same.

    A stock in the file counts as counted anew. Refused, and then nothing has come in: part_file_too_long,
    part_rows_refused, no_code_column, part_column_twice.
    """
    if len(table.rows) > MOST_ROWS:
        raise PartFileTooLong(name=table.name, count=len(table.rows), most=MOST_ROWS)
    hold_club(club)
    lines = plan_parts(club, table)
    wrong = [line for line in lines if line.outcome == WRONG]
    if wrong:
        rows = "; ".join(f"{line.row}: {', '.join(line.errors)}" for line in wrong[:20])
        raise PartRowsRefused(count=len(wrong), rows=rows + ("; …" if len(wrong) > 20 else ""))
    new, changed = ([line for line in lines if line.outcome == outcome] for outcome in (NEW, CHANGED))
    before = {line.code: line.part.stock for line in changed if line.part}
    made = [_filled(Part(club=club, code=line.code, kind=line.kind), line) for line in new]
    kept = [_filled(line.part, line) for line in changed if line.part]
    Part.objects.bulk_create(made, batch_size=500)
    Part.objects.bulk_update(kept, _FIELDS, batch_size=200)
    StockMove.objects.bulk_create(
        StockMove(part=part, change=part.stock - before.get(part.code, 0), reason=_reason(table.name), by=by)
        for part in (*made, *kept)
        if part.stock != before.get(part.code, 0)
    )
    _allow([*zip(made, new, strict=True), *zip(kept, changed, strict=True)])
    counts = {"new": len(made), "changed": len(kept), "same": len(lines) - len(made) - len(kept)}
    write_log(club=club, action="brought in parts", subject=club, by=by, reason=table.name, **counts)
    return counts


def _reason(file_name: str) -> str:
    return _("from the file {name}").format(name=file_name)[:200]


def _filled(part: Part, line: PartLine) -> Part:
    for name in _FIELDS:
        if name != "stock":
            setattr(part, name, getattr(line, name))
    if line.stock is not None:
        part.stock = line.stock
    return part


def _allow(pairs: Sequence[tuple[Part, PartLine]]) -> None:
    """Set the classes of the parts for which the file says them, in few queries."""
    said = [(part, line.classes) for part, line in pairs if line.classes is not None]
    through = Part.allowed_in.through
    for start in range(0, len(said), 500):
        through.objects.filter(part__in=[part for part, _classes in said[start : start + 500]]).delete()
    rows = [through(part=part, racingclass=group) for part, classes in said for group in classes]
    through.objects.bulk_create(rows, batch_size=500)

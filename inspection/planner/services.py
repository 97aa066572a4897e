"""Take what the planner proposes: the car's next bench sheet."""

from collections.abc import Mapping, Sequence

from inspection.benchsheets.selectors import content_of
from inspection.benchsheets.services import save_sheet
from inspection.models import BenchSheet, Part, User
from inspection.parts.selectors import part_document
from inspection.planner.errors import PartNotThere
from inspection.planner.selectors import parts_named
from inspection.planning.candidates import REAR_SPACERS, SEARCHED
from inspection.planning.register import PLACES, PartKind


def take_proposal(
    *, sheet: BenchSheet, parts: Mapping[str, str], spacers: Mapping[str, Sequence[str]], by: User | None
) -> BenchSheet:
    """The sheet with these parts by place and these spacers by place of the axle (public ids), as the car's next one.

    What is not named stays as it is; another motor than the one on the sheet is no longer the single one it named.
    Refuses a part that is not there, not this car's, or does not go where it is put (PartNotThere).
    """
    found = parts_named(sheet, [*parts.values(), *(one for laid in spacers.values() for one in laid)])
    if not parts.keys() <= set(SEARCHED) or not spacers.keys() <= set(REAR_SPACERS):
        raise PartNotThere
    chosen = {place: _part(found, key, PLACES[place]) for place, key in parts.items()}
    laid = {place: [_part(found, key, (PartKind.SPACER,)) for key in keys] for place, keys in spacers.items()}
    content = content_of(sheet)
    changes = {
        "parts": {**content.parts, **{place: part_document(part) for place, part in chosen.items()}},
        "spacers": {
            **content.spacers,
            **{
                place: [{"thickness": part.sizes["thickness"], "part": part.public_id} for part in row]
                for place, row in laid.items()
            },
        },
    }
    if "motor" in chosen:
        changes["motor_unit"] = None
    return save_sheet(car=sheet.car, content=content.replaced(**changes), by=by)


def _part(found: Mapping[str, Part], key: str, kinds: Sequence[str]) -> Part:
    part = found.get(key)
    if part is None or part.kind not in kinds:
        raise PartNotThere
    return part

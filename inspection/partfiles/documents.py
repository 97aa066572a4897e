"""Parts as a file that comes in again unchanged."""

from collections.abc import Iterable

from inspection.models import Club, Part
from inspection.parts.selectors import specs_of
from inspection.planning.register import PART_SIZES

PLAIN_HEADINGS = ("article number", "kind", "name", "owner", "price", "stock", "allowed in", "in use", "note")


def parts_rows(club: Club, parts: Iterable[Part]) -> tuple[list[str], list[list[str]]]:
    """Headings, and a row of text for each part: every size that any of them has. No query when read by `parts_of`."""
    parts = list(parts)
    used = {code for part in parts for code in part.sizes if code in specs_of(part.kind)}
    codes = list(dict.fromkeys(spec.code for specs in PART_SIZES.values() for spec in specs if spec.code in used))
    return [*PLAIN_HEADINGS, *(code.replace("_", " ") for code in codes)], [_row(club, part, codes) for part in parts]


def _row(club: Club, part: Part, codes: list[str]) -> list[str]:
    specs = specs_of(part.kind)

    def size(code: str) -> str:
        text = part.sizes.get(code, "") if code in specs else ""
        return text.replace(".", club.decimal_mark) if text and specs[code].kind is not None else text

    return [
        part.code,
        part.kind.replace("_", " "),
        part.name,
        part.owner.name if part.owner else "",
        "" if part.price is None else f"{part.price:.2f}".replace(".", club.decimal_mark),
        str(part.stock),
        " | ".join(sorted(group.name for group in part.allowed_in.all())),
        "yes" if part.is_active else "no",
        part.note,
        *(size(code) for code in codes),
    ]

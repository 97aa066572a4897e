"""Template tags of the kit: lanes, verdicts, laps, money and QR codes, drawn alike on every page and sheet of paper.

The drawing stands in the partials templates/_*.html; here are only the values they need.
"""

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

import segno
from django import template
from django.template import Context
from django.utils.translation import gettext_lazy as _

from inspection.units import Kind, as_unit, format_quantity, make_quantity

register = template.Library()

# By outcome: the word, and the name of the color and the shape.
STATES = {
    "pass": (_("Pass"), "ok"),
    "fail": (_("Fail"), "bad"),
    "too_close": (_("Too close"), "near"),
    "not_checked": (_("Not checked"), "unchecked"),
    "judge_decides": (_("Judge decides"), "judge"),
    "not_applicable": (_("Does not apply"), "unchecked"),
}
NOTHING = "\N{EN DASH}"
_TRACK_PLACES = {"m": 2, "ft": 2}  # a lane is known to the centimeter; other units have their own places
QUIET_ZONE = 4  # modules of white round a QR code, as ISO/IEC 18004 asks

# ISO 4217 currencies whose amounts have other than two decimals.
DECIMALS = {"BHD": 3, "CLP": 0, "ISK": 0, "JOD": 3, "JPY": 0, "KRW": 0, "KWD": 3, "OMR": 3, "TND": 3, "VND": 0}


def state_of(outcome: str | None, *, too_close: bool = False) -> str:
    """One of STATES for an outcome; nothing found is "not_checked". Raises KeyError for an unknown one."""
    if too_close:
        return "too_close"
    name = str(outcome) if outcome else "not_checked"
    STATES[name]
    return name


@register.inclusion_tag("_shape.html")
def state_shape(outcome: str | None) -> dict[str, Any]:
    """The shape alone, hidden from screen readers; the word must stand beside it or name the group."""
    return {"kind": STATES[state_of(outcome)][1]}


@register.inclusion_tag("_verdict.html")
def verdict(outcome: str | None, too_close: bool = False) -> dict[str, Any]:
    """Shape and word. A reading too close to its limit says so first, and then what it counts as."""
    name = state_of(outcome, too_close=too_close)
    word, kind = STATES[name]
    counts_as = STATES[str(outcome)][0] if too_close and outcome in ("pass", "fail") else ""
    return {"kind": kind, "word": word, "counts_as": counts_as}


@register.inclusion_tag("_swatch.html")
def swatch(color: str) -> dict[str, Any]:
    """A lane's color, `#rrggbb`, bordered so that white shows on white and black on black."""
    return {"color": color}


@register.inclusion_tag("_lane.html")
def lane(lane: Any, size: str = "") -> dict[str, Any]:
    """Number, swatch, name of anything with `number`, `color` and `name`. size: "", "middle" or "large"."""
    return {"lane": lane, "size": size}


def _mark(context: Context, club: Any = None) -> str:
    found = club or context.get("club")
    return getattr(found, "decimal_mark", ".") or "."


def laps_text(sections: int, divisor: int, mark: str = ".") -> str:
    """Laps from whole sections, exact: 405 sections of 20 are "20.25", 175 of 24 are "7 7/24", 20 of 1 are "20".

    sections: 0 or more, divisor of them a lap (1 or more). Decimals where the divisor goes into 10 or 100.
    """
    whole, part = divmod(sections, divisor)
    for places in (0, 1, 2):
        if 10**places % divisor == 0:
            return f"{whole}{mark}{part * 10**places // divisor:0{places}d}" if places else str(whole)
    return f"{whole} {part}/{divisor}" if part else str(whole)


@register.simple_tag(takes_context=True)
def laps(context: Context, sections: int | None, divisor: int) -> str:
    """Laps as the club writes them; nothing for None."""
    return "" if sections is None else laps_text(sections, divisor, _mark(context))


@register.simple_tag(takes_context=True)
def money(context: Context, amount: Decimal | None, club: Any = None) -> str:
    """An amount with its currency, such as "12.50 EUR"; nothing for None."""
    if amount is None:
        return ""
    owner = club or context["club"]
    places = DECIMALS.get(owner.currency, 2)
    exact = Decimal(amount).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)
    return f"{exact:f}".replace(".", _mark(context, owner)) + f"\N{NO-BREAK SPACE}{owner.currency}"


@register.simple_tag(takes_context=True)
def quantity(context: Context, value: Decimal | None, kind: str, unit: str) -> str:
    """A stored decimal of `unit` in both systems of measures, the club's first; a dash for None.

    kind: a value of `units.Kind`.
    """
    if value is None:
        return NOTHING
    shown = make_quantity(Fraction(value), as_unit(unit, Kind(kind)))
    counterpart = shown.unit.counterpart
    if counterpart and getattr(context.get("club"), "units", "") == "in":
        shown, counterpart = shown.to(counterpart), unit
    mark = _mark(context)
    first = format_quantity(shown, places=_TRACK_PLACES.get(shown.unit.symbol), decimal_mark=mark)
    if not counterpart:
        return first
    second = format_quantity(shown, unit=counterpart, places=_TRACK_PLACES.get(counterpart), decimal_mark=mark)
    return f"{first} ({second})"


@register.inclusion_tag("_qr.html")
def qr(url: str, label: str = "") -> dict[str, Any]:
    """A QR code of the address, black on white with its quiet zone, at error level M.

    label: what the address leads to, read out instead of the picture.
    """
    rows = segno.make(url, error="m", micro=False).matrix
    strokes = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                strokes.append(f"M{start + QUIET_ZONE} {y + QUIET_ZONE}.5h{x - start}")
            x += 1
    return {"side": len(rows) + 2 * QUIET_ZONE, "path": "".join(strokes), "label": label or url}


@register.inclusion_tag("_navigation.html", takes_context=True)
def navigation(context: Context, items: list[dict[str, str]]) -> dict[str, Any]:
    """The words of the running head; the current one is the longest address that the page's own begins with.

    A page elsewhere in the tree names its word in the context: `here`, the item's name.
    """
    path = context["request"].path if "request" in context else ""
    here = context.get("here")
    if not here:
        over = [item for item in items if path.startswith(item["url"])]
        here = max(over, key=lambda item: len(item["url"]))["name"] if over else None
    return {"items": [item | {"is_current": item["name"] == here} for item in items]}


@register.inclusion_tag("_navigation.html", takes_context=True)
def word(context: Context, url: str, label: str, name: str) -> dict[str, Any]:
    """One word of the running head; none where there is no such page. name: what `here` says when it is current."""
    path = context["request"].path if "request" in context else ""
    is_current = context["here"] == name if context.get("here") else bool(url) and path.startswith(url)
    return {"items": [{"url": url, "label": label, "is_current": is_current}] if url else []}

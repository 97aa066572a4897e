"""A tech line in a small invented world, for the tests of this folder."""

from inspection.models import Clause
from tests import factories


def occasion(club, *specs, **fields):
    """An occasion whose sheet has one clause a spec, numbered from 1. Each spec is fields of the clause; the
    characteristic's fields stand under "of"."""
    revision = factories.published_sheet(club, clauses=0)
    for place, spec in enumerate(specs, start=1):
        clause(revision, place, **spec)
    return factories.occasion(club, revision, **fields)


def clause(revision, place, *, of=None, **fields):
    club = revision.rule_sheet.club
    of = {"position": place} | (of or {})
    return Clause.objects.create(
        **(
            {
                "revision": revision,
                "position": place,
                "number": str(place),
                "text": "As printed.",
                "characteristic": factories.characteristic(club, **of),
                "measuring_point": "at the widest",
                "phases": ["before"],
            }
            | fields
        )
    )


WIDTH = {"comparator": "at_most", "upper": "64.00 mm", "of": {"name": "Overall width", "group": "across"}}
TIRE = {
    "comparator": "at_least",
    "lower": "19.00 mm",
    "of": {"name": "Rear tire diameter", "group": "across", "plausible_low": "10 mm", "plausible_high": "40 mm"},
}
WEIGHT = {
    "comparator": "at_least",
    "lower": "85 g",
    "of": {
        "name": "Weight",
        "kind": "mass",
        "unit": "g",
        "group": "scale",
        "plausible_low": "20 g",
        "plausible_high": "400 g",
    },
}
PINION = {
    "comparator": "equal_within",
    "nominal": "12",
    "of": {"name": "Pinion teeth", "kind": "count", "unit": "", "plausible_low": "5", "plausible_high": "20"},
}
LABEL = {
    "comparator": "yes_no",
    "expected_answer": True,
    "of": {"name": "Motor label readable", "kind": "yes_no", "unit": "", "plausible_low": "", "plausible_high": ""},
}
TIRES = {
    "comparator": "one_of",
    "choices": ["rubber", "urethane"],
    "of": {"name": "Tire material", "kind": "choice", "unit": "", "plausible_low": "", "plausible_high": ""},
}
LOOKS = {
    "comparator": "judge_decides",
    "of": {"name": "Driver figure", "kind": "text", "unit": "", "plausible_low": "", "plausible_high": ""},
}


def caliper(club, **fields):
    return factories.gauge(club, **({"resolution": "0.01 mm", "max_permissible_error": "0.03 mm"} | fields))


def clauses_of(occasion):
    return list(occasion.revision.clauses.order_by("position"))

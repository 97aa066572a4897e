"""The worked case of the bench as records of a club: a chassis, the parts in the drawer, and a sheet of them.

The sizes are those of tests/inspection/fit/test_worked_case.py: 33 teeth do not reach the pinion, 35 and 37 of 19.5 mm
do, and the tire on their side rubs the pinion.
"""

import datetime as dt
from typing import Any

from django.utils import timezone

from inspection.benchsheets.selectors import SheetContent
from inspection.benchsheets.services import save_sheet
from inspection.models import (
    BenchSheet,
    Car,
    Characteristic,
    Chassis,
    Clause,
    Club,
    Part,
    RacingClass,
    RuleSheet,
    RuleSheetRevision,
)
from inspection.parts.selectors import part_document
from tests import factories

CHASSIS = {
    "layout": "sidewinder",
    "gear_side": "right",
    "across_shafts": "14.24 mm",
    "motor_shaft": "2.00 mm",
    "axle_diameter": "2.38 mm",
    "rear_bushing_span": "30.0 mm",
    "rear_body_width": "62.4 mm",
    "end_bell": "13.0 mm",
    "wall": "15.0 mm",
    "motor_below_axle": "8.5 mm",
    "chassis_below_axle": "8.0 mm",
    "guide_holder": "7.0 mm",
}
PARTS: dict[str, tuple[str, str, dict[str, str]]] = {
    "PIN-11-6.5": (
        "pinion",
        "Pinion 11, 6.5 mm",
        {"teeth": "11", "outside_diameter": "6.5 mm", "module": "0.5 mm", "length": "7 mm", "bore": "2 mm"},
    ),
    **{
        f"SPUR-{teeth}-{size}": (
            "spur_gear",
            f"Spur {teeth}, {size} mm",
            {"teeth": teeth, "outside_diameter": f"{size} mm", "face_width": "2 mm", "hub_width": "2.5 mm"},
        )
        for teeth, size in (("33", "17.5"), ("35", "19.5"), ("37", "19.5"))
    },
    "TIRE-20": ("tire", "Tire 20 x 10", {"diameter": "20 mm", "width": "10 mm"}),
    "WHEEL-11": ("wheel", "Wheel 11", {"rim_diameter": "11 mm", "hub_length": "8 mm"}),
    "AXLE-57": ("axle", "Axle 57", {"length": "57 mm", "diameter": "2.38 mm"}),
    "GUIDE-6": (
        "guide",
        "Guide 6",
        {"blade_depth": "6 mm", "blade_thickness": "2.6 mm", "blade_length": "20 mm", "shaft_length": "12 mm"},
    ),
    "SPACER-0.5": ("spacer", "Spacer 0.5", {"thickness": "0.5 mm"}),
    "SPACER-5": ("spacer", "Spacer 5", {"thickness": "5 mm"}),
}
PLACED = {
    "pinion": "PIN-11-6.5",
    "rear_tires": "TIRE-20",
    "rear_wheels": "WHEEL-11",
    "rear_axle": "AXLE-57",
    "guide": "GUIDE-6",
}
MOUNTING = {"pinion_gap": "0.6 mm", "hub_side": "out", "rear_end_play": "0.3 mm", "wear": "0.5 mm"}
SPACERS = {"rear_left_inner": [{"thickness": "5 mm"}], "rear_right_inner": [{"thickness": "0.5 mm"}]}


def chassis(of: Club, **fields: Any) -> Chassis:
    return factories.chassis(of, **({"sizes": CHASSIS} | fields))


def drawer(of: Club) -> dict[str, Part]:
    """The parts of the case, by article number."""
    return {
        code: Part.objects.create(club=of, code=code, kind=kind, name=name, sizes=sizes)
        for code, (kind, name, sizes) in PARTS.items()
    }


def content(parts: dict[str, Part], of: Chassis, *, spur: str = "SPUR-35-19.5", **changes: Any) -> SheetContent:
    """A sheet of these parts, with the spur that is named."""
    placed = {place: part_document(parts[code]) for place, code in (PLACED | {"driven_gear": spur}).items()}
    return SheetContent(
        **({"chassis": of, "parts": placed, "mounting": MOUNTING, "spacers": SPACERS} | changes)
    )  # fmt: skip


def sheet(of: Car, *, spur: str = "SPUR-35-19.5", **changes: Any) -> BenchSheet:
    """The car's next sheet, with a chassis and a drawer of its club's if it has none."""
    frame = Chassis.objects.of(of.club).first() or chassis(of.club)
    parts = {part.code: part for part in Part.objects.of(of.club)} or drawer(of.club)
    return save_sheet(car=of, content=content(parts, frame, spur=spur, **changes), by=None)


def class_with_width(of: Club, most: str, *, phases: tuple[str, ...] = ("before",)) -> RacingClass:
    """A class whose published sheet limits the width over the rear tires, and asks for a look at the body."""
    racing_class = factories.racing_class(of)
    sheet = RuleSheet.objects.create(club=of, name=f"Sheet of {racing_class}", racing_class=racing_class)
    revision = RuleSheetRevision.objects.create(
        rule_sheet=sheet, number=1, state="published", effective_from=dt.date(2026, 1, 1), published_at=timezone.now()
    )
    asked = (
        ("width-over-rear-tires", "Width over the rear tires", "length", "at_most", {"upper": most}),
        ("rear-tire-diameter", "Rear tire, diameter", "length", "at_least", {"lower": "19.7 mm"}),
        ("windows-clear", "Windows clear", "yes_no", "yes_no", {}),
    )
    for place, (code, name, kind, comparator, more) in enumerate(asked, start=1):
        unit = "mm" if kind == "length" else ""
        characteristic = Characteristic.objects.filter(club=of, code=code).first() or factories.characteristic(
            of, code=code, name=name, kind=kind, unit=unit
        )
        Clause.objects.create(
            revision=revision, position=place, number=str(place), text=f"{name}.", characteristic=characteristic,
            measuring_point="as it stands", comparator=comparator, phases=list(phases), **more,
        )  # fmt: skip
    return racing_class

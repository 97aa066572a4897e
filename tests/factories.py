"""Builders of small invented worlds for tests. Each takes what matters to the test and makes up the rest."""

import datetime as dt
import itertools
from decimal import Decimal
from typing import Any

from django.utils import timezone

from inspection.models import (
    BenchSheet,
    Build,
    Car,
    Characteristic,
    Chassis,
    Clause,
    Club,
    Driver,
    DriverSpelling,
    Gauge,
    GaugeStudy,
    JobLine,
    JobTicket,
    Lane,
    MarshalPost,
    Membership,
    MotorUnit,
    Part,
    RacingClass,
    Role,
    RuleSheet,
    RuleSheetRevision,
    Run,
    TechOccasion,
    Track,
    TrackLayout,
    User,
    name_key,
)

_counter = itertools.count(1)

LANES = [
    ("White", "#ffffff"),
    ("Red", "#c8202f"),
    ("Blue", "#1d55b5"),
    ("Green", "#1b8346"),
    ("Yellow", "#f2c500"),
    ("Black", "#111111"),
]


def club(**fields: Any) -> Club:
    n = next(_counter)
    return Club.objects.create(**({"slug": f"club-{n}", "name": f"Club {n}", "time_zone": "Europe/Vienna"} | fields))


def user(name: str = "", **fields: Any) -> User:
    n = next(_counter)
    return User.objects.create_user(username=name or f"person{n}", password="correct horse 42", **fields)


def member(of: Club, role: Role = Role.OWNER, **fields: Any) -> User:
    who = user(**fields)
    Membership.objects.create(club=of, user=who, role=role)
    return who


def driver(of: Club, name: str = "", **fields: Any) -> Driver:
    made = Driver.objects.create(club=of, name=name or f"Driver {next(_counter)}", **fields)
    DriverSpelling.objects.get_or_create(club=of, key=name_key(made.name), defaults={"driver": made})
    return made


def drivers(of: Club, count: int) -> list[Driver]:
    """So many of them, a table at a time."""
    made = Driver.objects.bulk_create(Driver(club=of, name=f"Driver {next(_counter)}") for _ in range(count))
    DriverSpelling.objects.bulk_create(DriverSpelling(club=of, key=name_key(each.name), driver=each) for each in made)
    return made


def racing_class(of: Club, name: str = "", **fields: Any) -> RacingClass:
    return RacingClass.objects.create(club=of, name=name or f"Class {next(_counter)}", **fields)


def track_layout(of: Club, lanes: int = 6, posts: int = 4, divisor: int = 20, **fields: Any) -> TrackLayout:
    track = Track.objects.create(club=of, name=f"Track {next(_counter)}")
    order = [n for n in range(1, lanes + 1) if n % 2] + [n for n in range(lanes, 0, -1) if n % 2 == 0]
    layout = TrackLayout.objects.create(track=track, number=1, divisor=divisor, lane_order=order, **fields)
    looks = [(number, *LANES[(number - 1) % len(LANES)]) for number in range(1, lanes + 1)]
    Lane.objects.bulk_create(
        Lane(layout=layout, number=number, name=name, color=color, length_m=Decimal("21.5"))
        for number, name, color in looks
    )
    MarshalPost.objects.bulk_create(
        MarshalPost(layout=layout, number=number, name=f"Post {number}") for number in range(1, posts + 1)
    )
    return layout


def car(of: Club, owner: Driver | None = None, **fields: Any) -> Car:
    n = next(_counter)
    return Car.objects.create(**({"club": of, "number": n, "name": f"Car {n}", "owner": owner or driver(of)} | fields))


def build(of_car: Car, **fields: Any) -> Build:
    return Build.objects.create(car=of_car, number=of_car.builds.count() + 1, **fields)


def builds(of: Club, owners: list[Driver]) -> list[Build]:
    """A car for each and its first build, a table at a time."""
    numbers = [next(_counter) for _ in owners]
    cars = Car.objects.bulk_create(
        Car(club=of, number=n, name=f"Car {n}", owner=owner) for n, owner in zip(numbers, owners, strict=True)
    )
    return Build.objects.bulk_create(Build(car=each, number=1) for each in cars)


def bench_sheet(of_car: Car, **fields: Any) -> BenchSheet:
    return BenchSheet.objects.create(car=of_car, number=of_car.bench_sheets.count() + 1, **fields)


def run(of_car: Car, *laps: str, **fields: Any) -> Run:
    usual = {"run_on": dt.date(2026, 11, 20), "lap_times": list(laps) or ["6.13", "6.10", "6.21", "6.15"]}
    return Run.objects.create(car=of_car, **(usual | fields))


def job_line(of: Club, **fields: Any) -> JobLine:
    """A line of labor on a ticket of its own."""
    ticket = JobTicket.objects.create(club=of, number=next(_counter), customer="Somebody", work_agreed="Tires")
    return JobLine.objects.create(**({"ticket": ticket, "text": "Labor", "price": Decimal(12)} | fields))


def motor_unit(of: Club, **fields: Any) -> MotorUnit:
    """A single motor, of a kind of its own unless one is given."""
    number = next(_counter)
    kind = fields.pop("part", None) or part(of, kind="motor", name=f"Motor {number}", sizes={})
    return MotorUnit.objects.create(**({"club": of, "part": kind, "number": f"M{number}"} | fields))


def chassis(of: Club, **fields: Any) -> Chassis:
    """A sidewinder of round sizes: 12.05 mm from motor shaft to axle, told across both."""
    sizes = {
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
    }
    return Chassis.objects.create(**({"club": of, "name": f"Chassis {next(_counter)}", "sizes": sizes} | fields))


def part(of: Club, **fields: Any) -> Part:
    n = next(_counter)
    return Part.objects.create(**({"club": of, "code": f"P-{n}", "kind": "tire", "name": f"Part {n}"} | fields))


def gauge(of: Club, **fields: Any) -> Gauge:
    return Gauge.objects.create(
        **(
            {
                "club": of,
                "name": f"Caliper {next(_counter)}",
                "measures": "length",
                "unit": "mm",
                "resolution": "0.01 mm",
                "max_permissible_error": "0.03 mm",
            }
            | fields
        )
    )


def gauge_study(of: Gauge, **fields: Any) -> GaugeStudy:
    """A study of three parts by two inspectors, twice each, that nobody has begun to measure."""
    crossed = {"kind": "crossed", "parts": ["A", "B", "C"], "inspectors": ["Lou", "Mo"], "trials": 2, "seed": 7}
    return GaugeStudy.objects.create(gauge=of, **({"name": f"Study {next(_counter)}"} | crossed | fields))


def characteristic(of: Club, **fields: Any) -> Characteristic:
    n = next(_counter)
    return Characteristic.objects.create(
        **(
            {
                "club": of,
                "code": f"width-{n}",
                "name": "Overall width",
                "kind": "length",
                "unit": "mm",
                "measuring_point": "widest part of the body, pins and tape not counted",
                "plausible_low": "20 mm",
                "plausible_high": "150 mm",
            }
            | fields
        )
    )


def published_sheet(of: Club, *, clauses: int = 3, by: User | None = None, **fields: Any) -> RuleSheetRevision:
    """A rule sheet whose clauses are "at most 64.00 mm" of as many widths."""
    sheet = RuleSheet.objects.create(club=of, name=f"Sheet {next(_counter)}", **fields)
    revision = RuleSheetRevision.objects.create(rule_sheet=sheet, number=1)
    caliper = gauge(of)
    for n in range(1, clauses + 1):
        Clause.objects.create(
            revision=revision,
            position=n,
            number=str(n),
            text="The body is no wider than this.",
            characteristic=characteristic(of, name=f"Width {n}", default_gauge=caliper),
            measuring_point="widest part of the body",
            comparator="at_most",
            upper="64.00 mm",
            phases=["before"],
        )
    revision.state = "published"
    revision.effective_from = dt.date(2026, 1, 1)
    revision.published_at = timezone.now()
    revision.published_by = by
    revision.save()
    return revision


def occasion(of: Club, revision: RuleSheetRevision | None = None, **fields: Any) -> TechOccasion:
    return TechOccasion.objects.create(
        club=of,
        revision=revision or published_sheet(of),
        **({"name": "Tech before the race", "date": dt.date(2026, 11, 27)} | fields),
    )

"""The invented club of the demo: people, track, gauges, classes with their sheets, cars."""

import datetime as dt
import json
import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings

from inspection.builds.selectors import WORDS, BuildContent, understand_value
from inspection.builds.services import declare_build
from inspection.cars.services import CarContent, create_car
from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list
from inspection.clauses.services import add_clause, change_clause
from inspection.clubs.services import ClubContent, create_club
from inspection.conformity.clauses import Comparator
from inspection.contents.selectors import ClauseContent, content_of, version_of
from inspection.drivers.services import DriverContent, accept_spelling, create_driver, link_user
from inspection.exchange.imports import starter_content
from inspection.exchange.selectors import SheetContent
from inspection.exchange.services import class_named, create_from_content
from inspection.gauges.selectors import GaugeContent, characteristics_of, read_typed
from inspection.gauges.selectors import version_of as gauge_version
from inspection.gauges.services import change_gauge, create_gauge, install_register
from inspection.members.services import create_member
from inspection.models import Car, Characteristic, Clause, Club, Driver, Gauge, RacingClass, RuleSheet, Track, User
from inspection.rulesheets.services import publish_rule_sheet, start_next_draft
from inspection.tracks.services import LaneContent, LayoutContent, PostContent, add_layout, create_track
from inspection.units import Kind
from racedesk.management.scenario_clock import ScenarioClock
from racedesk.models import Season

WEEKS_BETWEEN_ROUNDS = 4


@dataclass
class World:
    """What has been made so far; what is made later stands on it. Names are those of the files in fixtures/demo."""

    clock: ScenarioClock
    zone: ZoneInfo
    tonight: dt.date
    chance: random.Random
    club: Club = field(init=False)
    track: Track = field(init=False)
    season: Season = field(init=False)
    users: dict[str, User] = field(default_factory=dict)
    classes: dict[str, RacingClass] = field(default_factory=dict)
    sheets: dict[str, RuleSheet] = field(default_factory=dict)
    drivers: dict[str, Driver] = field(default_factory=dict)
    cars: dict[int, Car] = field(default_factory=dict)

    def at(self, day: dt.date, time: str) -> dt.datetime:
        """A moment by the club's own clock: at(day, "18:30")."""
        return dt.datetime.combine(day, dt.time.fromisoformat(time), tzinfo=self.zone)

    def go_to(self, day: dt.date, time: str) -> None:
        """It is that moment now."""
        self.clock.set(self.at(day, time))

    def days_ago(self, days: int) -> dt.date:
        """Counted back from tonight."""
        return self.tonight - dt.timedelta(days=days)


@cache
def invented(name: str) -> Any:
    """What a file of fixtures/demo says. Only to be read."""
    return json.loads((settings.BASE_DIR / "fixtures" / "demo" / f"{name}.json").read_text(encoding="utf-8"))


# ---- club and track -------------------------------------------------------------------------------------------------


def found_club(world: World) -> None:
    """The club, and who signs in."""
    about = invented("club")
    world.go_to(world.days_ago(420), "19:40")
    content = ClubContent(
        name=about["name"], time_zone=str(world.zone), currency=about["currency"], hall_closes_at=dt.time(23)
    )
    world.club = create_club(slug=about["slug"], content=content, is_invented=True, by=None)
    for person in about["members"]:
        owner = world.users.get("director")
        world.users[person["username"]] = create_member(
            club=world.club,
            username=person["username"],
            name=person["name"],
            password=about["password"],
            roles=person["roles"],
            by=owner,
        )
        world.clock.forward(90)


def lay_track(world: World) -> None:
    """The track and its layouts: the second has a fourth marshal post."""
    about = invented("club")["track"]
    world.go_to(world.days_ago(419), "11:10")
    plain = {name: _decimal_or_text(name, value) for name, value in about["layout"].items()}
    plain["sections"] = tuple(plain["sections"])
    lanes = tuple(
        LaneContent(**{**lane, "length_m": Decimal(lane["length_m"]), "offset_mm": Decimal(lane["offset_mm"])})
        for lane in about["lanes"]
    )
    first = LayoutContent(lanes=lanes, posts=_posts(about["first_posts"]), **plain)
    world.track = create_track(club=world.club, name=about["name"], content=first, by=world.users["director"])
    world.go_to(world.days_ago(160), "20:05")
    second = LayoutContent(lanes=lanes, posts=_posts(about["posts"]), change_note=about["change_note"], **plain)
    add_layout(track=world.track, content=second, based_on=1, by=world.users["director"])


def _decimal_or_text(name: str, value: Any) -> Any:
    return Decimal(value) if name.endswith(("_mm", "_v", "_a")) else value


def _posts(rows: list[dict[str, Any]]) -> tuple[PostContent, ...]:
    return tuple(PostContent(**row) for row in rows)


# ---- gauges and rule sheets -----------------------------------------------------------------------------------------


def bring_gauges(world: World) -> None:
    """The built-in register and gauges, their calibrations (the scale's is past due), and one more caliper."""
    about = invented("club")
    inspector = world.users["inspector"]
    world.go_to(world.days_ago(418), "17:20")
    install_register(club=world.club, by=inspector)
    world.go_to(world.days_ago(41), "17:20")
    for row in about["gauges"]:
        gauge = Gauge.objects.of(world.club).get(name=row["name"])
        kind = Kind(gauge.measures)
        content = GaugeContent(
            name=gauge.name,
            kind=gauge.kind,
            measures=kind,
            unit=gauge.unit,
            resolution=read_typed(gauge.resolution, kind=kind) if gauge.resolution else None,
            max_permissible_error=(
                read_typed(gauge.max_permissible_error, kind=kind) if gauge.max_permissible_error else None
            ),
            **_calibration(world, row),
        )
        change_gauge(gauge=gauge, content=content, version=gauge_version(gauge), by=inspector)
    new = about["new_gauge"]
    content = GaugeContent(
        name=new["name"],
        kind=Gauge.Kind.READING,
        measures=Kind.LENGTH,
        unit=new["unit"],
        resolution=read_typed(new["resolution"], kind=Kind.LENGTH),
        max_permissible_error=read_typed(new["max_permissible_error"], kind=Kind.LENGTH),
        **_calibration(world, new),
    )
    create_gauge(club=world.club, content=content, by=inspector)


def _calibration(world: World, row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "calibrated_on": world.days_ago(row["calibrated_days_ago"]),
        "calibration_due": world.days_ago(-row["due_in_days"]),
        "note": row["note"],
    }


# What the first revision of the grand tourers' sheet asked for; the second wrote the rest down.
FIRST_ASKED = (
    *("wheels-count", "ground-clearance", "overall-width", "rear-tire-diameter", "tire-material"),
    *("weight-ready-to-race", "magnets-count"),
)
NEVER_ASKED = ("motor-speed",)
OPENING_WORDS = {
    "gt": "Closed sports cars of 1:32 on the molded chassis they are sold with, without magnets, for our wood track. "
    "Club and sheet are invented.",
    "steel": "Cars of 1:24 on a stamped steel chassis. Limits are in inches and meant exactly: 3 1/4 in is 82.55 mm "
    "and not 82.5. Club and sheet are invented.",
    "loan": "What the club's own cars must be before newcomers drive them. Club and sheet are invented.",
}


def write_rules(world: World) -> None:
    """Three classes with a published sheet each; that of the grand tourers has a second, longer revision."""
    director = world.users["director"]
    world.go_to(world.days_ago(400), "21:15")
    for code, starter, name, scale in (
        ("gt", "plastic-chassis-32", "Grand Touring 1:32", "1:32"),
        ("steel", "steel-chassis-24", "Steel Chassis 1:24", "1:24"),
        ("loan", "general", "Newcomers, loan cars", "1:32"),
    ):
        content = replace(starter_content(club=world.club, code=starter), opening_words=OPENING_WORDS[code])
        if code == "gt":
            content, later = _split_by_revision(content)
        racing_class = class_named(club=world.club, name=name, scale=scale)
        draft = create_from_content(club=world.club, content=content, name=name, racing_class=racing_class, by=director)
        world.classes[code] = racing_class
        world.sheets[code] = draft.rule_sheet
        world.clock.forward(1500)
        publish_rule_sheet(rule_sheet=draft.rule_sheet, effective_from=world.days_ago(392), by=director)
    _revise(world, later)


def _revise(world: World, later: tuple[ClauseContent, ...]) -> None:
    """The second revision: what had been habit is written down, and cars may be a little heavier."""
    director = world.users["director"]
    world.go_to(world.days_ago(47), "22:05")
    draft = start_next_draft(rule_sheet=world.sheets["gt"], by=director)
    loaded = draft.clauses.select_related("characteristic", "gauge", "revision__rule_sheet")
    weight = loaded.get(characteristic__code="weight-ready-to-race")
    content = replace(content_of(weight), upper=read_typed("130.0 g", kind=Kind.MASS))
    change_clause(clause=weight, content=content, version=version_of(weight), by=director)
    _name_the_list_of_tires(world, loaded.get(characteristic__code="tire-material"))
    *checked, closing = later
    between = _compared_and_conditional(world, int(closing.number))
    closing = replace(closing, number=str(int(closing.number) + len(between)))
    for clause in (*checked, *between, closing):
        world.clock.forward(80)
        add_clause(revision=draft, content=clause, by=director)
    world.clock.forward(600)
    publish_rule_sheet(
        rule_sheet=world.sheets["gt"],
        effective_from=world.days_ago(42),
        change_note="Up to 130 g. What was checked by habit is written down: tires, gears, guide, body weight, looks. "
        "What tires are made of stands on a list.",
        by=director,
    )


def _name_the_list_of_tires(world: World, clause: Clause) -> None:
    """What tires are made of stands on a list of its own by now, which other sheets can share."""
    director = world.users["director"]
    entries = [EntryContent(value="rubber", note="natural or synthetic"), EntryContent(value="urethane")]
    made = create_choice_list(club=world.club, name="Tire materials", entries=entries, by=director)
    content = replace(content_of(clause), choices=(), choice_list=made.choice_list)
    change_clause(clause=clause, content=content, version=version_of(clause), by=director)


def _compared_and_conditional(world: World, number: int) -> tuple[ClauseContent, ...]:
    """A limit that another measure sets, and one for cars on urethane; both are decided by what is read anyway."""
    register = {one.code: one for one in characteristics_of(world.club)}
    stands_out = ClauseContent(
        number=str(number),
        text="The rear tires stand out of the body by no more than this in all.",
        characteristic=register["width-over-rear-tires"],
        measuring_point="outside to outside, axle pushed to either side",
        comparator=Comparator.AT_MOST,
        other=register["overall-width"],
        offset=read_typed("0.80 mm", kind=Kind.LENGTH),
        phases=("before",),
    )
    on_urethane = ClauseContent(
        number=str(number + 1),
        text="On urethane the rear tires are narrower.",
        characteristic=register["rear-tire-width"],
        measuring_point="across the tread at its widest",
        comparator=Comparator.AT_MOST,
        upper=read_typed("11.20 mm", kind=Kind.LENGTH),
        applies_when={"about": "characteristic", "name": "tire-material", "is": "one_of", "values": ["urethane"]},
        phases=("before",),
    )
    return stands_out, on_urethane


def _split_by_revision(content: SheetContent) -> tuple[SheetContent, tuple[ClauseContent, ...]]:
    """What the first revision says, and the clauses that the second adds; numbered through."""
    wanted = [clause for _id, clause in content.clauses if _code_of(clause) not in NEVER_ASKED]
    first = [clause for clause in wanted if _code_of(clause) in FIRST_ASKED]
    later = [clause for clause in wanted if _code_of(clause) not in FIRST_ASKED]
    numbered = [replace(clause, number=str(place)) for place, clause in enumerate([*first, *later], start=1)]
    lighter = [
        replace(clause, upper=read_typed("120.0 g", kind=Kind.MASS))
        if _code_of(clause) == "weight-ready-to-race"
        else clause
        for clause in numbered[: len(first)]
    ]
    return replace(content, clauses=tuple((None, clause) for clause in lighter)), tuple(numbered[len(first) :])


def _code_of(clause: ClauseContent) -> str:
    return clause.characteristic.code if clause.characteristic else ""


# ---- people and cars ------------------------------------------------------------------------------------------------


def enter_drivers(world: World) -> None:
    """Sixteen drivers; one of them signs in, one is a junior who appears by a public name."""
    desk = world.users["desk"]
    world.go_to(world.days_ago(390), "18:40")
    for row in invented("drivers"):
        content = DriverContent(
            name=row["name"],
            grade=row["grade"],
            contact=row.get("contact", ""),
            note=row.get("note", ""),
            public_name=row.get("public_name", ""),
            is_junior=row.get("is_junior", False),
        )
        driver = create_driver(club=world.club, content=content, by=desk)
        for spelling in row.get("spellings", ()):
            accept_spelling(driver=driver, name=spelling, by=desk)
        if "user" in row:
            link_user(driver=driver, user=world.users[row["user"]], by=world.users["director"])
        world.drivers[row["name"]] = driver
        world.clock.forward(60)


def enter_cars(world: World) -> None:
    """The cars of two classes, each with the build its owner declares; some have been rebuilt since."""
    desk = world.users["desk"]
    world.go_to(world.days_ago(380), "18:20")
    sheet = {characteristic.code: characteristic for characteristic in characteristics_of(world.club)}
    for key, code in (("grand_touring", "gt"), ("steel_chassis", "steel")):
        for row in invented("cars")[key]:
            world.clock.forward(240)
            content = CarContent(
                number=row["number"],
                name=row["name"],
                owner=world.drivers[row["owner"]],
                racing_class=world.classes[code],
            )
            car = create_car(club=world.club, content=content, by=desk)
            world.cars[row["number"]] = car
            told = _grand_touring_build if code == "gt" else _steel_build
            _declare(world, car, told(row, 0), sheet)
    for again in (1, 2):
        world.go_to(world.days_ago(210 - 40 * again), "20:50")
        for row in invented("cars")["grand_touring"]:
            if again < row.get("builds", 1):
                world.clock.forward(500)
                _declare(world, world.cars[row["number"]], _grand_touring_build(row, again), sheet)


def _grand_touring_build(row: Mapping[str, Any], number: int) -> dict[str, str]:
    """What a grand tourer's owner declares; with each rebuild the gear has a tooth less, down to what it has now."""
    teeth = row["gears"][1] + row.get("builds", 1) - 1 - number
    return {
        "drive_layout": row["layout"],
        "motor": "Hand-out 20",
        "motor_class": "20,000 rpm",
        "note": f"Gear {teeth} in place of {teeth + 1}" if number else "",
        "wheels-count": "4",
        "overall-width": row["width"],
        "width-over-rear-tires": row["over_tires"],
        "rear-tire-diameter": row["rear_tire"],
        "weight-ready-to-race": row["weight"],
        "body-weight": row["body_weight"],
        "pinion-teeth": str(row["gears"][0]),
        "driven-gear-teeth": str(teeth),
        "axle-diameter": "2.38 mm",
        "guide-blade-depth": "6.9 mm",
        "tire-material": "urethane" if row["layout"] == "inline" else "rubber",
        "magnets-count": "0",
    }


def _steel_build(row: Mapping[str, Any], number: int) -> dict[str, str]:
    return {
        "drive_layout": "inline",
        "motor": "Closed can, short" if row["number"] % 3 else "Open can, hand-out",
        "motor_class": "sealed",
        "note": "",
        "overall-width": "3 7/32 in",
        "wheelbase": "4 in" if row["number"] % 2 else "4 1/2 in",
        "rear-tire-diameter": row["rear_tire"],
        "weight-ready-to-race": row["weight"],
        "pinion-teeth": "7",
        "driven-gear-teeth": "25" if row["number"] % 2 else "26",
        "axle-diameter": "1/8 in",
    }


def _declare(world: World, car: Car, told: Mapping[str, str], sheet: Mapping[str, Characteristic]) -> None:
    declared = {
        sheet[code].pk: understand_value(sheet[code], text).stored for code, text in told.items() if code in sheet
    }
    content = BuildContent(**{name: told[name] for name in WORDS}, declared=declared)
    declare_build(car=car, content=content, by=world.users["desk"])

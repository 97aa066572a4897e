"""Every address of the project: who may go there, and which object stands in it.

tests/architecture tries each with each role; tests/browser opens each page of the demo. A new address belongs here.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.db.models import Model, QuerySet
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from inspection.models import (
    BenchSheet,
    Build,
    Car,
    Characteristic,
    Chassis,
    ChoiceList,
    Club,
    Driver,
    Gauge,
    GaugeStudy,
    Inspection,
    JobLine,
    JobTicket,
    Membership,
    MotorUnit,
    Part,
    Photo,
    PrepTemplate,
    RacingClass,
    RuleSheet,
    RuleSheetRevision,
    Run,
    TechOccasion,
    Track,
    TrackLayout,
)
from racedesk.models import (
    Draw,
    Entry,
    EntryImport,
    Event,
    Heat,
    MarshalHelper,
    Payment,
    Penalty,
    Race,
    Season,
)

PUBLIC, MEMBER = "public", "member"
Values = Callable[[Club], dict[str, Any]]


def newest(model: type[Model], **filters: Any) -> Values:
    """The public id of the newest object of a kind in the club."""

    def values(club: Club) -> dict[str, Any]:
        found: QuerySet[Any] = model.objects.of(club).filter(**filters)  # type: ignore[attr-defined]
        return {"public_id": found.order_by("-pk").first().public_id}

    return values


def nothing(club: Club) -> dict[str, Any]:
    return {}


def clause_of_draft(club: Club) -> dict[str, Any]:
    draft = RuleSheetRevision.objects.of(club).filter(state="draft").order_by("-pk").first()
    return {"public_id": draft.public_id, "lasting_id": draft.clauses.first().lasting_id}


def draft_to_publish(club: Club) -> dict[str, Any]:
    """A draft upon a published revision where the club has one, since only then is asked what changed; else any."""
    drafts = RuleSheetRevision.objects.of(club).filter(state="draft").order_by("-pk")
    following = drafts.filter(rule_sheet__revisions__state="published").first()
    return {"public_id": (following or drafts.first()).public_id}


def clause_of_general(club: Club) -> dict[str, Any]:
    """A draft that builds on a general sheet, and a clause of that sheet."""
    draft = RuleSheetRevision.objects.of(club).filter(state="draft").exclude(rule_sheet__parent=None).last()
    general = RuleSheetRevision.objects.filter(rule_sheet=draft.rule_sheet.parent).published().first()
    return {"public_id": draft.public_id, "lasting_id": general.clauses.first().lasting_id}


def clause_in_force(club: Club) -> dict[str, Any]:
    revision = RuleSheetRevision.objects.of(club).published().order_by("-pk").first()
    return {"public_id": revision.public_id, "lasting_id": revision.clauses.first().lasting_id}


def revision_after_another(club: Club) -> dict[str, Any]:
    published = RuleSheetRevision.objects.of(club).published()
    return {"public_id": published.filter(number__gt=1).order_by("-pk").first().public_id}


def clause_of_card(club: Club) -> dict[str, Any]:
    shown = Inspection.objects.of(club).order_by("-pk").first()
    return {"clause": shown.occasion.revision.clauses.first().pk, "text": "63.4"}


def photo(club: Club) -> dict[str, Any]:
    kept = Photo.objects.filter(inspection__occasion__club=club).order_by("-pk").first()
    return {"public_id": kept.inspection.public_id, "photo": kept.public_id}


def member_of(club: Club) -> dict[str, Any]:
    return {"user_id": Membership.objects.filter(club=club, role="driver").first().user_id}


def payment(club: Club) -> dict[str, Any]:
    return {"number": Payment.objects.of(club).order_by("-pk").first().pk}


def penalty(club: Club) -> dict[str, Any]:
    return {"pk": Penalty.objects.filter(race__event__club=club, withdrawn_at=None).first().pk}


def helper(club: Club) -> dict[str, Any]:
    return {"pk": MarshalHelper.objects.filter(race__event__club=club).first().pk}


def season_round(club: Club) -> dict[str, Any]:
    season = Season.objects.of(club).filter(rounds__isnull=False).first()
    return {"public_id": season.public_id, "number": season.rounds.order_by("-number").first().number}


event, race, entry, draw, heat = newest(Event), newest(Race), newest(Entry), newest(Draw), newest(Heat)
season, track, layout = newest(Season), newest(Track), newest(TrackLayout)
driver, car, build, gauge = newest(Driver), newest(Car), newest(Build), newest(Gauge)
study = newest(GaugeStudy)
chassis, bench_sheet = newest(Chassis), newest(BenchSheet)
characteristic, sheet, occasion, card = (
    newest(Characteristic),
    newest(RuleSheet, revisions__state="published"),
    newest(TechOccasion),
    newest(Inspection),
)
choice_list = newest(ChoiceList)
run = newest(Run)


def car_with_runs(club: Club) -> dict[str, Any]:
    return {"public_id": Run.objects.of(club).order_by("-pk").first().car.public_id}


def two_runs(club: Club) -> dict[str, Any]:
    keys = [f"run-{each.public_id}" for each in Run.objects.of(club).order_by("-pk")[:2]]
    return {"first": keys[-1], "second": keys[0]}


draft = newest(RuleSheetRevision, state="draft")
revision = newest(RuleSheetRevision, state="published")


def entry_import(club: Club) -> dict[str, Any]:
    return {"public_id": EntryImport.objects.filter(race__event__club=club).order_by("-pk").first().public_id}


def heat_print(kind: str) -> Values:
    return lambda club: draw(club) | {"kind": kind}


def first_class(club: Club) -> dict[str, Any]:
    return {"racing_class": RacingClass.objects.of(club).order_by("pk").first().pk}


@dataclass(frozen=True, slots=True)
class Address:
    """who: PUBLIC, MEMBER or a permission. values: what stands in the address besides the club. posts: POST only.

    asks: what follows the question mark. status: what an answer to a link is.
    """

    who: str
    values: Values = nothing
    posts: bool = False
    asks: Values = nothing
    status: int = 200


ADDRESSES: dict[str, Address] = {
    # the club and its people
    "club-detail": Address("club.view_private"),
    "club-edit": Address("club.manage"),
    "member-list": Address("club.manage"),
    "member-add": Address("club.manage"),
    "member-edit": Address("club.manage", member_of),
    "member-remove": Address("club.manage", member_of, posts=True),
    "member-password": Address("club.manage", member_of, posts=True),
    "log-list": Address("club.read_log"),
    # tracks
    "track-list": Address(MEMBER),
    "track-create": Address("club.manage_tracks"),
    "track-detail": Address(MEMBER, track),
    "track-edit": Address("club.manage_tracks", track),
    "layout-create": Address("club.manage_tracks", track),
    "layout-detail": Address(MEMBER, layout),
    # drivers
    "driver-list": Address("club.view_private"),
    "driver-create": Address("club.manage_drivers"),
    "driver-detail": Address("club.view_private", driver),
    "driver-edit": Address("club.manage_drivers", driver),
    "driver-link": Address("club.manage_drivers", driver, posts=True),
    "spelling-accept": Address("club.manage_drivers", driver, posts=True),
    "spelling-drop": Address("club.manage_drivers", driver, posts=True),
    # cars and builds
    "car-list": Address("club.view_private"),
    "car-create": Address("club.manage_cars"),
    "car-import": Address("club.manage_cars"),
    "car-export": Address("club.view_private"),
    "car-detail": Address("club.view_private", car),
    "car-edit": Address("club.manage_cars", car),
    "build-create": Address("club.manage_cars", car),
    "build-echo": Address("club.manage_cars", car, posts=True),
    "build-detail": Address("club.view_private", build),
    # the bench
    "run-list": Address("club.use_bench", car_with_runs),
    "run-create": Address("club.use_bench", car),
    "run-compare": Address("club.use_bench", car_with_runs, asks=two_runs),
    "run-detail": Address("club.use_bench", run),
    "run-edit": Address("club.use_bench", run),
    # the bench
    "bench": Address("club.use_bench"),
    "bench-sheet-create": Address("club.use_bench", car),
    "bench-sheet-echo": Address("club.use_bench", car, posts=True),
    "bench-sheet-detail": Address("club.use_bench", bench_sheet),
    "bench-sheet-compare": Address("club.use_bench", bench_sheet),
    "bench-sheet-cure": Address("club.use_bench", bench_sheet, posts=True),
    "bench-sheet-declare": Address("club.manage_cars", bench_sheet, posts=True),
    "prep-template-list": Address("club.use_bench"),
    "prep-template-create": Address("club.use_bench"),
    "prep-template-edit": Address("club.use_bench", newest(PrepTemplate)),
    "prep-sheet": Address("club.use_bench", bench_sheet),
    "lap-prediction": Address("club.use_bench", bench_sheet),
    "planner": Address("club.use_bench", bench_sheet),
    "planner-print": Address("club.use_bench", bench_sheet),
    "planner-take": Address("club.use_bench", bench_sheet, posts=True),
    "prep-print": Address("club.use_bench", bench_sheet),
    "chassis-list": Address("club.use_bench"),
    "chassis-create": Address("club.use_bench"),
    "chassis-echo": Address("club.use_bench", posts=True),
    "chassis-detail": Address("club.use_bench", chassis),
    "chassis-edit": Address("club.use_bench", chassis),
    # parts
    "part-list": Address("club.view_private"),
    "part-create": Address("club.use_bench"),
    "part-echo": Address("club.use_bench", posts=True),
    "part-import": Address("club.use_bench"),
    "part-export": Address("club.view_private", asks=lambda club: {"export": "csv"}),
    "part-detail": Address("club.view_private", newest(Part)),
    "part-edit": Address("club.use_bench", newest(Part)),
    "part-stock": Address("club.use_bench", newest(Part), posts=True),
    "motor-list": Address("club.view_private"),
    "motor-create": Address("club.use_bench"),
    "motor-detail": Address("club.view_private", newest(MotorUnit)),
    "motor-edit": Address("club.use_bench", newest(MotorUnit)),
    "motor-test-create": Address("club.use_bench", newest(MotorUnit), posts=True),
    "shopping-list": Address("club.view_private", asks=first_class),
    "shopping-print": Address("club.view_private", asks=first_class),
    # work for somebody
    "job-list": Address("club.keep_shop"),
    "job-create": Address("club.keep_shop"),
    "job-detail": Address("club.keep_shop", newest(JobTicket)),
    "job-edit": Address("club.keep_shop", newest(JobTicket)),
    "job-line-create": Address("club.keep_shop", newest(JobTicket), posts=True),
    "job-line-take-back": Address("club.keep_shop", newest(JobLine), posts=True),
    "job-state": Address("club.keep_shop", newest(JobTicket), posts=True),
    "job-print": Address("club.keep_shop", newest(JobTicket)),
    # gauges and characteristics
    "gauge-list": Address("club.manage_gauges"),
    "gauge-create": Address("club.manage_gauges"),
    "gauge-edit": Address("club.manage_gauges", gauge),
    "gauge-retire": Address("club.manage_gauges", gauge, posts=True),
    "gauge-detail": Address("club.inspect", gauge),
    "gauge-print": Address("club.inspect"),
    "gauge-label-print": Address("club.inspect"),
    "study-create": Address("club.inspect", gauge),
    "study-detail": Address("club.inspect", study),
    "study-measure": Address("club.inspect", study),
    "study-adopt": Address("club.manage_gauges", study, posts=True),
    "study-release": Address("club.manage_gauges", study, posts=True),
    "study-discard": Address("club.inspect", study, posts=True),
    "study-blank-print": Address("club.inspect", study),
    "characteristic-list": Address("club.view_private"),
    "characteristic-create": Address("club.write_rules"),
    "characteristic-install": Address("club.write_rules", posts=True),
    "characteristic-edit": Address("club.write_rules", characteristic),
    # lists that sheets share
    "choicelist-list": Address(PUBLIC),
    "choicelist-create": Address("club.write_rules"),
    "choicelist-detail": Address(PUBLIC, choice_list),
    "choicelist-edit": Address("club.write_rules", choice_list),
    # rule sheets
    "rulesheet-list": Address(PUBLIC),
    "rulesheet-create": Address("club.write_rules"),
    "rulesheet-import": Address("club.write_rules"),
    "rulesheet-detail": Address(PUBLIC, sheet, status=302),
    "rulesheet-export": Address(PUBLIC, sheet),
    "rulesheet-draft": Address("club.write_rules", sheet, posts=True),
    "revision-detail": Address(PUBLIC, revision),
    "revision-edit": Address("club.write_rules", draft),
    "revision-publish": Address("club.write_rules", draft_to_publish),
    "revision-discard": Address("club.write_rules", draft),
    "revision-compare": Address(PUBLIC, revision_after_another),
    "comparison-print": Address(PUBLIC, revision_after_another),
    "revision-print": Address(PUBLIC, revision),
    "ruling-create": Address("club.write_rules", clause_in_force),
    "clause-create": Address("club.write_rules", draft),
    "clause-echo": Address("club.write_rules", draft, posts=True),
    "clause-edit": Address("club.write_rules", clause_of_draft),
    "clause-delete": Address("club.write_rules", clause_of_draft),
    "clause-strike": Address("club.write_rules", clause_of_general, posts=True),
    "clause-move": Address("club.write_rules", clause_of_draft, posts=True),
    # tech
    "occasion-list": Address(MEMBER),
    "occasion-create": Address("club.inspect"),
    "occasion-detail": Address(MEMBER, occasion),
    "inspection-open": Address("club.inspect", occasion, posts=True),
    "inspection-detail": Address(MEMBER, card),
    "finding-record": Address("club.inspect", card, posts=True),
    "finding-assess": Address("club.inspect", card, asks=clause_of_card),
    "finding-rule": Address("club.inspect", card, posts=True),
    "inspection-sign": Address("club.inspect", card, posts=True),
    "inspection-again": Address("club.inspect", card),
    "inspection-impound": Address("club.inspect", card, posts=True),
    "touch-create": Address("club.inspect", card),
    "notice-detail": Address(MEMBER, card),
    "notice-print": Address(MEMBER, card),
    "report-print": Address(MEMBER, card),
    "photo-list": Address(MEMBER, card),
    "photo-detail": Address(MEMBER, photo),
    "inspection-take-up": Address("club.inspect", card, posts=True),
    "card-print": Address(MEMBER, card),
    "cards-print": Address("club.inspect", occasion),
    "card-blank-print": Address("club.inspect", occasion),
    # nights and races
    "event-list": Address(PUBLIC),
    "event-calendar": Address(PUBLIC),
    "event-create": Address("club.plan_events"),
    "event-detail": Address(PUBLIC, event),
    "event-edit": Address("club.plan_events", event),
    "race-create": Address("club.plan_events", event),
    "race-edit": Address("club.plan_events", race),
    "quick-race": Address("club.plan_events"),
    # the desk
    "entry-list": Address(PUBLIC, race),
    "entry-create": Address("club.run_desk", race),
    "entry-move-up": Address("club.run_desk", race, posts=True),
    "entry-print": Address("club.run_desk", race),
    "entry-repeat": Address("club.run_desk", race),
    "entry-detail": Address("club.run_desk", entry),
    "entry-check-in": Address("club.run_desk", entry, posts=True),
    "entry-put-back": Address("club.run_desk", entry, posts=True),
    "entry-no-show": Address("club.run_desk", entry, posts=True),
    "entry-withdraw": Address("club.run_desk", entry),
    "entry-override": Address("club.direct", entry),
    "entry-car": Address("club.run_desk", entry),
    "entry-payment": Address("club.run_desk", entry),
    "payment-take-back": Address("club.run_desk", payment),
    "takings": Address("club.run_desk", event),
    "entry-import": Address("club.run_desk", race),
    "entry-import-confirm": Address("club.run_desk", entry_import),
    # the day
    "club-home": Address(PUBLIC),
    "event-day": Address("club.view_private", event),
    "event-day-part": Address("club.view_private", event),
    "event-fits": Address("club.view_private", event),
    "driver-find": Address(PUBLIC, event),
    "driver-page": Address(PUBLIC, entry),
    "driver-page-part": Address(PUBLIC, entry),
    # heats
    "draw-create": Address("club.run_heats", newest(Race, stages__isnull=True), asks=lambda club: {"seed": 4471}),
    "draw-override": Address("club.direct", entry, posts=True),
    "draw-detail": Address(PUBLIC, draw),
    "draw-print": Address(PUBLIC, draw),
    "draw-state": Address(PUBLIC, draw, status=404),
    "group-draw": Address("club.run_heats", newest(Race, stages__isnull=True), asks=lambda club: {"seed": 4471}),
    "running-order": Address(PUBLIC, event),
    "turns-set": Address("club.run_heats", event, posts=True),
    "redraw-create": Address("club.run_heats", race),
    "redraw-plan": Address("club.run_heats", race),
    "redraw-wish": Address("club.run_heats", race, status=302),
    "heat-list": Address(PUBLIC, race),
    "heat-print": Address(PUBLIC, heat_print("wall")),
    "roster-detail": Address(PUBLIC, race),
    "roster-print": Address(PUBLIC, race),
    "roster-anew": Address("club.run_heats", race, posts=True),
    "helper-create": Address("club.run_heats", race, posts=True),
    "helper-release": Address("club.run_heats", helper, posts=True),
    "entry-exempt": Address("club.run_heats", entry, posts=True),
    "entry-marshal-again": Address("club.run_heats", entry, posts=True),
    "duty-missed": Address("club.publish_results", heat, posts=True),
    "heat-run": Address("club.run_heats", heat),
    "heat-command": Address("club.run_heats", heat, posts=True),
    "heat-feed": Address("club.run_heats", heat),
    "heat-laps": Address("club.run_heats", heat),
    "heat-echo": Address("club.run_heats", heat, asks=lambda club: {"lane": 1, "text": "18"}),
    "heat-drove": Address("club.run_heats", heat),
    "heat-board": Address(PUBLIC, event),
    "heat-board-feed": Address(PUBLIC, event),
    # results and seasons
    "result-detail": Address(PUBLIC, race),
    "result-preview": Address("club.publish_results", race),
    "result-publish": Address("club.publish_results", race, posts=True),
    "result-correct": Address("club.publish_results", race),
    "result-print": Address(PUBLIC, race),
    "penalty-create": Address("club.publish_results", race),
    "techcall-detail": Address(MEMBER, race),
    "techcall-create": Address("club.publish_results", race),
    "techcall-print": Address(MEMBER, race),
    "finding-dismiss": Address("club.publish_results", race),
    "finding-confirm": Address("club.publish_results", race),
    "penalty-withdraw": Address("club.publish_results", penalty),
    "season-list": Address(PUBLIC),
    "season-create": Address("club.plan_events"),
    "season-detail": Address(PUBLIC, season),
    "season-print": Address(PUBLIC, season),
    "round-create": Address("club.plan_events", season),
    "round-remove": Address("club.plan_events", season_round, posts=True),
}

# Without a club in the address: open to everybody, or to whoever is signed in.
OUTSIDE_CLUBS: dict[str, str] = {
    "home": PUBLIC,
    "first-run": PUBLIC,
    "sign-in": PUBLIC,
    "sign-out": MEMBER,
    "car-schema": PUBLIC,
    "rule-sheet-schema": PUBLIC,
    "password-change": MEMBER,
}


def names_of_all() -> list[str]:
    """The names of all addresses that the project answers."""

    def walk(found: list[Any]) -> list[str]:
        names: list[str] = []
        for each in found:
            if isinstance(each, URLResolver):
                names += walk(each.url_patterns)
            elif isinstance(each, URLPattern):
                names.append(each.name or str(each.pattern))
        return names

    return walk(get_resolver().url_patterns)


def url_of(name: str, club: Club) -> str:
    address = ADDRESSES[name]
    path = reverse(name, kwargs={"club": club.slug, **address.values(club)})
    query = urlencode(address.asks(club))
    return f"{path}?{query}" if query else path

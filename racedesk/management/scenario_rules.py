"""What the invented club prepares for next year: a list of motors, and a class sheet upon a general one, as a draft."""

from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list, revise_choice_list
from inspection.clauses.services import add_clause
from inspection.conformity.clauses import Comparator
from inspection.contents.selectors import ClauseContent, Requirement, version_of
from inspection.exchange.services import class_named, create_rule_sheet
from inspection.gauges.selectors import characteristics_of, read_typed
from inspection.rulesheets.services import change_draft
from inspection.units import Kind
from racedesk.management.scenario_club import World

MOTORS = ("Wren 18", "Finch 20", "Finch 21", "Plover 19")


def prepare_next_year(world: World) -> None:
    """The motors, revised once, and a class for them that builds on the sheet of the newcomers."""
    director = world.users["director"]
    world.go_to(world.days_ago(20), "20:10")
    entries = [EntryContent(value=name) for name in MOTORS]
    motors = create_choice_list(club=world.club, name="Motors for club racing", entries=entries, by=director)
    world.clock.forward(600)
    announced = EntryContent(value="Lark 20", allowed_from=world.tonight.replace(month=12, day=31), note="announced")
    revise_choice_list(
        choice_list=motors.choice_list,
        entries=[*entries, announced],
        change_note="One more maker, from the end of the year.",
        based_on=1,
        by=director,
    )
    draft = create_rule_sheet(club=world.club, name="Open Motors 1:32", by=director)
    change_draft(
        revision=draft,
        name=draft.rule_sheet.name,
        racing_class=class_named(club=world.club, name="Open Motors 1:32", scale="1:32"),
        preamble="For talking over before the year begins.",
        parent=world.sheets["loan"],
        version=version_of(draft),
        by=director,
    )
    register = {one.code: one for one in characteristics_of(world.club)}
    speed = Requirement(
        characteristic=register["motor-speed"],
        measuring_point="motor alone, at 12 V",
        comparator=Comparator.AT_MOST,
        upper=read_typed("21000 rpm", kind=Kind.ROTATION_SPEED),
    )
    listed = Requirement(
        characteristic=register["motor-type"], comparator=Comparator.ONE_OF, choice_list=motors.choice_list
    )
    content = ClauseContent(
        number="50",
        text="The motor is on the club's list, or turns no faster than 21,000 rpm at 12 V.",
        comparator=Comparator.ANY_OF,
        parts=(listed, speed),
        phases=("before",),
    )
    add_clause(revision=draft, content=content, by=director)

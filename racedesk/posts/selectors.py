"""Read what marshal rosters rest on: posts, helpers who hold them, who is exempt, and which duties were missed."""

from collections.abc import Sequence
from dataclasses import dataclass

from inspection.models import MarshalPost
from racedesk.entries.selectors import RACING
from racedesk.models import Entry, MarshalHelper, Penalty, Race
from racedesk.rotation.marshals import Roster, roster
from racedesk.rotation.plan import Plan


def is_junior(entry: Entry) -> bool:
    """Is a junior among its drivers? No query when drivers were fetched along."""
    return any(each.driver.is_junior for each in entry.drivers.all())


def helpers_of(race: Race) -> list[MarshalHelper]:
    """Everybody who holds or held a post of tonight's track without racing, by post. One query."""
    helpers = race.helpers.filter(post__layout=race.event.track_layout_id).select_related("post")
    return list(helpers.order_by("post__number", "first_heat"))


def standing_helpers(race: Race) -> dict[int, MarshalHelper]:
    """Those who hold a post from now on, by the post's id. One query."""
    return {helper.post_id: helper for helper in helpers_of(race) if helper.last_heat is None}


def holds(helper: MarshalHelper, heat: int) -> bool:
    """Is the helper at the post in the heat of this number?"""
    return helper.first_heat <= heat and (helper.last_heat is None or heat <= helper.last_heat)


@dataclass(frozen=True, slots=True)
class Before:
    """What was before the heats of a roster, by the roster's numbers of drivers.

    just_driven: who drove in the heat before its first. served: how many duties each has had.
    """

    just_driven: tuple[int, ...] = ()
    served: tuple[tuple[int, int], ...] = ()


def race_roster(race: Race, plan: Plan, entries: Sequence[Entry], before: Before | None = None) -> Roster:
    """Who stands at which post of the track of the night in each heat of a plan: as rotation.marshals.roster.

    Driver 1 is the first of `entries`, and so on. Who is exempt or has left does not marshal; posts that a helper
    holds stay None. Two queries.
    """
    posts: list[MarshalPost] = list(race.event.track_layout.posts.all())
    held = standing_helpers(race)
    before = before or Before()
    numbered = list(enumerate(entries, start=1))
    return roster(
        plan,
        posts=len(posts),
        posts_adults=[post.adults_only for post in posts],
        posts_held=[post.pk in held for post in posts],
        exempt=[number for number, entry in numbered if entry.no_duty_reason or entry.state not in RACING],
        juniors=[number for number, entry in numbered if is_junior(entry)],
        just_driven=before.just_driven,
        served=dict(before.served),
    )


def missed_in(race: Race) -> dict[tuple[int, int], Penalty]:
    """Penalties for missed duties that stand, by entry and heat. One query."""
    given = race.penalties.filter(missed_heat__isnull=False, withdrawn_at__isnull=True)
    return {(each.entry_id, each.missed_heat_id): each for each in given}

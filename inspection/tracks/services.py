"""Enter tracks and give them layouts. A layout is never changed: a change is a new revision."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from inspection.clubs.errors import Refused
from inspection.clubs.services import hold_club, write_log
from inspection.models import Club, Lane, MarshalPost, Track, TrackLayout, User
from inspection.tracks.errors import (
    LaneNumberTwice,
    LaneOrderWrong,
    LanesMissing,
    LayoutChangedMeanwhile,
    PostNumberTwice,
    TrackChangedMeanwhile,
    TrackNameTaken,
)
from inspection.tracks.selectors import track_version, usual_lane_order


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneContent:
    """A lane as the form gives it. length_m in meters; offset_mm from the middle of the track, to the left positive."""

    number: int
    name: str
    color: str
    length_m: Decimal | None = None
    offset_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PostContent:
    """A marshal post as the form gives it."""

    number: int
    name: str
    adults_only: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutContent:
    """A layout as the form gives it. Units stand in the names; an empty lane order means the usual one.

    sections: in the order driven, as TrackLayout keeps them.
    """

    lanes: tuple[LaneContent, ...]
    posts: tuple[PostContent, ...] = ()
    lane_order: tuple[int, ...] = ()
    change_note: str = ""
    direction: str = TrackLayout.Direction.CLOCKWISE
    divisor: int = 20
    slot_depth_mm: Decimal | None = None
    slot_width_mm: Decimal | None = None
    lane_spacing_mm: Decimal | None = None
    conductor_height_mm: Decimal | None = None
    sections: tuple[Mapping[str, str], ...] = ()
    surface: str = ""
    tire_treatment: str = ""
    positive_side: str = ""
    hookup: str = ""
    voltage_v: Decimal | None = None
    fuse_a: Decimal | None = None
    supply_a: Decimal | None = None


_PLAIN = tuple(
    one.name for one in fields(LayoutContent) if one.name not in {"lanes", "posts", "lane_order", "sections"}
)


@transaction.atomic
def create_track(*, club: Club, name: str, content: LayoutContent, by: User | None) -> Track:
    """A new track with its layout 1.

    Refuses a name the club has (TrackNameTaken) and what `add_layout` refuses.
    """
    _check_name(club, name, track=None)
    track = Track.objects.create(club=club, name=name)
    write_log(club=club, action="entered track", subject=track, by=by)
    _make_layout(track, 1, content, by)
    return track


@transaction.atomic
def change_track(*, track: Track, name: str, is_active: bool, version: str, by: User | None) -> Track:
    """Rename a track, retire it or take it into use again.

    version: `track_version` of what the form showed. Refuses when somebody saved meanwhile (TrackChangedMeanwhile) and
    a name the club has (TrackNameTaken).
    """
    track = Track.objects.hold(track.pk)
    if version != track_version(track):
        raise TrackChangedMeanwhile(who=_("Somebody"))
    _check_name(track.club, name, track=track)
    track.name = name
    track.is_active = is_active
    track.save(update_fields=["name", "is_active"])
    write_log(club=track.club, action="changed track", subject=track, by=by, is_active=is_active)
    return track


@transaction.atomic
def add_layout(*, track: Track, content: LayoutContent, based_on: int, by: User | None) -> TrackLayout:
    """The track's next layout. What was raced on an older one keeps pointing at it.

    based_on: the number of the layout that the form showed. Refuses when somebody has added one meanwhile
    (LayoutChangedMeanwhile), a layout without lanes (LanesMissing), a number given twice (LaneNumberTwice,
    PostNumberTwice), and a lane order that is not each lane once (LaneOrderWrong).
    """
    Track.objects.hold(track.pk)
    newest = track.layouts.aggregate(number=Max("number"))["number"] or 0
    if newest != based_on:
        raise LayoutChangedMeanwhile(who=_("Somebody"))
    return _make_layout(track, newest + 1, content, by)


def _make_layout(track: Track, number: int, content: LayoutContent, by: User | None) -> TrackLayout:
    numbers = [lane.number for lane in content.lanes]
    if not numbers:
        raise LanesMissing
    _check_once(numbers, LaneNumberTwice)
    _check_once([post.number for post in content.posts], PostNumberTwice)
    order = list(content.lane_order) or usual_lane_order(numbers)
    if sorted(order) != sorted(numbers):
        raise LaneOrderWrong(lanes=" ".join(str(one) for one in sorted(numbers)))
    plain = {name: getattr(content, name) for name in _PLAIN}
    sections = [dict(section) for section in content.sections]
    layout = TrackLayout.objects.create(track=track, number=number, lane_order=order, sections=sections, **plain)
    Lane.objects.bulk_create(Lane(layout=layout, **asdict(lane)) for lane in content.lanes)
    MarshalPost.objects.bulk_create(MarshalPost(layout=layout, **asdict(post)) for post in content.posts)
    write_log(club=track.club, action="added layout", subject=layout, by=by, reason=content.change_note)
    return layout


def _check_once(numbers: Iterable[int], refusal: type[Refused]) -> None:
    seen: set[int] = set()
    for number in numbers:
        if number in seen:
            raise refusal(number=number)
        seen.add(number)


def _check_name(club: Club, name: str, *, track: Track | None) -> None:
    hold_club(club)
    taken = Track.objects.of(club).filter(name__iexact=name)
    if taken.exclude(pk=track.pk if track else None).exists():
        raise TrackNameTaken(name=name)

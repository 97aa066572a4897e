"""A track's layouts are revisions: each is added, none is changed."""

from decimal import Decimal

import pytest

from inspection.models import LogEntry, TrackLayout
from inspection.tracks import services
from inspection.tracks.errors import (
    LaneNumberTwice,
    LaneOrderWrong,
    LanesMissing,
    LayoutChangedMeanwhile,
    PostNumberTwice,
    TrackNameTaken,
)
from inspection.tracks.selectors import track_version, usual_colors, usual_lane_order
from inspection.tracks.services import LaneContent, LayoutContent, PostContent
from tests import factories

pytestmark = pytest.mark.django_db


def lanes(*numbers):
    return tuple(LaneContent(number=number, name=f"Lane {number}", color="#c8202f") for number in numbers)


def content(**changes):
    return LayoutContent(**{"lanes": lanes(1, 2, 3, 4)} | changes)


def test_a_new_track_has_layout_one_with_its_lanes_and_posts():
    club = factories.club()
    posts = (PostContent(number=1, name="Bridge"), PostContent(number=2, name="Hairpin", adults_only=True))

    track = services.create_track(
        club=club, name="Main", content=content(posts=posts, slot_depth_mm=Decimal("6.350"), divisor=24), by=None
    )

    layout = TrackLayout.objects.of(club).get()
    assert (layout.track, layout.number, layout.divisor, layout.slot_depth_mm) == (track, 1, 24, Decimal("6.350"))
    assert [str(lane) for lane in layout.lanes.all()] == ["1 Lane 1", "2 Lane 2", "3 Lane 3", "4 Lane 4"]
    assert [(str(post), post.adults_only) for post in layout.posts.all()] == [("1 Bridge", False), ("2 Hairpin", True)]
    assert list(LogEntry.objects.of(club).order_by("id").values_list("action", flat=True)) == [
        "entered track",
        "added layout",
    ]


def test_without_a_lane_order_the_usual_one_holds():
    track = services.create_track(
        club=factories.club(), name="Main", content=content(lanes=lanes(*range(1, 7))), by=None
    )

    assert track.layouts.get().lane_order == [1, 3, 5, 6, 4, 2]


@pytest.mark.parametrize(
    ("numbers", "order"),
    [([1], [1]), ([1, 2], [1, 2]), ([4, 2, 3, 1], [1, 3, 4, 2]), (range(1, 9), [1, 3, 5, 7, 8, 6, 4, 2])],
)
def test_the_usual_order_never_jumps_more_than_two_lanes(numbers, order):
    found = usual_lane_order(numbers)

    assert found == order
    assert all(abs(a - b) <= 2 for a, b in zip(found, found[1:] + found[:1], strict=True))


def test_a_new_layout_leaves_the_old_one_as_it_was():
    track = services.create_track(club=factories.club(), name="Main", content=content(), by=None)
    old = track.layouts.get()

    new = services.add_layout(
        track=track, content=content(lanes=lanes(1, 2), change_note="two lanes closed"), based_on=1, by=None
    )

    assert (new.number, new.lanes.count()) == (2, 2)
    assert old.lanes.count() == 4
    assert LogEntry.objects.first().reason == "two lanes closed"


def test_two_people_adding_a_layout_the_second_is_told():
    track = services.create_track(club=factories.club(), name="Main", content=content(), by=None)
    services.add_layout(track=track, content=content(), based_on=1, by=None)

    with pytest.raises(LayoutChangedMeanwhile):
        services.add_layout(track=track, content=content(), based_on=1, by=None)
    assert track.layouts.count() == 2


@pytest.mark.parametrize(
    ("changes", "refusal"),
    [
        ({"lanes": ()}, LanesMissing),
        ({"lanes": lanes(1, 2, 2)}, LaneNumberTwice),
        ({"posts": (PostContent(number=1, name="A"), PostContent(number=1, name="B"))}, PostNumberTwice),
        ({"lane_order": (1, 2, 3)}, LaneOrderWrong),
        ({"lane_order": (1, 2, 3, 5)}, LaneOrderWrong),
        ({"lane_order": (1, 2, 3, 4, 4)}, LaneOrderWrong),
    ],
)
def test_a_layout_that_no_track_can_have_is_refused_and_leaves_nothing(changes, refusal):
    club = factories.club()

    with pytest.raises(refusal):
        services.create_track(club=club, name="Main", content=content(**changes), by=None)
    assert not TrackLayout.objects.exists()


def test_a_club_has_each_track_name_once_whatever_its_case():
    club = factories.club()
    track = services.create_track(club=club, name="Main", content=content(), by=None)
    other = services.create_track(club=club, name="Oval", content=content(), by=None)

    with pytest.raises(TrackNameTaken):
        services.create_track(club=club, name="MAIN", content=content(), by=None)
    with pytest.raises(TrackNameTaken):
        services.change_track(track=other, name="main", is_active=True, version=track_version(other), by=None)
    services.change_track(track=track, name="main", is_active=False, version=track_version(track), by=None)
    track.refresh_from_db()
    assert (track.name, track.is_active) == ("main", False)


def test_another_club_may_use_the_name():
    services.create_track(club=factories.club(), name="Main", content=content(), by=None)

    services.create_track(club=factories.club(), name="Main", content=content(), by=None)


def test_lanes_get_the_color_their_name_says_and_the_rest_one_of_their_own():
    assert usual_colors(["red", "Outer", "WHITE", "Inner"]) == ["#c8202f", "#1d55b5", "#ffffff", "#1b8346"]
    assert len(set(usual_colors([f"Lane {n}" for n in range(8)]))) == 8

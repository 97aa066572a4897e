"""Tracks as people see and enter them."""

import re

import pytest
from django.urls import reverse

from inspection.models import Role, Track, TrackLayout
from tests import factories
from tests.page_forms import form_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club(slug="quarry")


@pytest.fixture
def director(club, client):
    who = factories.member(club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def fields_of(html):
    """What a browser would send back from the page as it stands."""
    form = html.split('id="layout"')[1].split("</form>")[0]
    form = re.sub(r"<template.*?</template>", "", form, flags=re.DOTALL)
    data = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name = re.search(r'name="([^"]+)"', tag)
        value = re.search(r'value="([^"]*)"', tag)
        is_off = 'type="checkbox"' in tag and "checked" not in tag
        if name and not is_off:
            data[name[1]] = value[1] if value else ""
    for name, body in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', form, flags=re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', body) or re.search(r'value="([^"]*)"', body)
        data[name] = chosen[1]
    return data


def test_a_track_is_entered_with_its_usual_lanes_by_its_name_alone(client, club, director):
    address = reverse("track-create", args=["quarry"])
    data = fields_of(client.get(address).content.decode())

    response = client.post(address, data | {"name": "Main"})

    track = Track.objects.of(club).get()
    assert response.url == reverse("track-detail", args=["quarry", track.public_id])
    assert [lane.name for lane in track.layouts.get().lanes.all()] == [
        *("White", "Red", "Blue", "Green", "Yellow", "Black")
    ]
    assert track.layouts.get().posts.count() == 0


def test_a_new_layout_starts_from_the_current_one_and_changes_what_was_typed(client, club, director):
    layout = factories.track_layout(club, lanes=3, posts=2)
    address = reverse("layout-create", args=["quarry", layout.track.public_id])
    data = fields_of(client.get(address).content.decode())

    client.post(address, data | {"lane-1-name": "Crimson", "post-1-name": "", "change_note": "repainted"})

    new = layout.track.layouts.first()
    assert (new.number, new.change_note) == (2, "repainted")
    assert [(lane.name, lane.color, lane.length_m) for lane in new.lanes.all()] == [
        ("White" if lane.number == 1 else "Crimson" if lane.number == 2 else lane.name, lane.color, lane.length_m)
        for lane in layout.lanes.all()
    ]
    assert [post.name for post in new.posts.all()] == ["Post 1"]
    assert [lane.name for lane in layout.lanes.all()] == ["White", "Red", "Blue"]


def test_what_cannot_be_keeps_what_was_typed(client, club, director):
    address = reverse("track-create", args=["quarry"])
    data = fields_of(client.get(address).content.decode())

    response = client.post(address, data | {"name": "Main", "lane_order": "1 2", "hookup": "three posts"})

    assert response.status_code == 422
    assert "each lane once" in response.content.decode()
    assert 'value="three posts"' in response.content.decode()
    assert not Track.objects.exists()


def test_a_layout_added_meanwhile_is_told(client, club, director):
    layout = factories.track_layout(club, lanes=2)
    address = reverse("layout-create", args=["quarry", layout.track.public_id])
    data = fields_of(client.get(address).content.decode())
    client.post(address, data)

    response = client.post(address, data)

    assert response.status_code == 422
    assert "since you opened it" in response.content.decode()
    assert layout.track.layouts.count() == 2


def test_the_track_page_shows_lanes_posts_power_and_cautions(client, club, director):
    layout = factories.track_layout(club, fuse_a="5", slot_depth_mm="6.35")

    text = client.get(reverse("track-detail", args=["quarry", layout.track.public_id])).content.decode()

    for words in ("White", "21.50 m (70.54 ft)", "Post 1", "6.35 mm (0.250 in)", "5.00 A", "Hands clear", "qualified"):
        assert words in text
    assert "Local codes" in text


def test_a_fuse_not_written_down_says_look(client, club, director):
    layout = factories.track_layout(club)

    text = client.get(reverse("track-detail", args=["quarry", layout.track.public_id])).content.decode()

    assert "not written down: look before you race" in text


def test_an_older_layout_can_still_be_seen(client, club, director):
    layout = factories.track_layout(club, lanes=2)
    TrackLayout.objects.create(track=layout.track, number=2, change_note="now four lanes")

    text = client.get(reverse("layout-detail", args=["quarry", layout.public_id])).content.decode()

    assert "Layout 1, since" in text
    assert "now four lanes" in text


def test_a_track_is_renamed_and_retired(client, club, director):
    track = factories.track_layout(club).track

    address = reverse("track-edit", args=["quarry", track.public_id])
    form_on(client.get(address), "track").send(client, name="Old oval", is_active=None)

    track.refresh_from_db()
    assert (track.name, track.is_active) == ("Old oval", False)
    assert "retired" in client.get(reverse("track-list", args=["quarry"])).content.decode()


def test_the_list_asks_the_same_number_of_questions_however_long(client, club, director, django_assert_max_num_queries):
    for _ in range(30):
        factories.track_layout(club)

    with django_assert_max_num_queries(9):
        text = client.get(reverse("track-list", args=["quarry"])).content.decode()

    assert text.count("Yellow") == 30


def test_a_club_without_a_track_is_told_what_to_do(client, club, director):
    text = client.get(reverse("track-list", args=["quarry"])).content.decode()

    assert "No track yet" in text
    assert reverse("track-create", args=["quarry"]) in text


@pytest.mark.parametrize("role", [Role.ENTRY_DESK, Role.DRIVER, Role.TECH_INSPECTOR])
def test_others_see_tracks_but_enter_none(client, club, role):
    client.force_login(factories.member(club, role))
    track = factories.track_layout(club).track

    page = client.get(reverse("track-detail", args=["quarry", track.public_id]))

    assert page.status_code == 200
    assert "New layout" not in page.content.decode()
    for name, args in (("track-create", []), ("layout-create", [track.public_id]), ("track-edit", [track.public_id])):
        assert client.get(reverse(name, args=["quarry", *args])).status_code == 403


def test_another_clubs_track_is_not_there(client, club, director):
    track = factories.track_layout(factories.club()).track

    for name in ("track-detail", "track-edit", "layout-create"):
        assert client.get(reverse(name, args=["quarry", track.public_id])).status_code == 404


# Straights and curves.


def typed_layout(client, url):
    """What a browser would send of the layout page as it stands."""
    forms = client.get(url).context["forms"]
    data = {}
    for formset in (forms.lanes, forms.posts, forms.sections):
        data |= {field.html_name: field.value() for field in formset.management_form}
        for form in formset:
            data |= {field.html_name: field.value() for field in form if field.value() not in (None, False)}
    return data | {field.html_name: field.value() for field in forms.layout if field.value() is not None}


OVAL = {
    "section-0-length": "2", "section-1-radius": "500", "section-1-angle": "180", "section-1-turn": "left",
    "section-2-length": "2", "section-3-radius": "500", "section-3-angle": "180", "section-3-turn": "left",
    "lane-0-offset_mm": "50", "lane-1-offset_mm": "-50",
}  # fmt: skip


def test_what_follows_from_sections_is_seen_without_saving(client, db):
    club = factories.club()
    layout = factories.track_layout(club, lanes=2)
    client.force_login(factories.member(club))
    url = reverse("layout-create", args=[club.slug, layout.track.public_id])

    page = client.post(url, typed_layout(client, url) | OVAL | {"work_out": "yes"})

    assert page.status_code == 200
    text = page.content.decode()
    assert "The track closes." in text
    assert "6.83 m" in text
    assert text.count("plan-lane") == 2
    assert layout.track.layouts.count() == 1


def test_a_new_layout_keeps_the_sections_of_the_one_it_starts_from(client, db):
    club = factories.club()
    layout = factories.track_layout(club, lanes=2)
    client.force_login(factories.member(club))
    url = reverse("layout-create", args=[club.slug, layout.track.public_id])
    client.post(url, typed_layout(client, url) | OVAL)

    client.post(url, typed_layout(client, url) | {"change_note": "new braid"})

    second, third = layout.track.layouts.order_by("number")[1:]
    assert third.sections == second.sections == [
        {"length": "2 m"}, {"radius": "500 mm", "angle": "180", "turn": "left"},
        {"length": "2 m"}, {"radius": "500 mm", "angle": "180", "turn": "left"},
    ]  # fmt: skip
    assert [lane.offset_mm for lane in third.lanes.all()] == [50, -50]
    page = client.get(reverse("track-detail", args=[club.slug, layout.track.public_id])).content.decode()
    assert "From above" in page

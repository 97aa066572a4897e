"""The balance report: what is said of a draw, beside what, and the picture of who meets whom."""

import pytest
from django.urls import reverse

from racedesk.draws.documents import draw_names, fairness
from racedesk.draws.pictures import meetings_picture
from racedesk.models import Draw
from tests import race_factories

pytestmark = pytest.mark.django_db


def made_of(drivers, preset="opponents"):
    race = race_factories.race()
    race_factories.entries(race, drivers)
    race_factories.drawn(race, preset=preset)
    return Draw.objects.select_related("stage__race__event__track_layout").get(stage__race=race)


def report_of(draw):
    return fairness(draw, draw_names(draw))


def figure(found, label):
    return next((row.own, *row.presets) for row in found.figures if row.label == label)


@pytest.mark.parametrize(
    ("drivers", "preset", "sentence"),
    [
        # The track has six lanes. 31 drivers: the difference set of Singer, every pair meets once.
        (31, "opponents", "No draw can spread the meetings more evenly."),
        (31, "opponents", "any two heats share exactly 1 drivers (the dual of a symmetric design): so 30 runs"),
        # 14: at the bound, and so is no usual queue.
        (14, "opponents", "heats always share drivers: opponents and rest cannot both be had"),
        (14, "usual", "above the bound; the draw for opponents of this size meets it."),
        # 30 on 6 is an open row of the table.
        (30, "opponents", "The best draw known, 18 above the bound; whether a better one exists is not known."),
        (10, "rest", "Two heats on end share at least 2 drivers"),
        (4, "usual", "odd lanes up, even lanes down puts every pair side by side exactly 2 times."),
    ],
)
def test_what_is_proven_is_said(drivers, preset, sentence):
    assert sentence in " ".join(report_of(made_of(drivers, preset)).verdicts)


def test_no_more_than_what_is_proven_is_said():
    words = " ".join(report_of(made_of(14, "usual")).verdicts)
    assert "No draw can" not in words
    assert "side by side" not in words


def test_the_presets_stand_beside_it_as_they_would_be_drawn():
    found = {preset: report_of(made_of(14, preset)) for preset in ("usual", "opponents", "rest")}
    for place, (_preset, each) in enumerate(found.items(), start=1):
        for row in each.figures:
            assert row.own == row.presets[place - 1]
    assert figure(found["usual"], "Pairs that never meet")[0] != "0"
    assert figure(found["opponents"], "Fewest and most meetings of a pair")[0] == "2, 3"
    assert figure(found["rest"], "Back to back, all drivers together")[0] == "0"


def test_each_driver_has_the_longest_wait_and_an_old_draw_says_nothing_of_it():
    draw = made_of(14)
    people = report_of(draw).people
    assert max(each.longest_wait for each in people) == draw.report["longest_wait"]
    assert sum(each.back_to_back for each in people) == draw.report["back_to_back"]
    del draw.report["waits"]
    assert {each.longest_wait for each in report_of(draw).people} == {None}


def test_what_is_no_rotation_of_the_field_is_compared_with_none():
    draw = made_of(14)
    draw.report["redraw"] = {"owed": []}
    found = report_of(draw)
    assert found.presets == ()
    assert all(row.presets == () for row in found.figures)
    assert "Counted over the whole night" in found.verdicts[0]


def test_the_picture_has_a_square_for_every_two_and_frames_pairs_that_never_meet():
    draw = made_of(14, "usual")
    picture = meetings_picture(draw.report)
    squares = {shade.times: shade.path.count("M") for shade in picture.shades}
    assert sum(squares.values()) == 14 * 13
    assert squares[0] == 2 * draw.report["never_meet"] > 0
    levels = [shade.level for shade in picture.shades]
    assert levels == sorted(levels)
    assert (levels[0], levels[-1], levels.count(0)) == (0, 5, 1)


def test_no_picture_of_more_drivers_than_can_be_told_apart():
    assert meetings_picture({"meetings": [[0] * 61] * 61, "seats": list(range(61))}) is None


def test_page_and_paper_say_the_same(client):
    draw = made_of(14)
    club = draw.stage.race.event.club
    for name, query in (("draw-detail", ""), ("draw-print", "?as=page")):
        page = client.get(reverse(name, args=[club.slug, draw.public_id]) + query)
        assert page.status_code == 200
        if page["Content-Type"].startswith("text/html"):
            for sentence in report_of(draw).verdicts:
                assert sentence in page.content.decode()

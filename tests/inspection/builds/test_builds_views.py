"""The build sheet: typed as people type, asked when hardly possible, nothing lost, nothing half-saved."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspection.builds.services import declare_build
from inspection.gauges.services import install_register
from inspection.models import Build, Characteristic, Club, DeclaredValue
from tests import factories
from tests.inspection.builds.test_builds_services import content

pytestmark = pytest.mark.django_db


@pytest.fixture
def car(client):
    club = factories.club()
    install_register(club=club, by=None)
    client.force_login(factories.member(club))
    return factories.car(club)


def address(car):
    return reverse("build-create", args=[car.club.slug, car.public_id])


def send(client, car, *, based_on=0, **values):
    """values: by code with underscores; the words of the build as they are."""
    words = {"drive_layout", "motor", "motor_class", "note", "right_as_typed"}
    sent = {key if key in words else f"of-{key.replace('_', '-')}": value for key, value in values.items()}
    return client.post(address(car), sent | {"based_on": str(based_on)})


def stored(car):
    return dict(DeclaredValue.objects.filter(build__car=car).values_list("characteristic__code", "text"))


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("63.4", "63.4 mm"),
        ("63,4 mm", "63.4 mm"),
        ("63.40mm", "63.40 mm"),
        ("2 1/2 in", "2 1/2 in"),
        ('2½"', "2 1/2 in"),
        ("6.34 cm", "6.34 cm"),
    ],
)
def test_a_size_is_read_as_people_type_it_and_kept_as_typed(client, car, typed, kept):
    assert send(client, car, overall_width=typed).status_code == 302

    assert stored(car) == {"overall-width": kept}


@pytest.mark.parametrize(
    ("code", "typed", "words"),
    [
        ("overall_width", "NaN", "is not a number"),
        ("overall_width", "1e999", "without an exponent"),
        ("overall_width", "63.4 g", "is a unit of mass"),
        ("overall_width", "-63.4", "cannot be below 0"),
        ("overall_width", "63.4.1", "one number only"),
        ("weight_ready_to_race", "92 mm", "is a unit of length"),
        ("pinion_teeth", "12.5", "whole number"),
        ("overall_width", "x" * 81, "at most 80 characters"),
    ],
)
def test_what_cannot_be_read_is_refused_at_its_field_and_nothing_is_lost(client, car, code, typed, words):
    answer = send(client, car, motor="Short can", **{code: typed})

    form = answer.context["form"]
    assert answer.status_code == 422
    assert words in str(form.errors[f"of-{code.replace('_', '-')}"])
    assert (form["motor"].value(), form[f"of-{code.replace('_', '-')}"].value()) == ("Short can", typed)
    assert not Build.objects.exists()


def test_a_hardly_possible_size_asks_and_the_tick_saves_it(client, car):
    answer = send(client, car, overall_width="634", motor="Short can")

    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Did you mean 63.40 mm (2.496 in)" in text
    assert "They are right as typed" in text
    assert not Build.objects.exists()
    mark = answer.context["form"].odd_mark
    assert send(client, car, overall_width="634", motor="Short can", right_as_typed=mark).status_code == 302
    assert stored(car) == {"overall-width": "634 mm"}


def test_the_tick_for_one_figure_does_not_hold_for_another(client, car):
    mark = send(client, car, overall_width="634").context["form"].odd_mark

    answer = send(client, car, overall_width="635", right_as_typed=mark)

    assert answer.status_code == 422
    assert not Build.objects.exists()


def test_an_answer_of_yes_or_no_takes_nothing_else(client, car):
    assert send(client, car, windows_clear="perhaps").status_code == 422
    assert send(client, car, windows_clear="yes").status_code == 302
    assert stored(car) == {"windows-clear": "yes"}


def test_the_sheet_starts_as_last_times(client, car):
    declare_build(car=car, content=content(car, motor="S", overall_width="63.40 mm", wheelbase="3 1/8 in"), by=None)

    form = client.get(address(car)).context["form"]

    assert (form["motor"].value(), form["of-overall-width"].value(), form["of-wheelbase"].value()) == (
        "S",
        "63.40",
        "3 1/8 in",
    )
    assert client.get(address(car) + "?copy=none").context["form"]["of-overall-width"].value() == ""


def test_last_times_sheet_sent_back_unchanged_is_refused(client, car):
    declare_build(car=car, content=content(car, motor="S", overall_width="63.40 mm"), by=None)

    answer = send(client, car, based_on=1, motor="S", overall_width="63.40", note="nothing new")

    assert answer.status_code == 409
    assert "Nothing differs from build 1" in answer.content.decode()
    assert answer.context["form"]["note"].value() == "nothing new"


def test_an_empty_sheet_is_refused(client, car):
    assert send(client, car).status_code == 409
    assert not Build.objects.exists()


def test_a_club_that_writes_a_comma_sees_and_types_one(client, car):
    Club.objects.filter(pk=car.club_id).update(decimal_mark=",")
    car.club.refresh_from_db()

    assert send(client, car, overall_width="63,4").status_code == 302

    assert stored(car) == {"overall-width": "63.4 mm"}
    assert client.get(address(car)).context["form"]["of-overall-width"].value() == "63,4"
    build = car.builds.get()
    page = reverse("build-detail", args=[car.club.slug, build.public_id])
    assert "63,40 mm (2,496 in)" in client.get(page).content.decode()


def test_a_bare_number_is_in_the_unit_that_the_gauge_shows(client, car):
    what = Characteristic.objects.get(club=car.club, code="overall-width")
    what.default_gauge.unit = "in"
    what.default_gauge.save()

    send(client, car, overall_width="2.5")

    assert stored(car) == {"overall-width": "2.5 in"}


def test_who_was_overtaken_sees_what_changed_and_can_save_after_all(client, car):
    declare_build(car=car, content=content(car, pinion_teeth="12"), by=None)
    declare_build(car=car, content=content(car, pinion_teeth="11"), by=factories.member(car.club, name="Noor"))

    answer = send(client, car, based_on=1, pinion_teeth="13", motor="mine")

    text = answer.content.decode()
    assert answer.status_code == 409
    assert "Noor has changed this since you opened it" in text
    assert "Pinion: 12 → 11" in text
    form = answer.context["form"]
    assert form["motor"].value() == "mine"
    again = send(client, car, based_on=form["based_on"].value(), pinion_teeth="13", motor="mine")
    assert again.status_code == 302
    assert car.builds.count() == 3


def test_the_echo_says_how_it_is_understood_and_saves_nothing(client, car):
    page = reverse("build-echo", args=[car.club.slug, car.public_id])

    text = client.post(
        page,
        {"of-rear-tire-diameter": "20,4", "of-pinion-teeth": "12", "of-driven-gear-teeth": "32", "of-wheelbase": "NaN"},
    ).content.decode()

    assert '<p data-of="echo-of-rear-tire-diameter">20.40 mm (0.803 in)</p>' in text
    assert '<p data-of="echo-ratio">2.667</p>' in text
    assert '<p data-of="echo-rollout">24.03 mm (0.946 in)</p>' in text  # pi * 20.4 * 12 / 32 = 24.033
    assert not Build.objects.exists()


@pytest.mark.parametrize("teeth", ["0", "", "NaN", "99999"])
def test_gears_that_cannot_be_have_no_ratio_and_break_nothing(client, car, teeth):
    page = reverse("build-echo", args=[car.club.slug, car.public_id])

    answer = client.post(page, {"of-pinion-teeth": teeth, "of-driven-gear-teeth": "0"})

    assert answer.status_code == 200


def test_a_build_shows_what_changed_against_the_one_before(client, car):
    first = declare_build(car=car, content=content(car, motor="S", pinion_teeth="12"), by=None)
    build = declare_build(car=car, content=content(car, motor="S", pinion_teeth="11"), by=None)

    answer = client.get(reverse("build-detail", args=[car.club.slug, build.public_id]))
    old = client.get(reverse("build-detail", args=[car.club.slug, first.public_id]))

    assert [(each.what, each.before, each.now) for each in answer.context["changes"]] == [("Pinion", "12", "11")]
    assert "build 2 came after it" in old.content.decode()
    assert reverse("build-create", args=[car.club.slug, car.public_id]) not in old.content.decode()


def test_a_script_in_a_build_is_shown_as_text(client, car):
    script = "<script>alert(1)</script>"
    send(client, car, motor=script, motor_class=script[:40], note=script, body=script)
    build = car.builds.get()

    for page in (address(car), reverse("build-detail", args=[car.club.slug, build.public_id])):
        text = client.get(page).content.decode()
        assert "<script>alert" not in text
        assert "&lt;script&gt;alert(1)" in text


def test_a_club_without_a_register_still_declares_the_motor(client):
    club = factories.club()
    client.force_login(factories.member(club))
    car = factories.car(club)

    assert "asks for nothing" in client.get(address(car)).content.decode()
    assert send(client, car, motor="Short can").status_code == 302


def test_the_sheet_takes_as_many_queries_for_many_builds(client, car):
    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(address(car)).status_code == 200
        return len(captured)

    declare_build(car=car, content=content(car, pinion_teeth="10"), by=None)
    few = queries()
    for teeth in range(11, 20):
        declare_build(car=car, content=content(car, pinion_teeth=str(teeth), overall_width="63 mm"), by=None)

    assert queries() == few

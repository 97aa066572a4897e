"""The bench on its pages: a build is started, looked at while it grows, saved, cured, compared and declared."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspection.gauges.services import install_register
from inspection.models import BenchSheet, Build, Car, Part, Role
from tests import bench_factories, factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club(db):
    return factories.club()


@pytest.fixture
def signed_in(client, club):
    client.force_login(factories.member(club, Role.OWNER))
    return client


@pytest.fixture
def car(club):
    return factories.car(club, racing_class=factories.racing_class(club))


@pytest.fixture
def drawer(club):
    bench_factories.chassis(club)
    return bench_factories.drawer(club)


def fields_of(form):
    """What a browser would send of a form as it is shown."""
    sent = {name: form[name].value() for name in form.fields}
    sent |= {name: getattr(value, "public_id", value) for name, value in sent.items()}
    for part in (form.ballast.management_form, *form.ballast.forms):
        sent |= {part.add_prefix(name): part[name].value() for name in part.fields}
    return {name: "" if value is None else value for name, value in sent.items()}


def create(car):
    return reverse("bench-sheet-create", args=[car.club.slug, car.public_id])


def chosen(drawer, spur="SPUR-35-19.5"):
    codes = bench_factories.PLACED | {"driven_gear": spur}
    parts = {f"part-{place}": drawer[code].public_id for place, code in codes.items()}
    return parts | {"set-pinion_gap": "0.6", "set-hub_side": "out", "set-rear_end_play": "0.3",
                    "spacer-rear_left_inner": "5", "spacer-rear_right_inner": "0.5"}  # fmt: skip


def page_of(answer):
    return " ".join(answer.content.decode().split())


def test_a_build_is_started_with_a_car_that_is_named_on_the_same_page(signed_in, club):
    owner = factories.driver(club)
    sent = {"number": "12", "name": "Saloon", "owner": owner.pk, "racing_class": ""}

    answer = signed_in.post(reverse("bench", args=[club.slug]), sent)

    car = Car.objects.get()
    assert (car.number, car.name, car.owner) == (12, "Saloon", owner)
    assert answer["Location"] == create(car)


def test_a_build_is_started_with_a_car_of_the_register_and_a_new_one_needs_its_name(signed_in, club, car):
    known = signed_in.post(reverse("bench", args=[club.slug]), {"car": car.public_id})
    nameless = signed_in.post(reverse("bench", args=[club.slug]), {"number": "9"})
    taken = {"number": car.number, "name": "Other", "owner": car.owner.pk}

    assert known["Location"] == create(car)
    assert nameless.status_code == 422
    assert set(nameless.context["form"].errors) == {"name", "owner"}
    assert signed_in.post(reverse("bench", args=[club.slug]), taken).status_code == 409


def test_a_new_sheet_starts_from_the_only_chassis_the_class_of_the_car_and_the_track(signed_in, club, car, drawer):
    layout = factories.track_layout(club)

    form = signed_in.get(create(car)).context["form"]

    assert form.shown.chassis.name.startswith("Chassis")
    assert form.shown.racing_class == car.racing_class
    assert form["track_layout"].value() == layout.public_id
    assert form["set-pinion_gap"].value() == "0.7"


def test_parts_of_another_driver_are_not_offered(signed_in, club, car, drawer):
    drawer["SPUR-37-19.5"].owner = factories.driver(club)
    drawer["SPUR-37-19.5"].save()

    offered = dict(signed_in.get(create(car)).context["form"].fields["part-driven_gear"].choices)

    assert drawer["SPUR-35-19.5"].public_id in offered
    assert drawer["SPUR-37-19.5"].public_id not in offered


def test_the_small_gear_is_rejected_because_it_does_not_reach(signed_in, car, drawer):
    sent = fields_of(signed_in.get(create(car)).context["form"]) | chosen(drawer, "SPUR-33-17.5")

    answer = signed_in.post(reverse("bench-sheet-echo", args=[car.club.slug, car.public_id]), sent)

    page = page_of(answer)
    assert "Does not reach: the teeth do not touch." in page
    assert "0.05 mm stand between the tips at 12.05 mm" in page
    assert not BenchSheet.objects.exists()


def test_the_larger_gear_runs_and_what_is_left_under_it_is_shown_now_and_worn(signed_in, car, drawer):
    sent = fields_of(signed_in.get(create(car)).context["form"]) | chosen(drawer)

    page = page_of(signed_in.post(create(car), sent | {"look": "yes"}))

    assert "Runs." in page
    assert "under the gear 0.25" in page
    assert "with worn tires 0.00" in page
    assert not BenchSheet.objects.exists()


def test_a_tire_that_rubs_lists_four_cures_and_the_one_chosen_stands_in_the_form(signed_in, car, drawer):
    sent = fields_of(signed_in.get(create(car)).context["form"]) | chosen(drawer)
    page = page_of(signed_in.post(create(car), sent | {"look": "yes"}))
    key = re.search(r'value="(tire_to_pinion:[^"]*shorten_pinion)"', page).group(1)

    answer = signed_in.post(create(car), sent | {"cure": key})

    form = answer.context["form"]
    assert page.index("Move the wheel out by 0.80 mm") < page.index("Push the pinion further on by 0.80 mm")
    assert page.index("Shorten the pinion by 0.80 mm") < page.index("to a radius of 3.39 mm")
    assert form["part-pinion"].value() == "own"
    assert form["own-pinion-length"].value() == "6.2"
    assert ("Tire to pinion, Rear right", "near") in [
        (line.what, line.kind) for line in answer.context["outcome"].failing
    ]
    assert not BenchSheet.objects.exists()


def test_a_sheet_is_saved_with_its_number_and_never_changes_with_its_chassis(signed_in, car, drawer):
    sent = fields_of(signed_in.get(create(car)).context["form"]) | chosen(drawer)

    answer = signed_in.post(create(car), sent)

    made = BenchSheet.objects.get()
    made.chassis.sizes = {}
    made.chassis.save()
    made.refresh_from_db()
    assert answer["Location"] == reverse("bench-sheet-detail", args=[car.club.slug, made.public_id])
    assert made.number == 1
    assert made.chassis_sizes == bench_factories.CHASSIS
    assert made.parts["pinion"]["part"] == drawer["PIN-11-6.5"].public_id
    assert made.spacers == bench_factories.SPACERS
    assert made.mounting == bench_factories.MOUNTING


def test_what_a_sheet_says_comes_back_into_the_form_and_is_saved_the_same(signed_in, car, drawer):
    worn_off = {"name": "cut", "kind": "pinion", "sizes": {"teeth": "11", "length": "6.2 mm"}, "price": None}
    one = bench_factories.sheet(car, ballast=[{"name": "Nose", "mass": "2 g", "ahead": "-3 mm"}], note="quick",
                                targets={"body_float": "0.8 mm"})  # fmt: skip
    one.parts["pinion"] = worn_off
    one.save()

    form = signed_in.get(create(car)).context["form"]
    signed_in.post(create(car), fields_of(form))

    two = BenchSheet.objects.get(number=2)
    for name in ("parts", "mounting", "spacers", "ballast", "targets", "note", "chassis_sizes"):
        assert getattr(two, name) == getattr(one, name), name


def test_an_older_sheet_is_taken_up_again_as_a_new_one(signed_in, car, drawer):
    first, _second = bench_factories.sheet(car, spur="SPUR-37-19.5"), bench_factories.sheet(car)

    form = signed_in.get(f"{create(car)}?from={first.public_id}").context["form"]
    signed_in.post(f"{create(car)}?from={first.public_id}", fields_of(form))

    assert BenchSheet.objects.get(number=3).parts == first.parts


def test_who_saves_second_is_told_and_loses_nothing(signed_in, car, drawer):
    sent = fields_of(signed_in.get(create(car)).context["form"]) | chosen(drawer)
    bench_factories.sheet(car)

    refused = signed_in.post(create(car), sent)
    saved = signed_in.post(create(car), sent | {"based_on": refused.context["form"]["based_on"].value()})

    assert refused.status_code == 409
    assert saved.status_code == 302
    assert BenchSheet.objects.count() == 2


def test_what_cannot_be_read_is_said_at_its_field_while_the_rest_is_still_looked_at(signed_in, car, drawer):
    sent = fields_of(signed_in.get(create(car)).context["form"]) | chosen(drawer)

    answer = signed_in.post(create(car), sent | {"spacer-rear_left_inner": "5 + thick", "set-wear": "-1"})

    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"spacer-rear_left_inner", "set-wear"}
    assert answer.context["outcome"].mesh.runs


def test_an_empty_sheet_is_not_saved(signed_in, club, car):
    sent = fields_of(signed_in.get(create(car)).context["form"])

    assert signed_in.post(create(car), sent).status_code == 409


def test_a_cure_of_a_saved_sheet_is_a_new_sheet(signed_in, car, drawer):
    sheet = bench_factories.sheet(car)
    page = page_of(signed_in.get(reverse("bench-sheet-detail", args=[car.club.slug, sheet.public_id])))
    key = re.search(r'value="(tire_to_pinion:[^"]*round_tire_edge)"', page).group(1)
    address = reverse("bench-sheet-cure", args=[car.club.slug, sheet.public_id])

    done, unknown = signed_in.post(address, {"cure": key}), signed_in.post(address, {"cure": "sand:it:off"})

    made = BenchSheet.objects.get(number=2)
    assert done["Location"].endswith(f"{made.public_id}/")
    assert made.mounting == sheet.mounting | {"edge": "3.39 mm"}
    assert unknown.status_code == 409


def test_a_part_on_hand_is_taken_with_one_tap_on_a_saved_sheet_and_in_the_form(signed_in, car, drawer):
    sheet = bench_factories.sheet(car)
    short = drawer["PIN-11-6.5"].sizes | {"length": "6 mm"}
    part = Part.objects.create(club=car.club, code="S", kind="pinion", name="Short pinion", sizes=short, stock=1)
    key = f"part:pinion:{part.public_id}"
    page = page_of(signed_in.get(reverse("bench-sheet-detail", args=[car.club.slug, sheet.public_id])))
    assert f'value="{key}"' in page
    assert "No part on hand does it." in page
    assert reverse("shopping-list", args=[car.club.slug]) in page

    signed_in.post(reverse("bench-sheet-cure", args=[car.club.slug, sheet.public_id]), {"cure": key})

    made = BenchSheet.objects.get(number=2)
    assert (made.parts["pinion"]["name"], made.mounting) == ("Short pinion", sheet.mounting)
    sent = fields_of(signed_in.get(f"{create(car)}?from={sheet.public_id}").context["form"])
    form = signed_in.post(create(car), sent | {"cure": key}).context["form"]
    assert form["part-pinion"].value() == part.public_id
    assert BenchSheet.objects.count() == 2


@pytest.mark.parametrize(
    "key", ["part:", "part:pinion:x", "part:roof:{id}", "part:rear_tires:{id}", "part:pinion:{id}:x"]
)
def test_a_part_that_is_not_there_or_does_not_go_there_is_refused(signed_in, car, drawer, key):
    sheet = bench_factories.sheet(car)
    Part.objects.filter(kind="pinion").update(stock=int("x" in key))
    sent = {"cure": key.format(id=drawer["PIN-11-6.5"].public_id)}

    answer = signed_in.post(reverse("bench-sheet-cure", args=[car.club.slug, sheet.public_id]), sent)

    assert (answer.status_code, BenchSheet.objects.count()) == (409, 1)


def test_two_sheets_stand_side_by_side_and_what_differs_is_bold(signed_in, car, drawer):
    older, newer = bench_factories.sheet(car, spur="SPUR-33-17.5"), bench_factories.sheet(car)
    address = reverse("bench-sheet-compare", args=[car.club.slug, older.public_id])

    page = page_of(signed_in.get(f"{address}?with={newer.public_id}"))

    assert "<b>Spur 33, 17.5 mm</b></td><td><b>Spur 35, 19.5 mm</b>" in page
    assert '<span class="soft">Tire 20 x 10</span>' in page
    assert "Does not reach" in page


def test_the_bench_shows_the_latest_sheet_of_each_car_with_its_state_in_words(signed_in, club, car, drawer):
    bench_factories.sheet(car)
    bench_factories.sheet(car, spur="SPUR-33-17.5")

    lines = signed_in.get(reverse("bench", args=[club.slug])).context["lines"]

    assert [(line.sheet.number, line.state.kind) for line in lines] == [(2, "bad")]
    assert "Does not reach" in lines[0].state.words


def test_twenty_cars_on_the_bench_cost_no_more_queries_than_two(signed_in, club, drawer):
    limited = bench_factories.class_with_width(club, "61 mm")

    def queries(cars):
        for _ in range(cars):
            bench_factories.sheet(factories.car(club), racing_class=limited)
        with CaptureQueriesContext(connection) as captured:
            signed_in.get(reverse("bench", args=[club.slug]))
        return len(captured)

    few = queries(2)
    assert queries(10) <= few


def test_declaring_a_sheet_makes_a_build_and_links_both(signed_in, club, car, drawer):
    install_register(club=club, by=None)
    sheet = bench_factories.sheet(car)
    address = reverse("bench-sheet-declare", args=[club.slug, sheet.public_id])

    answer, again = signed_in.post(address), signed_in.post(address)

    build = Build.objects.get()
    sheet.refresh_from_db()
    declared = {row.characteristic.code: row.text for row in build.declared.select_related("characteristic")}
    assert answer["Location"] == reverse("build-detail", args=[club.slug, build.public_id])
    assert sheet.declared_as == build
    assert build.drive_layout == "sidewinder"
    assert declared["driven-gear-teeth"] == "35"
    assert declared["width-over-rear-tires"] == "60.3 mm"
    assert build.note == "From bench sheet 1."
    assert again.status_code == 409
    page = page_of(signed_in.get(reverse("bench-sheet-detail", args=[club.slug, sheet.public_id])))
    assert "Declared as build 1" in page

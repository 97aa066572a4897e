import csv
import io

import pytest
from django.urls import reverse

from inspection.models import Run
from tests import factories


@pytest.fixture
def car(db):
    return factories.car(factories.club(decimal_mark=","))


@pytest.fixture
def layout(car):
    return factories.track_layout(car.club)


@pytest.fixture
def desk(client, car):
    client.force_login(factories.member(car.club))
    return client


def at(name, car, public_id=None):
    return reverse(name, args=[car.club.slug, public_id or car.public_id])


def test_a_run_is_typed_with_commas_and_found_in_the_list(desk, car, layout):
    sheet = factories.bench_sheet(car)
    typed = {
        "run_on": "2026-11-20", "where": f"{layout.public_id}-3", "sheet": sheet.pk, "laps": "6,132 6,098\n6,21",
        "changes": "harder tires", "note": "",
    }  # fmt: skip

    answer = desk.post(at("run-create", car), typed)

    run = Run.objects.get()
    assert answer.status_code == 302
    assert (run.lap_times, run.lane, run.track_layout, run.sheet) == (["6.132", "6.098", "6.21"], 3, layout, sheet)
    page = desk.get(at("run-list", car)).content.decode()
    assert "6,132" in page
    assert "harder tires" in page


def test_what_is_no_time_is_said_with_its_place_and_stays_typed(desk, car):
    answer = desk.post(at("run-create", car), {"run_on": "2026-11-20", "laps": "6,13 6,1x"})

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Lap 2, “6,1x”, is no lap time." in page
    assert "6,13 6,1x" in page
    assert not Run.objects.exists()


def test_a_new_run_starts_from_the_newest_sheet_and_the_lane_driven_last(desk, car, layout):
    sheet = factories.bench_sheet(car)
    factories.run(car, track_layout=layout, lane=4)

    form = desk.get(at("run-create", car)).context["form"]

    assert form["sheet"].value() == sheet.pk
    assert form["where"].value() == f"{layout.public_id}-4"


def test_an_address_can_name_the_sheet(desk, car):
    older = factories.bench_sheet(car)
    factories.bench_sheet(car)

    form = desk.get(at("run-create", car) + f"?sheet={older.public_id}").context["form"]

    assert form["sheet"].value() == older.pk


def test_two_people_putting_a_run_right_do_not_overwrite_each_other(desk, car):
    run = factories.run(car, "6.10", "6.20")
    shown = desk.get(at("run-edit", car, run.public_id)).context["form"]
    typed = {"run_on": "2026-11-20", "laps": "6,30", "version": shown["version"].value()}
    run.lap_times = ["6.40"]
    run.save()

    answer = desk.post(at("run-edit", car, run.public_id), typed)

    run.refresh_from_db()
    assert answer.status_code == 409
    assert run.lap_times == ["6.40"]
    again = answer.context["form"]
    assert (
        desk.post(at("run-edit", car, run.public_id), typed | {"version": again["version"].value()}).status_code == 302
    )
    run.refresh_from_db()
    assert run.lap_times == ["6.30"]


def test_a_run_shows_its_laps_with_the_slow_one_marked(desk, car, layout):
    run = factories.run(car, "6.20", "6.22", "6.21", "9.80", "6.19", track_layout=layout, lane=1)

    page = desk.get(at("run-detail", car, run.public_id)).content.decode()

    assert page.count('class="slow"') == 1
    assert "9,800" in page
    assert "6,210" in page


def test_two_runs_are_compared_in_words_first(desk, car, layout):
    one = factories.run(car, "6.20", "6.22", "6.19", "6.24", "6.21", track_layout=layout, lane=1)
    two = factories.run(car, "6.12", "6.15", "6.10", "6.14", "6.13", track_layout=layout, lane=1)

    page = desk.get(at("run-compare", car), {"first": f"run-{one.public_id}", "second": f"run-{two.public_id}"})

    text = page.content.decode()
    assert "B is quicker by 0,05 to 0,12 s a lap." in text
    assert text.index("B is quicker") < text.index("Median, s")


def test_runs_on_different_lanes_are_not_compared(desk, car, layout):
    one, two = (factories.run(car, track_layout=layout, lane=lane) for lane in (1, 2))

    page = desk.get(at("run-compare", car), {"first": f"run-{one.public_id}", "second": f"run-{two.public_id}"})

    assert "These two share no lane" in page.content.decode()


@pytest.mark.parametrize("asked", ["first=run-nothing&second=x", "first=&second=", ""])
def test_a_comparison_of_nothing_is_a_page(desk, car, asked):
    factories.run(car)

    assert desk.get(at("run-compare", car) + f"?{asked}").status_code == 200


def test_runs_of_an_older_layout_stay_on_it(desk, car, layout):
    older = factories.track_layout(car.club)
    older.track.is_active = False
    older.track.save()
    run = factories.run(car, track_layout=older, lane=2)
    shown = desk.get(at("run-edit", car, run.public_id)).context["form"]
    typed = {name: shown[name].value() or "" for name in shown.fields} | {"run_on": "2026-11-20"}

    desk.post(at("run-edit", car, run.public_id), typed)

    run.refresh_from_db()
    assert (run.track_layout, run.lane) == (older, 2)


def test_runs_leave_as_a_file_with_their_laps(desk, car, layout):
    factories.run(car, "6.20", "6.22", track_layout=layout, lane=1, changes="=1+1")

    lines = list(csv.reader(io.StringIO(desk.get(at("run-list", car) + "?export=csv").content.decode("utf-8-sig"))))

    assert lines[1][4:6] == ["2", "6,200"]
    assert lines[1][-3] == "'=1+1"
    assert lines[1][-1] == "6,20 6,22"


def test_the_list_asks_no_more_for_many_runs(desk, car, layout, django_assert_max_num_queries):
    for _ in range(30):
        factories.run(car, track_layout=layout, lane=1, sheet=factories.bench_sheet(car))

    with django_assert_max_num_queries(12):
        desk.get(at("run-list", car))

"""The planner of a bench sheet: what else fits, drives and is legal; why the rest fails; taking one of them."""

import html
import io
import re

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inspection.models import BenchSheet, Characteristic, Part, Role
from tests import bench_factories, factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    made = factories.club()
    for part in bench_factories.drawer(made).values():
        part.stock = 2
        part.save()
    short = {"teeth": "11", "outside_diameter": "6.5 mm", "module": "0.5 mm", "length": "6 mm", "bore": "2 mm"}
    Part.objects.create(club=made, code="PIN-SHORT", kind="pinion", name="Short pinion", sizes=short, stock=1, price=3)
    return made


@pytest.fixture
def sheet(club):
    """The worked case: 35 teeth run, and the tire rubs the pinion of 7 mm."""
    racing_class = bench_factories.class_with_width(club, "61 mm")
    mounting = bench_factories.MOUNTING | {"wear": "0.2 mm"}
    return bench_factories.sheet(factories.car(club), racing_class=racing_class, mounting=mounting)


@pytest.fixture
def builder(client, club):
    client.force_login(factories.member(club, Role.OWNER))
    return client


def address(sheet, name="planner"):
    return reverse(name, args=[sheet.car.club.slug, sheet.public_id])


def words(answer):
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def test_the_shorter_pinion_is_proposed_and_the_gear_that_does_not_reach_is_told_why(builder, sheet):
    answer = builder.get(address(sheet))

    first = answer.context["plan"].lines[0]
    assert [(one.what, one.name) for one in first.chosen] == [("Pinion", "Short pinion")]
    assert "Does not reach" in words(answer)
    assert all(line.chosen for line in answer.context["plan"].lines), "as it is the tire rubs"


def test_taking_a_line_saves_the_next_sheet_and_leaves_this_one(builder, sheet):
    line = builder.get(address(sheet)).context["plan"].lines[0]

    answer = builder.post(address(sheet, "planner-take"), {one.field: one.value for one in line.chosen})

    made = BenchSheet.objects.get(number=2)
    assert answer.url == reverse("bench-sheet-detail", args=[sheet.car.club.slug, made.public_id])
    assert made.parts["pinion"]["name"] == "Short pinion"
    assert {place: part for place, part in made.parts.items() if place != "pinion"} == {
        place: part for place, part in sheet.parts.items() if place != "pinion"
    }
    sheet.refresh_from_db()
    assert sheet.parts["pinion"]["name"] == "Pinion 11, 6.5 mm"


def test_other_spacers_are_laid_only_when_asked_for_and_can_be_taken(builder, sheet):
    assert not _with_spacers(builder.get(address(sheet)))
    line = _with_spacers(builder.get(address(sheet), {"sort": "fewest_changes", "spacers": "on"}))[0]

    builder.post(address(sheet, "planner-take"), {one.field: one.value for one in line.chosen})

    made = BenchSheet.objects.get(number=2)
    place = next(one for one in line.chosen if one.field.startswith("spacer-"))
    laid = made.spacers[place.field.removeprefix("spacer-")]
    assert ",".join(one["part"] for one in laid) == place.value


def _with_spacers(answer):
    lines = answer.context["plan"].lines
    return [line for line in lines if any(one.field.startswith("spacer-") for one in line.chosen)]


def test_what_is_not_in_stock_counts_only_when_the_register_is_asked(builder, sheet):
    Part.objects.filter(code="PIN-SHORT").update(stock=0)

    def names(**asked):
        lines = builder.get(address(sheet), asked).context["plan"].lines
        return {one.name for line in lines for one in line.chosen}

    assert "Short pinion" not in names()
    assert "Short pinion" in names(sort="price", register="on")


def test_a_rollout_that_is_wanted_stands_first_and_one_left_out_is_asked_for(builder, sheet):
    answer = builder.get(address(sheet), {"sort": "rollout", "rollout": "18.7 mm"})
    off = [abs(float(line.rollout.split()[0]) - 18.7) for line in answer.context["plan"].lines]
    assert off == sorted(off)
    assert len(set(off)) > 1

    unsaid = builder.get(address(sheet), {"sort": "rollout"})
    assert unsaid.status_code == 422
    assert "Say which rollout you want." in words(unsaid)


def test_the_chart_marks_each_pair_of_gears_and_trued_tires_get_their_gears_back(builder, sheet):
    page = builder.get(address(sheet), {"sort": "price", "trued_to": "19 mm"}).context["plan"]

    cells = {
        (name, pinion): cell
        for name, row in page.chart.rows
        for pinion, cell in zip(page.chart.pinions, row, strict=True)
    }
    assert cells["Spur 33, 17.5 mm", "Pinion 11, 6.5 mm"].words == "The gears do not run"
    assert cells["Spur 35, 19.5 mm", "Pinion 11, 6.5 mm"].is_present
    assert cells["Spur 35, 19.5 mm", "Short pinion"].shape == "pass"
    # 35 teeth on 20 mm roll as far as 33.25 would on 19
    assert page.restored[0].gears.endswith("Spur 33, 17.5 mm")


def test_the_chart_stands_on_each_of_the_tires_on_hand_those_of_the_sheet_first(builder, club, sheet):
    Part.objects.create(club=club, code="LOW", kind="tire", name="Low tire", stock=1,
                        sizes={"diameter": "17 mm", "width": "10 mm"})  # fmt: skip
    Part.objects.create(club=club, code="GONE", kind="tire", name="Sold out", sizes={"diameter": "19 mm"})
    own = builder.get(address(sheet), {"trued_to": "19 mm"})
    low = own.context["plan"].chart.choice[1]
    assert [(one.name, one.key, one.is_shown) for one in own.context["plan"].chart.choice] == [
        ("Tire 20 x 10", "", True), ("Low tire", low.key, False),
    ]  # fmt: skip
    assert f'href="?trued_to=19+mm&amp;tires={low.key}#chart"' in own.content.decode()

    answer = builder.get(address(sheet), {"trued_to": "19 mm", "tires": low.key})

    chart = answer.context["plan"].chart
    cells = [cell for _name, row in chart.rows for cell in row]
    before = [cell for _name, row in own.context["plan"].chart.rows for cell in row]
    assert (chart.tires, [one.is_shown for one in chart.choice]) == ("Low tire", [False, True])
    assert not any(cell.is_present for cell in cells)
    assert [(a.ratio, float(b.rollout) / float(a.rollout)) for a, b in zip(before, cells, strict=True)] == [
        (cell.ratio, pytest.approx(17 / 20, abs=0.01)) for cell in cells
    ]
    # 17 mm leave the gear on the track, and the class wants 19.7 mm
    assert {cell.shape for cell in cells} == {"fail"}
    assert f'name="tires" value="{low.key}"' in answer.content.decode()
    assert builder.get(address(sheet), {"tires": "nobody"}).context["plan"].chart.tires == "Tire 20 x 10"


def test_a_class_that_forbids_the_tires_leaves_nothing_and_names_the_clause(builder, club, sheet):
    strict = bench_factories.class_with_width(club, "40 mm")
    BenchSheet.objects.filter(pk=sheet.pk).update(racing_class=strict)

    answer = builder.get(address(sheet))

    assert answer.context["plan"].lines == ()
    assert "Nothing at hand fits, drives and is legal together." in words(answer)
    assert "Clause 1." in words(answer)


def test_laps_that_cannot_be_predicted_are_said_with_what_is_missing(builder, sheet):
    assert "No lap can be predicted before this is known" in words(builder.get(address(sheet), {"sort": "lap_time"}))


@pytest.mark.parametrize(
    "sent", [{"part-pinion": "zzzzzzzzzz"}, {"part-body": "x"}, {"spacer-roof": ""}], ids=["gone", "place", "spacer"]
)
def test_what_is_not_there_is_refused_and_nothing_is_saved(builder, sheet, sent):
    answer = builder.post(address(sheet, "planner-take"), sent)

    assert answer.status_code == 409
    assert BenchSheet.objects.count() == 1


def test_a_part_of_another_kind_or_of_another_driver_is_refused(builder, club, sheet):
    other = Part.objects.create(club=club, code="X", kind="pinion", name="X", sizes={}, owner=factories.driver(club))
    spur = Part.objects.get(code="SPUR-37-19.5")

    for part in (other, spur):
        assert builder.post(address(sheet, "planner-take"), {"part-pinion": part.public_id}).status_code == 409
    assert BenchSheet.objects.count() == 1


def test_more_parts_take_no_more_queries(builder, club, sheet, django_assert_max_num_queries):
    def queries():
        with django_assert_max_num_queries(40) as asked:
            builder.get(address(sheet))
        return len(asked)

    before = queries()
    for n in range(5):
        sizes = {"teeth": "35", "outside_diameter": "19.5 mm", "face_width": "2 mm", "hub_width": "2.5 mm"}
        Part.objects.create(club=club, code=f"S{n}", kind="spur_gear", name=f"S{n}", sizes=sizes, stock=1)
    assert queries() == before


def test_what_the_build_declares_of_the_car_counts_and_what_it_declares_of_its_parts_does_not(builder, club, sheet):
    subjects = {one.code: one for one in Characteristic.objects.of(club)}
    build = factories.build(sheet.car)
    build.declared.create(characteristic=subjects["rear-tire-diameter"], text="12 mm")
    assert builder.get(address(sheet)).context["plan"].lines, "tires of the sheet are 20 mm"

    build.declared.create(characteristic=subjects["windows-clear"], text="no")

    assert builder.get(address(sheet)).context["plan"].lines == ()


def test_the_chart_is_a_picture_with_a_shape_and_words_in_each_cell(builder, sheet):
    answer = builder.get(address(sheet))

    picture, chart = answer.context["chart"], answer.context["plan"].chart
    assert len(picture.cells) == len(chart.pinions) * len(chart.rows)
    assert {one.cell.shape for one in picture.cells} >= {"pass", "fail"}
    assert all(one.lines for one in picture.cells)
    assert 'class="chart-picture"' in answer.content.decode()


def test_columns_of_one_name_are_told_apart(builder, sheet, club):
    short = Part.objects.get(code="PIN-SHORT")
    for number, length in enumerate(("6 mm", "5.5 mm", "5.5 mm")):
        Part.objects.create(
            club=club, code=f"PIN-{number}", kind="pinion", name="Short pinion", sizes=short.sizes | {"length": length},
            stock=1,
        )  # fmt: skip

    pinions = builder.get(address(sheet)).context["plan"].chart.pinions

    assert len(set(pinions)) == len(pinions)
    assert any("5.5" in name for name in pinions)


def test_the_drawings_and_the_chart_stand_on_paper(builder, sheet):
    page = builder.get(address(sheet, "planner-print") + "?as=page").content.decode()

    assert page.count('class="scale-drawing"') >= 3
    assert 'class="chart-picture"' in page
    assert "Short pinion" in page


@pytest.mark.pdf
def test_the_drawings_are_a_pdf_in_the_clubs_size(builder, sheet):
    answer = builder.get(address(sheet, "planner-print"))

    assert answer["Content-Type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(answer.content)).pages
    assert 1 <= len(pages) <= 4
    assert (round(float(pages[0].mediabox.width)), round(float(pages[0].mediabox.height))) == (595, 842)
    text = " ".join(page.extract_text() for page in pages)
    assert str(sheet.car.name) in text
    assert "Pinion and gear" in text

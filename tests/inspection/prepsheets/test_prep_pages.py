import html
import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inspection.models import PrepTemplate
from inspection.prepsheets.selectors import supplied_steps
from tests import factories
from tests.inspection.prepsheets.prep_case import sheet_of


@pytest.fixture
def club(db):
    return factories.club()


@pytest.fixture
def desk(client, club):
    client.force_login(factories.member(club))
    return client


def at(name, club, *args):
    return reverse(name, args=[club.slug, *args])


def typed_from(page):
    """What a browser would send of the form as it stands."""
    forms = page.context["forms"]
    data = {"steps": len(forms.steps)}
    for form in (forms.template, *forms.steps):
        for field in form:
            value = field.value()
            if value not in (None, False):
                data[field.html_name] = value
    return data


def heads(page):
    return [step.heading for step in page.context["forms"].steps]


def test_a_club_words_its_own_from_the_supplied_steps(desk, club):
    typed = typed_from(desk.get(at("prep-template-create", club))) | {"name": "Friday", "step-0-title": "Look first"}

    answer = desk.post(at("prep-template-create", club), typed)

    made = PrepTemplate.objects.get()
    assert answer.status_code == 302
    assert [row["title"] for row in made.steps] == ["Look first", *[step.title for step in supplied_steps()[1:]]]
    assert made.steps[6]["checks"] == list(supplied_steps()[6].checks)
    assert "Friday" in desk.get(at("prep-template-list", club)).content.decode()


def test_steps_are_moved_removed_added_and_put_back_without_saving(desk, club):
    url = at("prep-template-create", club)
    first, second, third = (step.title for step in supplied_steps()[:3])
    page = desk.get(url)

    page = desk.post(url, typed_from(page) | {"step-0-title": "Mine", "act": "down-0"})
    assert heads(page)[:3] == [second, "Mine", third]
    page = desk.post(url, typed_from(page) | {"act": "restore-1"})
    assert heads(page)[:3] == [second, first, third]
    page = desk.post(url, typed_from(page) | {"act": "up-1"})
    assert heads(page)[:2] == [first, second]
    page = desk.post(url, typed_from(page) | {"act": "remove-0", "name": "Typed"})
    assert heads(page)[:2] == [second, third]
    assert page.context["forms"].template["name"].value() == "Typed"
    page = desk.post(url, typed_from(page) | {"act": "add"})
    assert (page.status_code, heads(page)[-2]) == (200, "")
    assert not PrepTemplate.objects.exists()


@pytest.mark.parametrize("act", ["up-0", "down-19", "down-99", "remove-x", "restore--1", "jump-1", "add-"])
def test_a_button_that_is_not_there_changes_nothing(desk, club, act):
    url = at("prep-template-create", club)
    page = desk.get(url)

    again = desk.post(url, typed_from(page) | {"act": act})

    assert again.status_code == 200
    assert [title for title in heads(again) if title] == heads(page)


def test_a_value_that_no_sheet_has_is_marked_at_its_step_and_stays_typed(desk, club):
    url = at("prep-template-create", club)
    typed = typed_from(desk.get(url)) | {"name": "Ours", "step-7-text": "A gap of {pinion_gab}."}

    answer = desk.post(url, typed)

    page = html.unescape(answer.content.decode())
    assert answer.status_code == 422
    assert "No bench sheet has {pinion_gab}." in page
    assert "A gap of {pinion_gab}." in page
    assert [is_open for _step, is_open in answer.context["forms"].rows].count(True) == 1
    assert not PrepTemplate.objects.exists()


def test_two_people_wording_the_same_do_not_overwrite_each_other(desk, club):
    made = PrepTemplate.objects.create(club=club, name="Ours", steps=[{"title": "A"}])
    typed = typed_from(desk.get(at("prep-template-edit", club, made.public_id))) | {"step-0-title": "Mine"}
    made.steps = [{"title": "Theirs"}]
    made.save()

    answer = desk.post(at("prep-template-edit", club, made.public_id), typed)

    made.refresh_from_db()
    assert (answer.status_code, made.steps) == (409, [{"title": "Theirs"}])
    assert heads(answer) == ["Mine"]
    desk.post(at("prep-template-edit", club, made.public_id), typed_from(answer))
    made.refresh_from_db()
    assert made.steps[0]["title"] == "Mine"


def test_a_copy_starts_from_the_template_it_names(desk, club):
    made = PrepTemplate.objects.create(club=club, name="Ours", steps=[{"title": "A"}])
    other = PrepTemplate.objects.create(club=factories.club(), name="Theirs", steps=[{"title": "B"}])

    assert heads(desk.get(at("prep-template-create", club) + f"?from={made.public_id}")) == ["A"]
    assert "B" not in heads(desk.get(at("prep-template-create", club) + f"?from={other.public_id}"))


def test_the_work_order_is_a_page_with_boxes_to_tick(desk, club):
    sheet = sheet_of(factories.car(club))

    page = desk.get(at("prep-sheet", club, sheet.public_id)).content.decode()

    assert "Rear axle out, before the motor" in page
    assert page.count('type="checkbox"') > 30
    assert "8.80 mm" in page


def test_another_wording_can_be_taken_for_one_sheet(desk, club):
    sheet = sheet_of(factories.car(club))
    made = PrepTemplate.objects.create(club=club, name="Ours", steps=[{"title": "Only this"}])

    usual = desk.get(at("prep-sheet", club, sheet.public_id))
    supplied = desk.get(at("prep-sheet", club, sheet.public_id) + "?template=")

    assert usual.context["prep"].template == made
    assert supplied.context["prep"].template is None
    assert f"{at('prep-print', club, sheet.public_id)}?template=" in supplied.content.decode()


def test_the_paper_carries_car_class_chassis_sheet_and_every_caution(desk, club):
    car = factories.car(club, number=41, name="Coupe")
    sheet = sheet_of(car, racing_class=factories.racing_class(club, "Hard bodies"))

    page = html.unescape(desk.get(at("prep-print", club, sheet.public_id) + "?as=page").content.decode())

    for words in ("41", "Coupe", "Hard bodies", "bench sheet 1", "eye protection", "whoever swallows one", "mask"):
        assert words in page
    assert "Children work beside an adult" in page
    assert "Makers' instructions and local rules come before" in page


@pytest.mark.pdf
def test_the_paper_is_a_pdf_in_the_clubs_size(desk, club):

    club.paper = "Letter"
    club.save()
    sheet = sheet_of(factories.car(club))

    pages = PdfReader(io.BytesIO(desk.get(at("prep-print", club, sheet.public_id)).content)).pages

    assert 2 <= len(pages) <= 4
    assert [round(float(side)) for side in pages[0].mediabox[2:]] == [612, 792]


def test_a_work_order_asks_the_database_no_more_for_many_templates(desk, club, django_assert_max_num_queries):
    sheet = sheet_of(factories.car(club))
    for n in range(20):
        PrepTemplate.objects.create(club=club, name=f"T{n}", steps=[], racing_class=factories.racing_class(club))

    with django_assert_max_num_queries(9):
        desk.get(at("prep-sheet", club, sheet.public_id))

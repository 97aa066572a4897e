"""Pages of studies: begin, measure one reading after the other, correct, drop, on paper."""

import pytest
from django.urls import reverse

from inspection.models import GaugeStudy, Role, StudyReading
from inspection.studies.selectors import key_of, order_of
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club, client):
    who = factories.member(club, Role.TECH_INSPECTOR, name="Lou Quarrie")
    client.force_login(who)
    return who


@pytest.fixture
def study(club, inspector):
    return factories.gauge_study(factories.gauge(club), name="Tires")


def address(name, study):
    return reverse(name, args=[study.gauge.club.slug, study.public_id])


def test_a_study_is_begun_and_asks_for_its_first_reading(client, club, inspector):
    gauge = factories.gauge(club)
    page = reverse("study-create", args=[club.slug, gauge.public_id])
    typed = {"name": "Tires", "parts": "2", "inspectors": "Lou, Mo", "trials": "2"}

    answer = client.post(page, typed, follow=True)

    study = GaugeStudy.objects.get()
    assert answer.redirect_chain[-1][0] == address("study-measure", study)
    assert "Reading 1 of 8" in answer.content.decode()
    assert client.post(page, typed | {"parts": "1"}).status_code == 422


def test_a_bias_study_is_begun_with_the_size_of_its_block(client, club, inspector):
    page = reverse("study-create", args=[club.slug, factories.gauge(club).public_id]) + "?kind=bias"

    client.post(page, {"name": "Block", "reference": "20", "inspector": "Lou", "trials": "10"})

    assert GaugeStudy.objects.get().reference == "20 mm"


def test_a_gauge_that_gives_no_reading_is_not_studied_and_what_was_typed_stays(client, club, inspector):
    page = reverse("study-create", args=[club.slug, factories.gauge(club, kind="go_no_go").public_id])

    answer = client.post(page, {"name": "Plate", "parts": "2", "inspectors": "Lou", "trials": "2"})

    assert answer.status_code == 422
    assert "goes or does not go" in answer.content.decode()
    assert answer.context["form"]["name"].value() == "Plate"


def test_each_reading_leads_to_the_next_and_the_last_to_the_outcome(client, study):
    page = address("study-measure", study)
    for place in order_of(study):
        answer = client.post(page, {"place": key_of(place), "text": f"{19 + place.part}.4"}, follow=True)

    assert answer.redirect_chain[-1][0] == address("study-detail", study)
    assert StudyReading.objects.count() == 12
    assert client.get(page).status_code == 302


def test_what_cannot_be_read_stays_in_the_field(client, study):
    first = key_of(order_of(study)[0])

    answer = client.post(address("study-measure", study), {"place": first, "text": "19,400.2"})

    assert answer.status_code == 422
    assert answer.context["typed"] == "19,400.2"
    assert answer.context["prompt"].key == first


def test_who_comes_second_is_told_and_goes_on_with_the_next(client, study):
    order = order_of(study)
    page = address("study-measure", study)
    client.post(page, {"place": key_of(order[0]), "text": "19.4"})

    answer = client.post(page, {"place": key_of(order[0]), "text": "19.5"})

    assert answer.status_code == 409
    assert "Lou Quarrie had entered this reading already" in answer.content.decode()
    assert (answer.context["prompt"].key, answer.context["typed"]) == (key_of(order[1]), "")


def test_a_reading_is_corrected_from_its_own_page(client, study):
    place = key_of(order_of(study)[0])
    page = address("study-measure", study)
    client.post(page, {"place": place, "text": "19.4"})

    shown = client.get(f"{page}?at={place}").content.decode()
    client.post(page, {"place": place, "text": "19.04", "corrects": "1"})

    assert "It was entered as 19.4 mm" in shown
    assert StudyReading.objects.get().reading == "19.04 mm"


def test_a_wild_reading_is_asked_about_and_taken_the_second_time(client, study):
    order = order_of(study)
    page = address("study-measure", study)
    same_part = next(place for place in order[1:] if place.part == order[0].part)
    client.post(page, {"place": key_of(order[0]), "text": "19.4"})

    asked = client.post(page, {"place": key_of(same_part), "text": "194"})
    taken = client.post(page, {"place": key_of(same_part), "text": "194", "sure": "194"})

    assert (asked.status_code, taken.status_code) == (409, 302)
    assert 'name="sure" value="194"' in asked.content.decode()


def test_a_study_under_way_does_not_show_what_was_read(client, study):
    client.post(address("study-measure", study), {"place": key_of(order_of(study)[0]), "text": "19.47"})

    shown = client.get(address("study-detail", study)).content.decode()

    assert "19.47" not in shown
    assert "1 of 12 readings taken" in shown


def test_dropping_a_study_leads_back_to_its_gauge(client, study):
    answer = client.post(address("study-discard", study))

    assert answer["Location"] == reverse("gauge-detail", args=[study.gauge.club.slug, study.gauge.public_id])
    assert not GaugeStudy.objects.exists()


def test_the_blank_form_names_inspectors_parts_and_the_seed(client, study):
    shown = client.get(address("study-blank-print", study) + "?as=page").content.decode()

    assert all(word in shown for word in ("Lou, trial 1", "Mo, trial 2", "order by seed 7", "in mm"))


@pytest.mark.parametrize("role", [Role.ENTRY_DESK, Role.DRIVER])
def test_who_does_not_inspect_neither_sees_nor_measures_studies(client, club, study, role):
    client.force_login(factories.member(club, role))

    assert client.get(address("study-detail", study)).status_code == 403
    assert client.post(address("study-measure", study), {"place": "0.0.0", "text": "1"}).status_code == 403
    assert not StudyReading.objects.exists()

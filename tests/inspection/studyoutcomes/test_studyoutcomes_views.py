"""The page of a study: plain words, the picture, the tables, taking over and back."""

import pytest
from django.urls import reverse

from inspection.models import Role
from tests import factories
from tests.inspection.studies.measured import manual_bias_study, manual_study

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club, client):
    who = factories.member(club, Role.TECH_INSPECTOR)
    client.force_login(who)
    return who


def address(name, study):
    return reverse(name, args=[study.gauge.club.slug, study.public_id])


def test_a_finished_study_shows_words_picture_and_both_methods(client, club, inspector):
    study = manual_study(factories.gauge(club))

    shown = client.get(address("study-detail", study)).content.decode()

    assert "can decide limits to 0.61 mm" in shown
    assert shown.count('class="study-mark') == 93
    assert all(word in shown for word in ("GRR", "ndc", "pooled with repeatability", "Take it over"))


def test_a_bias_study_shows_its_interval(client, club, inspector):
    shown = client.get(address("study-detail", manual_bias_study(factories.gauge(club)))).content.decode()

    assert "-0.1107 mm to 0.1241 mm" in shown
    assert 'class="study-interval"' in shown


def test_it_is_taken_over_and_back_by_one_press_each(client, club, inspector):
    study = manual_study(factories.gauge(club))

    taken = client.post(address("study-adopt", study), follow=True).content.decode()
    study.gauge.refresh_from_db()
    assert study.gauge.repeatability == "0.2 mm"
    assert "Its readings are final" in taken
    assert "?at=" not in taken

    client.post(address("study-release", study))
    study.gauge.refresh_from_db()
    assert study.gauge.repeatability == ""


def test_an_unfinished_study_is_not_taken_over(client, club, inspector):
    study = factories.gauge_study(factories.gauge(club))

    answer = client.post(address("study-adopt", study))

    assert answer.status_code == 409
    assert "12 of 12 readings are still to be taken" in answer.content.decode()


def test_a_study_whose_gauge_measures_something_else_says_so(client, club, inspector):
    study = manual_study(factories.gauge(club))
    study.gauge.measures, study.gauge.unit = "mass", "g"
    study.gauge.save()

    assert "measures something else now" in client.get(address("study-detail", study)).content.decode()


@pytest.mark.parametrize("role", [Role.ENTRY_DESK, Role.DRIVER])
def test_who_does_not_keep_gauges_takes_nothing_over(client, club, role):
    study = manual_study(factories.gauge(club))
    client.force_login(factories.member(club, role))

    assert client.post(address("study-adopt", study)).status_code == 403
    study.refresh_from_db()
    assert study.adopted_at is None


def test_more_readings_take_no_more_queries(client, club, inspector, django_assert_max_num_queries):
    few, many = factories.gauge_study(factories.gauge(club)), manual_study(factories.gauge(club))
    client.get(address("study-detail", few))

    with django_assert_max_num_queries(12) as first:
        client.get(address("study-detail", few))
    with django_assert_max_num_queries(len(first)):
        client.get(address("study-detail", many))

"""Nothing of another club is reached from this one: not by an address, and not by an id in a form."""

import pytest
from django import forms
from django.apps import apps
from django.db import transaction
from django.template import Context
from django.urls import reverse

from inspection.models import Car, Clause, Driver, Finding, Gauge, Inspection, Role, TechOccasion
from racedesk.models import Entry, Race
from tests import factories
from tests.addresses import ADDRESSES, url_of
from tests.architecture.conftest import club_with_everything

pytestmark = pytest.mark.usefixtures("undrawn_paper")

MODELS = [*apps.get_app_config("inspection").get_models(), *apps.get_app_config("racedesk").get_models()]


def rows():
    return {model: set(model.objects.values_list("pk", flat=True)) for model in MODELS}


def forms_on(response):
    """Every form that a page was given."""
    layers = response.context if isinstance(response.context, list) else [response.context or Context()]
    found = {id(value): value for layer in layers for value in layer.flatten().values()}
    return [value for value in found.values() if isinstance(value, forms.BaseForm)]


@pytest.fixture
def other(club):
    return club_with_everything()


@pytest.fixture
def owner(client, club):
    who = factories.member(club, Role.OWNER)
    client.force_login(who)
    return who


def test_an_address_of_this_club_with_an_id_of_another_leads_nowhere(client, club, other, owner):
    wrong = {}
    for name, address in ADDRESSES.items():
        if not address.values(club):
            continue
        url = reverse(name, kwargs={"club": club.slug, **address.values(other)})
        with transaction.atomic():
            status = (client.post(url) if address.posts else client.get(url)).status_code
            transaction.set_rollback(True)
        if status != 404:
            wrong[name] = status

    assert wrong == {}


def test_no_form_offers_or_takes_what_is_another_clubs(client, club, owner):
    of_this_club = rows()
    club_with_everything()
    of_all = rows()
    wrong, seen = {}, set()

    for name, address in ADDRESSES.items():
        if address.posts or address.status != 200:
            continue
        for form in forms_on(client.get(url_of(name, club))):
            for field_name, field in form.fields.items():
                if not isinstance(field, forms.ModelChoiceField):
                    continue
                model = field.queryset.model
                if model not in MODELS:
                    continue
                seen.add(model)
                assert of_all[model] > of_this_club[model], f"the other club has no {model.__name__}"
                if strange := set(field.queryset.values_list("pk", flat=True)) - of_this_club[model]:
                    wrong[name, field_name] = strange

    assert wrong == {}
    assert len(seen) > 8


def test_a_clause_and_a_gauge_of_another_club_are_not_taken_on_a_card(client, club, other, owner):
    card = Inspection.objects.of(club).get()
    clause = card.occasion.revision.clauses.first()
    foreign_clause = Clause.objects.filter(revision__rule_sheet__club=other).first()
    foreign_gauge = Gauge.objects.of(other).first()
    before = Finding.objects.count()
    record, rule = (reverse(name, args=[club.slug, card.public_id]) for name in ("finding-record", "finding-rule"))

    answers = [
        client.post(record, {"clause": foreign_clause.pk, "text": "63.10"}),
        client.post(record, {"clause": clause.pk, "text": "63.10", "gauge": foreign_gauge.public_id}),
        client.post(rule, {"clause": foreign_clause.pk, "passes": "yes", "reason": "because"}),
    ]

    assert [answer.status_code for answer in answers] == [422, 422, 422]
    assert Finding.objects.count() == before


def test_a_driver_and_a_car_of_another_club_are_not_entered(client, club, other, owner):
    race = Race.objects.of(club).filter(stages__isnull=True).get()
    driver, car = factories.driver(club), factories.car(club)
    foreign_driver, foreign_car = Driver.objects.of(other).first(), Car.objects.of(other).first()
    url = reverse("entry-create", args=[club.slug, race.public_id])
    before = Entry.objects.count()

    answers = [
        client.post(url, {"driver": foreign_driver.public_id, "car": car.public_id}),
        client.post(url, {"driver": driver.public_id, "car": foreign_car.public_id}),
        client.post(url, {"driver": driver.public_id, "spare": foreign_car.public_id}),
    ]

    assert [answer.status_code for answer in answers] == [422, 422, 422]
    assert Entry.objects.count() == before


def test_a_car_of_another_club_is_not_found_on_the_tech_line(client, club, other, owner):
    occasion = TechOccasion.objects.of(club).first()
    foreign = Car.objects.of(other).exclude(number__in=Car.objects.of(club).values("number")).first()
    before = Inspection.objects.count()

    client.post(reverse("inspection-open", args=[club.slug, occasion.public_id]), {"car": str(foreign.number)})

    assert Inspection.objects.count() == before

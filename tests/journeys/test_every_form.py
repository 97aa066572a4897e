"""Whatever is typed into any form of a busy club: script stays text, and of two who save one form the second is told.

The club is made once for all of them; what a test does to it is taken back.
"""

import re

import pytest
from django.db import models, transaction
from django.test import Client

from inspection.models import Club, Role
from tests import factories
from tests.addresses import ADDRESSES, PUBLIC, url_of
from tests.architecture.conftest import kept_club, taken_back  # noqa: F401  fixtures
from tests.page_forms import form_on, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def _django_db_helper(taken_back):  # noqa: F811  the fixture
    """Instead of pytest-django's own."""


@pytest.fixture
def busy_club(kept_club):  # noqa: F811  the fixture
    return Club.objects.get(pk=kept_club.pk)


# ---- script in every text field -------------------------------------------------------------------------------------

# What is read as a figure, a color, a key or a word of a list, and is no text that a person wrote.
NO_WORDS = {
    "public_id", "password", "slug", "time_zone", "language", "currency", "color", "lower", "upper", "nominal",
    "tolerance", "unit", "resolution", "max_permissible_error", "measures", "kind", "plausible_low", "plausible_high",
    "variance", "reading", "zone", "client_key", "subject_type", "subject_id", "key", "email", "username",
    "Reading.repeatability",
}  # fmt: skip
EVIL = re.compile(r"<script>alert|<b>evil|\"><img|' onload=|\" onload=")


def _text_columns(model):
    wanted = (models.CharField, models.TextField)
    return [
        field
        for field in model._meta.fields
        if isinstance(field, wanted)
        and not field.choices
        and not NO_WORDS & {field.name, f"{model.__name__}.{field.name}"}
    ]


def _evil(name, room):
    """Markup as long as the column has room for; nothing for columns shorter than any markup."""
    long = f"<script>alert('{name}')</script>\" onload=\"x"
    return long if not room or room >= len(long) + 6 else "<b>evil"[:room]


def _write_script_everywhere(apps):
    """Every text that somebody may have written, whatever way it came into the database."""
    written = 0
    for model in [model for label in ("inspection", "racedesk") for model in apps.get_app_config(label).get_models()]:
        columns = _text_columns(model)
        for number, row in enumerate(model._base_manager.all(), start=1):
            texts = {}
            for field in columns:
                text = _evil(f"{model.__name__}.{field.name}", field.max_length)
                texts[field.name] = text if field.max_length and field.max_length <= 12 else f"{number} {text}"
            if texts:
                with transaction.atomic():
                    model._base_manager.filter(pk=row.pk).update(**texts)
                written += len(texts)
    return written


def test_script_in_every_text_of_the_database_is_text_on_every_page(client, busy_club):
    from django.apps import apps  # noqa: PLC0415

    owner = factories.member(busy_club, Role.OWNER)
    assert _write_script_everywhere(apps) > 150
    client.force_login(owner)
    wrong, shown = {}, 0
    for name, address in ADDRESSES.items():
        for screen in [client, Client()] if address.who == PUBLIC else [client]:
            if address.posts:
                continue
            url = url_of(name, busy_club)
            if name.endswith("-print"):
                url += ("&" if "?" in url else "?") + "as=page"
            answer = screen.get(url)
            if not answer["Content-Type"].startswith("text/html"):
                continue
            text = answer.content.decode()
            shown += text.count("&lt;script&gt;")
            if answer.status_code != address.status or EVIL.search(text):
                found = EVIL.search(text)
                wrong[name] = (answer.status_code, text[max(0, found.start() - 80) : found.end() + 40] if found else "")

    assert wrong == {}
    assert shown > 300


FORMS = {
    "club-edit": "/edit/", "member-add": "/add/", "track-create": "/add/", "track-edit": "/edit/",
    "layout-create": "/add/", "driver-create": "/create/", "driver-edit": "/edit/", "car-create": "/create/",
    "car-edit": "/edit/", "build-create": "/create/", "gauge-create": "/create/", "gauge-edit": "/edit/",
    "characteristic-create": "/create/", "characteristic-edit": "/edit/", "rulesheet-create": "/create/",
    "revision-edit": "/edit/", "revision-publish": "/publish/", "clause-create": "/create/", "clause-edit": "/edit/",
    "ruling-create": "/create/", "occasion-create": "/new/", "event-create": "/new/", "event-edit": "/edit/",
    "race-create": "/new/", "race-edit": "/edit/", "quick-race": "/quick-race/", "entry-create": "/new/",
    "entry-withdraw": "/withdraw/", "entry-override": "/override/", "entry-payment": "/payment/",
    "payment-take-back": "/take-back/", "heat-laps": "/laps/", "heat-drove": "/drove/", "result-correct": "/correct/",
    "penalty-create": "/penalties/new/", "penalty-withdraw": "/withdraw/", "season-create": "/seasons/new/",
}  # fmt: skip


@pytest.mark.parametrize("name", FORMS)
def test_script_typed_into_every_field_of_a_form_comes_back_as_text(client, busy_club, name):
    client.force_login(factories.member(busy_club, Role.OWNER))
    form = form_on(client.get(url_of(name, busy_club)), FORMS[name])
    typed = [field for field in form.texts if field != "version"]
    assert typed
    answer = form.send(client, **{field: f"\"><img src=x> <script>alert('{field}')</script>" for field in typed})
    assert answer.status_code in {200, 409, 422}
    assert not EVIL.search(answer.content.decode())


# ---- two people -----------------------------------------------------------------------------------------------------

# A page that changes something that stands, with a text in it that each of two people types anew.
EDITED = {
    "club-edit": "name", "track-edit": "name", "driver-edit": "note", "car-edit": "note", "gauge-edit": "note",
    "characteristic-edit": "measuring_point", "revision-edit": "preamble", "clause-edit": "text",
    "event-edit": "note", "race-edit": "name",
}  # fmt: skip


@pytest.mark.parametrize("name", EDITED)
def test_of_two_people_saving_one_form_the_second_is_told_and_loses_nothing(client, busy_club, name):
    client.force_login(factories.member(busy_club, Role.OWNER))
    other = Client()
    other.force_login(factories.member(busy_club, Role.OWNER))
    url, field = url_of(name, busy_club), EDITED[name]
    first, second = (form_on(screen.get(url), url) for screen in (client, other))

    assert first.send(client, **{field: "As the first one has it"}).status_code == 200
    told = second.send(other, **{field: "As the second one has it"})

    assert told.status_code in {409, 422}
    assert "since you opened it" in words(told)
    again = form_on(told, url)
    assert again.values[field] == ["As the second one has it"]
    assert form_on(client.get(url), url).values[field] == ["As the first one has it"]
    assert again.send(other).status_code == 200
    assert form_on(client.get(url), url).values[field] == ["As the second one has it"]


def test_of_two_people_laying_out_one_track_the_second_is_told_and_may_then_save(client, busy_club):
    client.force_login(factories.member(busy_club, Role.OWNER))
    url = url_of("layout-create", busy_club)
    first, second = form_on(client.get(url), "/layouts/add/"), form_on(client.get(url), "/layouts/add/")
    assert first.send(client, change_note="A new bridge").status_code == 200

    told = second.send(client, change_note="Longer by a meter")

    assert "since you opened it" in words(told)
    again = form_on(told, "/layouts/add/")
    assert again.values["change_note"] == ["Longer by a meter"]
    assert again.send(client).request["PATH_INFO"] != url

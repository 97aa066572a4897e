"""Cars go out as documented JSON and come in at another club: previewed, all of it or nothing, nobody merged."""

import datetime as dt
import json

import jsonschema
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspection.builds.selectors import BuildContent, content_of
from inspection.builds.services import declare_build
from inspection.carfiles.documents import cars_document
from inspection.carfiles.errors import UnreadableCars
from inspection.carfiles.imports import read_cars
from inspection.carfiles.selectors import schema_text
from inspection.gauges.services import install_register
from inspection.models import Build, Car, Characteristic, Driver, LogEntry, RacingClass, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(client):
    club = factories.club()
    client.force_login(factories.member(club, Role.OWNER))
    return club


@pytest.fixture
def there():
    """The club that sends: one car with two builds, one without."""
    club = factories.club(name="Far away")
    install_register(club=club, by=None)
    ada = factories.driver(club, "Ada Brandt", contact="never sent", note="never sent")
    group = factories.racing_class(club, "GT", scale="1:32")
    car = factories.car(club, ada, number=27, name="Kite", racing_class=group, note="loan")
    ids = dict(Characteristic.objects.of(club).values_list("code", "pk"))
    values = {"rear-tire-diameter": "20.40 mm", "wheelbase": "3 1/8 in", "pinion-teeth": "12", "windows-clear": "yes"}
    for teeth in ("12", "11"):
        declared = {ids[code]: text for code, text in (values | {"pinion-teeth": teeth}).items()}
        content = BuildContent(drive_layout="inline", motor="S", motor_class="S-21", note="n", declared=declared)
        declare_build(car=car, content=content, by=None)
    factories.car(club, ada, number=28, name="Old", is_active=False)
    return club


def document(club):
    return json.loads(json.dumps(cars_document(club, Car.objects.of(club))))


def car(**values):
    return {"number": 1, "name": "Kite", "owner": "Ada Brandt"} | values


def file_of(*cars, **more):
    return {"document": "cars", "version": 1, "cars": list(cars)} | more


def page(club):
    return reverse("car-import", args=[club.slug])


def send(client, club, content):
    data = content if isinstance(content, bytes) else json.dumps(content).encode()
    return client.post(page(club), {"file": SimpleUploadedFile("cars.json", data)})


def confirm(client, club, preview, **changed):
    form = preview.context["form"]
    sent = {name: form[name].value() or "" for name in form.fields}
    return client.post(page(club), sent | {name.replace("_", "-"): value for name, value in changed.items()})


def test_what_goes_out_is_as_the_schema_says_and_keeps_contacts_home(there):
    found = document(there)

    jsonschema.validate(
        found,
        json.loads(schema_text()),
        cls=jsonschema.Draft202012Validator,
        format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER,
    )
    assert "never sent" not in json.dumps(found)
    assert [each["number"] for each in found["cars"]] == [27, 28]
    assert found["cars"][0]["builds"][1]["declared"] == {
        "rear-tire-diameter": "20.40 mm",
        "wheelbase": "3 1/8 in",
        "pinion-teeth": "11",
        "windows-clear": "yes",
    }


def test_there_and_here_every_build_is_the_same(client, here, there):
    answer = confirm(client, here, send(client, here, document(there)))

    assert answer.status_code == 302
    kite, old = Car.objects.of(here).order_by("number")
    sent = Car.objects.of(there).get(number=27)
    assert (kite.number, kite.name, kite.owner.name, kite.note) == (27, "Kite", "Ada Brandt", "loan")
    assert (kite.racing_class.name, kite.racing_class.scale, old.is_active) == ("GT", "1:32", False)
    for came, went in zip(kite.builds.order_by("number"), sent.builds.order_by("number"), strict=True):
        assert (came.number, came.created_at) == (went.number, went.created_at)
        one, other = content_of(came), content_of(went)
        assert (one.drive_layout, one.motor, one.motor_class, one.note) == ("inline", "S", "S-21", "n")
        assert _by_code(one.declared) == _by_code(other.declared)
    assert LogEntry.objects.of(here).filter(action="brought in cars").count() == 1


def _by_code(declared):
    codes = dict(Characteristic.objects.values_list("pk", "code"))
    return {codes[key]: text for key, text in declared.items()}


def test_the_preview_saves_nothing_and_tells_what_is_new(client, here, there):
    answer = send(client, here, document(there))

    text = answer.content.decode()
    assert answer.status_code == 200
    for words in ("Kite", "Ada Brandt", "GT", "Rear tire diameter", "Bring in 2 cars"):
        assert words in text
    for model in (Car, Build, Characteristic, RacingClass, Driver):
        assert not model.objects.filter(**{"car__club" if model is Build else "club": here}).exists()


def test_a_known_name_is_that_driver_and_a_new_one_is_entered(client, here):
    ada = factories.driver(here, "Ada Brandt")
    content = file_of(car(), car(number=2, owner="Mo Fairweather"))

    assert confirm(client, here, send(client, here, content)).status_code == 302

    assert Car.objects.of(here).get(number=1).owner == ada
    assert Car.objects.of(here).get(number=2).owner.name == "Mo Fairweather"


def test_a_name_nearly_known_must_be_chosen_and_is_never_merged_silently(client, here):
    ada = factories.driver(here, "Ada Brandt")
    preview = send(client, here, file_of(car(owner="Ada Brant")))

    assert confirm(client, here, preview).status_code == 422
    assert not Car.objects.of(here).exists()
    assert confirm(client, here, preview, owner_0=ada.public_id).status_code == 302

    assert Car.objects.of(here).get().owner == ada
    assert ada.spellings.filter(key="ada brant").exists()


def test_a_name_nearly_known_may_be_somebody_new(client, here):
    factories.driver(here, "Ada Brandt")

    confirm(client, here, send(client, here, file_of(car(owner="Ada Brant"))), owner_0="new")

    assert Car.objects.of(here).get().owner.name == "Ada Brant"


def test_an_inspector_cannot_enter_drivers_by_a_file(client, here):
    client.force_login(factories.member(here, Role.TECH_INSPECTOR))
    preview = send(client, here, file_of(car()))

    assert "the entry desk must enter this driver first" in preview.content.decode()
    assert confirm(client, here, preview, owner_0="new").status_code == 422
    assert not Driver.objects.of(here).exists()


def test_a_driver_who_was_not_offered_is_refused(client, here):
    other = factories.driver(here, "Somebody Else")

    answer = confirm(client, here, send(client, here, file_of(car())), owner_0=other.public_id)

    assert answer.status_code == 422
    assert not Car.objects.of(here).exists()


def test_a_number_that_is_taken_is_told_and_a_free_one_offered(client, here):
    factories.car(here, factories.driver(here, "Bram de Wit"), number=1, name="Brick")
    preview = send(client, here, file_of(car(), car(number=2, name="Two")))

    assert "Number 1 is on “Brick” of Bram de Wit here; 3 is free." in preview.content.decode()
    assert confirm(client, here, preview, number_0="1").status_code == 422
    assert confirm(client, here, preview, number_0="2").status_code == 422
    assert Car.objects.of(here).count() == 1
    assert confirm(client, here, preview).status_code == 302
    assert sorted(Car.objects.of(here).values_list("number", flat=True)) == [1, 2, 3]


def test_a_number_taken_while_one_looks_brings_in_nothing(client, here, monkeypatch):
    preview = send(client, here, file_of(car(), car(number=2)))
    factories.car(here, number=2)
    monkeypatch.setattr("inspection.carfiles.forms.cars_by_number", lambda club: {})

    answer = confirm(client, here, preview)

    assert answer.status_code == 409
    assert "The next free number is 3" in answer.content.decode()
    assert list(Car.objects.of(here).values_list("number", flat=True)) == [2]
    assert not Driver.objects.of(here).filter(name="Ada Brandt").exists()


BUILD = {"declared": {"rear-tire-diameter": "20.4 mm"}}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04 no json", "not a JSON file"),
        (b'{"document":"cars","version":1,"cars":[],"cars":[]}', "damaged"),
        ({"document": "rule-sheet", "version": 1}, "does not hold cars"),
        ({"document": "cars", "version": 2}, "version 1 can be read"),
        (file_of(), "has no cars"),
        (file_of(car(), car()), "Car 1 stands in the file twice"),
        (file_of(car(number="1")), "Car in place 1 has no number"),
        (file_of(car(number=-1)), "Car in place 1 has no number"),
        (file_of(car(number=10**6)), "Car in place 1 has no number"),
        (file_of(car(number=True)), "Car in place 1 has no number"),
        (file_of(car(name=" ")), "Car 1 has no name"),
        (file_of(car(owner="…")), "Car 1 has no owner&#x27;s name"),
        (file_of(car(name="x" * 81)), "more than 80 characters"),
        (file_of(car(name="a\x00b")), "not text"),
        (file_of(car(paint="red")), "“paint”, which is not known here"),
        (file_of(*[car(number=n) for n in range(401)]), "more than 400 cars"),
        (file_of(car(builds=[{}])), "declares nothing"),
        (file_of(car(builds=[{"drive_layout": "sideways"}])), "the drive_layout “sideways”"),
        (file_of(car(builds=[BUILD | {"declared_at": "2999-01-01T00:00:00Z"}])), "not a time gone by"),
        (file_of(car(builds=[BUILD | {"declared_at": "2026-01-01T00:00:00"}])), "not a time gone by"),
        (file_of(car(builds=[{"declared": {"rear-tire-diameter": "20.4"}}])), "Type the unit after the number"),
        (file_of(car(builds=[{"declared": {"rear-tire-diameter": "20.4 g"}}])), "is a unit of mass"),
        (file_of(car(builds=[{"declared": {"rear-tire-diameter": "NaN mm"}}])), "is not a number"),
        (file_of(car(builds=[{"declared": {"rear-tire-diameter": 20.4}}])), "of the wrong type"),
        (file_of(car(builds=[{"declared": {"windows-clear": "perhaps"}}])), "neither yes nor no"),
        (file_of(car(builds=[{"declared": {"no-such-thing": "1"}}])), "described nowhere"),
        (file_of(car(name="<script>alert(1)</script>", owner="")), "Car 1 has no owner"),
    ],
)
def test_a_bad_file_says_where_and_what_and_nothing_comes_in(client, here, content, words):
    answer = send(client, here, content)

    text = answer.content.decode()
    assert answer.status_code == 422
    assert words in text
    assert "<script>alert" not in text
    assert not Car.objects.of(here).exists()


def test_no_file_is_asked_for(client, here):
    assert client.post(page(here)).status_code == 422


def test_a_confirmed_document_that_was_changed_is_read_again(client, here):
    preview = send(client, here, file_of(car()))

    answer = confirm(client, here, preview, document=json.dumps(file_of(car(paint="red"))))

    assert answer.status_code == 422
    assert "not known here" in answer.content.decode()
    assert not Car.objects.of(here).exists()


def test_a_script_in_every_field_is_shown_as_text(client, here):
    script = "<script>alert(1)</script>"
    spoken_of = {"code": "odd", "name": script, "kind": "text"}
    build = {"motor": script, "declared": {"odd": script}}
    content = file_of(
        car(name=script, owner=script, note=script, racing_class={"name": script}, builds=[build]),
        characteristics=[spoken_of],
        club=script,
    )

    preview = send(client, here, content)

    assert preview.status_code == 200
    assert "<script>alert" not in preview.content.decode()
    assert confirm(client, here, preview).status_code == 302
    kept = Car.objects.of(here).get()
    assert "<script>alert" not in client.get(reverse("car-detail", args=[here.slug, kept.public_id])).content.decode()


def test_several_problems_are_told_at_once(here):
    with pytest.raises(UnreadableCars) as refusal:
        read_cars(json.dumps(file_of(car(name=""), car(number=2, owner=""))).encode(), club=here)

    assert refusal.value.problems == ("Car 1 has no name.", "Car 2 has no owner's name.")


def test_when_a_build_was_declared_is_kept(client, here):
    build = BUILD | {"declared_at": "2026-03-01T19:30:00+01:00"}

    confirm(client, here, send(client, here, file_of(car(builds=[build]))))

    assert Build.objects.get(car__club=here).created_at == dt.datetime(2026, 3, 1, 18, 30, tzinfo=dt.UTC)


def test_one_car_goes_out_alone_and_a_strangers_does_not(client, here, there):
    mine = factories.car(here, number=5, name="Mine")
    factories.car(here, number=6)
    address = reverse("car-export", args=[here.slug])

    answer = client.get(address, {"car": mine.public_id})

    assert [each["number"] for each in json.loads(answer.content)["cars"]] == [5]
    assert answer["Content-Disposition"] == 'attachment; filename="5-mine.json"'
    stranger = Car.objects.of(there).first()
    assert client.get(address, {"car": stranger.public_id}).status_code == 404


def test_two_cars_and_two_hundred_go_out_in_as_many_queries(client, here):
    what = factories.characteristic(here)

    def grow(count):
        for _ in range(count):
            build = factories.build(factories.car(here, racing_class=factories.racing_class(here)))
            build.declared.create(characteristic=what, text="63 mm")

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(reverse("car-export", args=[here.slug])).status_code == 200
        return len(captured)

    grow(2)
    few = queries()
    grow(198)

    assert queries() == few


def test_the_preview_of_many_cars_takes_as_many_queries_as_of_few(client, here):
    install_register(club=here, by=None)

    def queries(count):
        cars = [car(number=n, owner=f"Driver {n}", builds=[BUILD]) for n in range(1, count + 1)]
        with CaptureQueriesContext(connection) as captured:
            assert send(client, here, file_of(*cars)).status_code == 200
        return len(captured)

    assert queries(200) == queries(2)


def test_the_schema_is_published_to_anyone(client):
    answer = client.get("/schemas/car.json")

    assert answer.status_code == 200
    assert json.loads(answer.content)["properties"]["document"] == {"const": "cars"}
    assert client.post("/schemas/car.json").status_code == 405


@pytest.mark.parametrize("wrong", [car(number=-1), car(paint="red"), car(builds=[{"declared": {"x": 1}}])])
def test_what_the_schema_refuses_the_reader_refuses_too(here, wrong):
    content = file_of(wrong)

    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(content, json.loads(schema_text()), cls=jsonschema.Draft202012Validator)
    with pytest.raises(UnreadableCars):
        read_cars(json.dumps(content).encode(), club=here)

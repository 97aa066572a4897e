"""The register is installed once; gauges are changed with a log and never deleted."""

import dataclasses

import pytest

from inspection.clubs.errors import ChangedMeanwhile
from inspection.conformity.clauses import CharacteristicKind
from inspection.gauges import services
from inspection.gauges.errors import CharacteristicCodeTaken, GaugeNameTaken
from inspection.gauges.selectors import CharacteristicContent, GaugeContent, version_of
from inspection.models import Characteristic, Gauge, LogEntry
from inspection.units import Kind, parse_quantity
from tests import factories

pytestmark = pytest.mark.django_db

CALIPER = GaugeContent(
    name="Caliper 2",
    kind="reading",
    measures=Kind.LENGTH,
    unit="in",
    resolution=parse_quantity(".0005 in", Kind.LENGTH, default_unit=None),
    max_permissible_error=parse_quantity("1/1000 in", Kind.LENGTH, default_unit=None),
)


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club):
    return factories.member(club)


def test_a_club_starts_with_a_caliper_a_scale_and_a_block(club, by):
    services.install_register(club=club, by=by)

    found = {
        gauge.name: (gauge.kind, gauge.resolution, gauge.max_permissible_error) for gauge in Gauge.objects.of(club)
    }
    assert found == {
        "Caliper": ("reading", "0.01 mm", "0.03 mm"),
        "Scale": ("reading", "0.1 g", "0.2 g"),
        "Go/no-go block": ("go_no_go", "", ""),
    }
    assert Characteristic.objects.of(club).get(code="overall-width").default_gauge.name == "Caliper"


def test_installing_the_register_again_makes_nothing_and_keeps_what_was_changed(club, by):
    first = services.install_register(club=club, by=by)
    Characteristic.objects.of(club).filter(code="overall-width").update(name="Width, pins off")

    again = services.install_register(club=club, by=by)

    assert (first > 40, again) == (True, 0)
    assert Characteristic.objects.of(club).get(code="overall-width").name == "Width, pins off"
    assert LogEntry.objects.of(club).filter(action__startswith="added built-in").count() == 1


def test_a_missing_entry_alone_is_put_back(club, by):
    services.install_register(club=club, by=by)
    Characteristic.objects.of(club).get(code="body").delete()

    assert services.install_register(club=club, by=by) == 1


def test_two_clubs_have_their_own_registers(club, by):
    other = factories.club()
    services.install_register(club=club, by=by)

    assert services.install_register(club=other, by=by) > 40


def test_a_gauge_keeps_the_form_its_figures_were_typed_in(club, by):
    gauge = services.create_gauge(club=club, content=CALIPER, by=by)

    assert (gauge.resolution, gauge.max_permissible_error) == ("0.0005 in", "1/1000 in")


def test_two_gauges_of_one_name_are_refused_whatever_the_case(club, by):
    services.create_gauge(club=club, content=CALIPER, by=by)

    with pytest.raises(GaugeNameTaken):
        services.create_gauge(club=club, content=dataclasses.replace(CALIPER, name="CALIPER 2"), by=by)


def test_changing_a_gauge_logs_what_it_was(club, by):
    gauge = services.create_gauge(club=club, content=CALIPER, by=by)
    coarser = dataclasses.replace(CALIPER, resolution=parse_quantity("1 thou", Kind.LENGTH, default_unit=None))

    services.change_gauge(gauge=gauge, content=coarser, version=version_of(gauge), by=by)

    entry = LogEntry.objects.of(club).get(action="changed gauge")
    assert (entry.detail["was"]["resolution"], entry.detail["now"]["resolution"]) == ("0.0005 in", "1 thou")
    assert entry.by == by


def test_the_second_of_two_people_is_told_who_was_first(club, by):
    gauge = services.create_gauge(club=club, content=CALIPER, by=by)
    opened = version_of(gauge)
    services.change_gauge(gauge=gauge, content=dataclasses.replace(CALIPER, note="new jaws"), version=opened, by=by)

    with pytest.raises(ChangedMeanwhile) as refusal:
        services.change_gauge(gauge=gauge, content=CALIPER, version=opened, by=by)

    assert str(by) in str(refusal.value)
    gauge.refresh_from_db()
    assert gauge.note == "new jaws"


def test_a_gauge_is_retired_and_taken_back(club, by):
    gauge = services.create_gauge(club=club, content=CALIPER, by=by)

    services.retire_gauge(gauge=gauge, by=by)
    services.retire_gauge(gauge=gauge, by=by)
    assert gauge.retired_at is not None

    services.restore_gauge(gauge=gauge, by=by)
    assert Gauge.objects.get(pk=gauge.pk).retired_at is None
    assert LogEntry.objects.of(club).filter(action="retired gauge").count() == 1


def test_a_new_characteristic_gets_a_code_from_its_name_and_stands_last(club, by):
    services.install_register(club=club, by=by)
    content = CharacteristicContent(name="Pin tube length", kind=CharacteristicKind.LENGTH, unit="in", group="chassis")

    made = services.create_characteristic(club=club, content=content, by=by)

    assert made.code == "pin-tube-length"
    assert made.position > 540
    with pytest.raises(CharacteristicCodeTaken):
        services.create_characteristic(club=club, content=content, by=by)


def test_a_name_without_latin_letters_still_gets_a_code(club, by):
    content = CharacteristicContent(name="幅", kind=CharacteristicKind.LENGTH, unit="mm")

    assert services.create_characteristic(club=club, content=content, by=by).code.startswith("own-")


def test_the_kind_of_a_characteristic_stays(club, by):
    services.install_register(club=club, by=by)
    width = Characteristic.objects.of(club).get(code="overall-width")
    content = CharacteristicContent(name="Width", kind=CharacteristicKind.MASS, unit="mm", group="across")

    services.change_characteristic(characteristic=width, content=content, version=version_of(width), by=by)

    width.refresh_from_db()
    assert (width.name, width.kind, width.code) == ("Width", "length", "overall-width")

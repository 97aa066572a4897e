"""A build is declared as a new revision; nothing old changes, and nothing is declared twice."""

import pytest

from inspection.builds.errors import BuildChangedMeanwhile, NothingDeclared, NothingDiffers
from inspection.builds.selectors import BuildContent, changes_between, content_of, latest_build
from inspection.builds.services import declare_build
from inspection.cars.selectors import spec_of
from inspection.gauges.services import install_register
from inspection.models import Build, Characteristic, DeclaredValue, LogEntry
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    club = factories.club()
    install_register(club=club, by=None)
    return factories.car(club)


def declared(car, **values):
    ids = dict(Characteristic.objects.of(car.club).values_list("code", "pk"))
    return {ids[code.replace("_", "-")]: text for code, text in values.items()}


def content(car, *, motor="", **values):
    return BuildContent(motor=motor, declared=declared(car, **values))


def test_each_build_is_a_new_revision_and_the_old_ones_stay(car):
    by = factories.member(car.club)
    first = declare_build(car=car, content=content(car, motor="S", rear_tire_diameter="20.40 mm"), by=by)
    second = declare_build(car=car, content=content(car, motor="S", rear_tire_diameter="20.10 mm"), by=by)

    assert [first.number, second.number] == [1, 2]
    assert first.declared.get().text == "20.40 mm"
    assert latest_build(car) == second
    assert [entry.summary for entry in LogEntry.objects.of(car.club).filter(action="declared build")] == [
        f"{car}, build 2",
        f"{car}, build 1",
    ]


def test_a_build_that_declares_nothing_is_refused(car):
    with pytest.raises(NothingDeclared):
        declare_build(car=car, content=content(car), by=None)

    assert not Build.objects.exists()


def test_a_build_that_equals_the_last_is_refused(car):
    declare_build(car=car, content=content(car, motor="S", pinion_teeth="12"), by=None)

    with pytest.raises(NothingDiffers) as refusal:
        declare_build(car=car, content=content_of(latest_build(car)), by=None)

    assert "build 1" in str(refusal.value)
    assert car.builds.count() == 1


@pytest.mark.parametrize("again", ["20.4 mm", "20.400 mm", "2.04 cm"])
def test_the_same_size_written_otherwise_is_no_new_build(car, again):
    declare_build(car=car, content=content(car, rear_tire_diameter="20.40 mm"), by=None)

    with pytest.raises(NothingDiffers):
        declare_build(car=car, content=content(car, rear_tire_diameter=again), by=None)


def test_a_value_that_is_dropped_is_a_difference(car):
    declare_build(car=car, content=content(car, motor="S", pinion_teeth="12"), by=None)

    assert declare_build(car=car, content=content(car, motor="S"), by=None).number == 2


def test_going_back_to_an_older_build_is_a_new_revision(car):
    first = declare_build(car=car, content=content(car, pinion_teeth="12"), by=None)
    declare_build(car=car, content=content(car, pinion_teeth="11"), by=None)

    assert declare_build(car=car, content=content_of(first), by=None).number == 3


def test_who_was_overtaken_is_told_and_nothing_is_saved(car):
    first = factories.member(car.club, name="Noor Haddad")
    declare_build(car=car, content=content(car, pinion_teeth="12"), based_on=0, by=first)

    with pytest.raises(BuildChangedMeanwhile) as refusal:
        declare_build(car=car, content=content(car, pinion_teeth="11"), based_on=0, by=None)

    assert "Noor Haddad" in str(refusal.value)
    assert DeclaredValue.objects.count() == 1


def test_what_changed_is_told_with_gears(car):
    declare_build(
        car=car,
        content=content(car, motor="S", pinion_teeth="12", driven_gear_teeth="32", rear_tire_diameter="20 mm"),
        by=None,
    )
    before = spec_of(latest_build(car))
    declare_build(
        car=car,
        content=content(car, motor="S", pinion_teeth="11", driven_gear_teeth="32", rear_tire_diameter="20.0 mm"),
        by=None,
    )
    now = spec_of(latest_build(car))

    assert [(change.what, change.before, change.now) for change in changes_between(now, before)] == [
        ("Pinion", "12", "11"),
        ("Gear ratio", "2.667", "2.909"),
        ("Rollout", "23.56 mm (0.928 in)", "21.60 mm (0.850 in)"),
    ]

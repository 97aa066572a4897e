"""Single motors: numbers of their own, tests, and what has changed since the first."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from inspection.clubs.errors import Refused
from inspection.models import LogEntry, MotorTest, MotorUnit, Role
from inspection.motors.selectors import latest_speed, motor_lines, motor_version, motors_of
from inspection.motors.services import MotorContent, MotorTestContent, add_motor_test, change_motor, create_motor
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club(decimal_mark=",")


@pytest.fixture
def kind(club):
    return factories.part(club, kind="motor", name="Heron 18")


@pytest.fixture
def motor(club, kind):
    return create_motor(club=club, content=MotorContent(number="H-1", part=kind), by=None)


def measured(motor, day, voltage, speed="", current=""):
    content = MotorTestContent(tested_on=dt.date(2026, 1, day), voltage=voltage, speed=speed, current=current)
    return add_motor_test(motor=motor, content=content, by=None)


def test_a_number_stands_on_one_motor_of_a_club(club, kind, motor):
    with pytest.raises(Refused) as refusal:
        create_motor(club=club, content=MotorContent(number="H-1", part=kind), by=None)

    assert refusal.value.code == "motor_number_taken"
    assert "Heron 18" in str(refusal.value)
    elsewhere = factories.club()
    other = factories.part(elsewhere, kind="motor")
    assert create_motor(club=elsewhere, content=MotorContent(number="H-1", part=other), by=None)


def test_a_motor_is_of_a_kind_of_motor_of_the_club(club):
    for part in (factories.part(club, kind="tire"), factories.part(factories.club(), kind="motor")):
        with pytest.raises(Refused) as refusal:
            create_motor(club=club, content=MotorContent(number="X", part=part), by=None)
        assert refusal.value.code == "stranger_in_motor"


def test_the_change_is_of_the_speed_for_each_volt_since_the_first_test(motor):
    measured(motor, 3, "6 V", "9000 rpm")
    measured(motor, 5, "12 V", "18900 rpm", "0.15 A")
    measured(motor, 9, "12 V", current="0.16 A")

    latest, second, first = motor_lines(motors_of(motor.club).get())

    assert (first.per_volt, first.change_shown) == (1500, "")
    assert (second.per_volt, second.change_shown) == (1575, "+5,0 %")
    assert (latest.per_volt, latest.change) == (None, None)
    assert latest_speed(motors_of(motor.club).get()).test == second.test


def test_a_slower_motor_is_told_with_a_minus(motor):
    measured(motor, 3, "12 V", "18000 rpm")
    measured(motor, 4, "12 V", "17.1 krpm")

    assert motor_lines(motor)[0].change_shown == "\N{MINUS SIGN}5,0 %"


def test_a_test_says_speed_or_current(motor):
    with pytest.raises(Refused) as refusal:
        measured(motor, 3, "12 V")

    assert refusal.value.code == "nothing_measured"
    assert not MotorTest.objects.exists()


def test_who_saves_second_is_told(kind, motor):
    version = motor_version(motor)
    content = MotorContent(number="H-1", part=kind, hours=Decimal("2.5"))
    change_motor(motor=motor, content=content, version=version, by=None)

    with pytest.raises(Refused) as refusal:
        change_motor(motor=motor, content=content, version=version, by=None)
    assert refusal.value.code == "motor_changed_meanwhile"


def test_the_log_knows_each_step(club, kind, motor):
    measured(motor, 3, "12 V", "18000 rpm")

    actions = set(LogEntry.objects.of(club).values_list("action", flat=True))
    assert actions == {"entered single motor", "measured single motor"}


def test_many_motors_and_tests_are_read_with_two_queries(club, kind, django_assert_num_queries):
    for number in range(9):
        made = create_motor(club=club, content=MotorContent(number=f"N{number}", part=kind), by=None)
        measured(made, 3, "12 V", "18000 rpm")
        measured(made, 4, "12 V", "18100 rpm")

    with django_assert_num_queries(2):
        assert {latest_speed(each).change_shown for each in motors_of(club)} == {"+0,6 %"}


def test_a_motor_is_entered_and_measured_on_its_page(client, club, kind):
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))
    client.post(
        reverse("motor-create", args=[club.slug]),
        {"number": "H-7", "part": kind.pk, "hours": "1,5", "is_active": "on"},
    )
    motor = MotorUnit.objects.get()
    measure = reverse("motor-test-create", args=[club.slug, motor.public_id])

    client.post(measure, {"voltage": "6", "speed": "9100", "current": "0,12", "tested_on": "2026-11-20"})
    wrong = client.post(measure, {"voltage": "6 A", "speed": "9100", "tested_on": "2026-11-20"})

    found = MotorTest.objects.get()
    assert (found.voltage, found.speed, found.current) == ("6 V", "9100 rpm", "0.12 A")
    assert motor.hours == Decimal("1.5")
    assert wrong.status_code == 422
    assert "1517" in client.get(reverse("motor-detail", args=[club.slug, motor.public_id])).content.decode()
    assert client.post(measure, {"voltage": "6", "tested_on": "2026-11-20"}).status_code == 409


def test_a_taken_number_is_told_at_its_field(client, club, kind, motor):
    client.force_login(factories.member(club, Role.OWNER))

    page = client.post(reverse("motor-create", args=[club.slug]), {"number": "H-1", "part": kind.pk})

    assert page.status_code == 409
    assert "Each motor has one of its own" in page.content.decode()

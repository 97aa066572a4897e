"""The drawers and the counter of the invented club: its parts, two single motors, and a job for somebody."""

from decimal import Decimal

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from inspection.clubs.imports import read_table
from inspection.jobtickets.services import JobContent, add_labor, open_job, use_part
from inspection.models import Part
from inspection.motors.services import MotorContent, MotorTestContent, add_motor_test, create_motor
from inspection.partfiles.services import bring_in_parts
from racedesk.management.scenario_club import World

PARTS = settings.BASE_DIR / "fixtures" / "demo" / "parts.csv"
# Number, hours, note; then days ago, rpm and A at 12 V without load.
MOTORS: tuple[tuple[str, str, str, tuple[tuple[int, int, str], ...]], ...] = (
    ("H-04", "11.5", "Club car 33", ((84, 18_150, "0.14"), (50, 18_420, "0.14"), (12, 17_980, "0.16"))),
    ("H-09", "2.0", "Spare, run in on the bench", ((84, 18_610, "0.13"), (12, 18_700, "0.13"))),
)


def fill_drawers(world: World) -> None:
    """The parts, from the list that the club kept before."""
    world.go_to(world.days_ago(90), "18:00")
    upload = SimpleUploadedFile(PARTS.name, PARTS.read_bytes())
    bring_in_parts(club=world.club, table=read_table(upload), by=world.users["inspector"])


def take_a_job(world: World) -> None:
    """New rear tires for a customer's car: a deposit is paid, parts have gone in, tomorrow it is collected."""
    world.go_to(world.days_ago(2), "16:20")
    content = JobContent(
        customer="Wanda Ostrowski",
        contact="555 0171",
        car_words="Red coupe, no. 46 on the doors",
        work_agreed="New rear tires, glued and trued to 20.0 mm. The worn pinion is changed.",
        promised_on=world.days_ago(-1),
        deposit=Decimal("10.00"),
    )
    desk = world.users["desk"]
    ticket = open_job(club=world.club, content=content, by=desk)
    world.clock.forward(3600)
    for code, quantity in (("TIRE-200-10", 2), ("PIN-11-6.5", 1)):
        part = Part.objects.of(world.club).get(code=code)
        use_part(ticket=ticket, part=part, quantity=Decimal(quantity), by=desk)
    add_labor(ticket=ticket, text="Gluing and truing", quantity=Decimal("0.75"), price=Decimal("18.00"), by=desk)


def measure_motors(world: World) -> None:
    """Two motors of one kind with numbers, measured before and after racing."""
    inspector = world.users["inspector"]
    kind = Part.objects.of(world.club).get(code="MOT-HERON-18")
    for number, hours, note, readings in MOTORS:
        world.go_to(world.days_ago(readings[0][0]), "18:30")
        content = MotorContent(number=number, part=kind, hours=Decimal(hours), note=note)
        motor = create_motor(club=world.club, content=content, by=inspector)
        for days, speed, current in readings:
            world.go_to(world.days_ago(days), "18:40")
            told = MotorTestContent(
                tested_on=world.days_ago(days), voltage="12 V", speed=f"{speed} rpm", current=f"{current} A"
            )
            add_motor_test(motor=motor, content=told, by=inspector)

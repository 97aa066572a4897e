"""The drawers and the counter of the invented club: its parts, two single motors, and a job for somebody."""

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from inspection.clubs.imports import read_table
from inspection.partfiles.services import bring_in_parts
from racedesk.management.scenario_club import World

PARTS = settings.BASE_DIR / "fixtures" / "demo" / "parts.csv"


def fill_drawers(world: World) -> None:
    """The parts, from the list that the club kept before."""
    world.go_to(world.days_ago(90), "18:00")
    upload = SimpleUploadedFile(PARTS.name, PARTS.read_bytes())
    bring_in_parts(club=world.club, table=read_table(upload), by=world.users["inspector"])

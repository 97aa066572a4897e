"""`manage.py serve`: a club's own race nights, on this machine, for every phone on its network."""

import getpass
import sys
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, connections
from django.utils.text import slugify

from racedesk.management import server

# What is asked on a terminal: the field of the first page's form, the question, and what an empty answer means.
QUESTIONS = (
    ("name", "Club's name", ""),
    ("slug", "Short name in addresses", ""),
    ("track_name", "Track's name", "Main track"),
    ("lanes", "How many lanes", "6"),
    ("person", "Your name", ""),
    ("username", "Your sign-in name", ""),
)


class Command(BaseCommand):
    help = "Start RaceDesk for your own club. The first start asks for the club, its track and its first director."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to answer on (default 8000; 0: any free one)")

    def handle(self, *args: Any, **options: Any) -> None:
        self.refuse_a_demo()
        port = server.find_port(options["port"])
        server.prepare()
        address = server.address_for(port)
        first_page = self.found_or_find_first_page()
        server.announce(address, self.stdout.write, kept_in="address.txt")
        for sentence in server.missing_parts():
            self.stdout.write(sentence)
        if first_page:
            self.stdout.write(f"No club is here yet. Found it on this page:\n{urljoin(address, first_page)}")
        self.stdout.write("Stop with Ctrl-C. Everything is kept in " + str(settings.DATA_DIR))
        self.stdout.flush()
        connections.close_all()
        server.run_server(port=port, environment={"RACEDESK_ADDRESS": address})

    def refuse_a_demo(self) -> None:
        """A club must not build up its seasons in what `--fresh` throws away."""
        is_file = connection.vendor == "sqlite"
        if settings.IS_DEMO or (is_file and server.is_demo(Path(connection.settings_dict["NAME"]))):
            raise CommandError("This database is the demo's: start it with `manage.py demo`, or name another.")

    def found_or_find_first_page(self) -> str:
        """ "" where a club is, or has just been founded on the terminal; else the address of the first page."""
        from django.urls import reverse  # noqa: PLC0415  the pages are loaded only where they are needed

        from inspection.founding.services import first_run_code  # noqa: PLC0415

        code = first_run_code()
        if not code:
            return ""
        if sys.stdin.isatty() and self.found_on_terminal(code):
            return ""
        return f"{reverse('first-run')}?code={code}"

    def found_on_terminal(self, code: str) -> bool:
        """Ask until the answers hold; an empty club's name leaves it to the page."""
        from inspection.clubs.errors import Refused  # noqa: PLC0415
        from inspection.founding.services import found_club  # noqa: PLC0415

        self.stdout.write("No club is here yet. Found it now, or leave the name empty to do it on a page instead.\n")
        given: dict[str, str] = {}
        asked = {field for field, _question, _usual in QUESTIONS} | {"password"}
        wrong = asked
        while True:
            try:
                if not self.ask(given, wrong):
                    return False
            except EOFError:
                return False
            except KeyboardInterrupt as error:
                raise CommandError("Stopped; nothing was founded.", returncode=130) from error
            form = _form(given | {"code": code})
            if form.is_valid():
                try:
                    found_club(**form.parts)
                except Refused as refusal:
                    self.stdout.write(str(refusal))
                    wrong = {"username", "password"}
                    continue
                self.stdout.write(f"{given['name']} stands, with you as its owner and race director.\n")
                return True
            for field, errors in form.errors.items():
                self.stdout.write(f"{form.fields[field].label if field in form.fields else field}: {errors[0]}")
            wrong = {"lanes" if field == "lane_names" else field for field in form.errors} & asked
            if not wrong:  # what is not asked here can be set right on the page
                return False

    def ask(self, given: dict[str, str], wrong: set[str]) -> bool:
        """Ask for these fields; False when the club's name was left empty."""
        for field, question, usual in QUESTIONS:
            if field not in wrong:
                continue
            default = usual or (slugify(given.get("name", ""))[:40] if field == "slug" else "")
            answer = input(f"{question} [{default}]: " if default else f"{question}: ").strip()
            given[field] = answer or default
            if field == "name" and not answer:
                return False
        while "password" in wrong:
            given["password"] = getpass.getpass("A password, at least ten characters: ")
            if getpass.getpass("The same again: ") == given["password"]:
                break
            self.stdout.write("The two differ.")
        return True


def _form(given: dict[str, str]) -> Any:
    """The first page's own form with these answers, so that both ways ask for the same."""
    from inspection.founding.forms import FoundingForm  # noqa: PLC0415
    from inspection.tracks.selectors import USUAL_NAMES  # noqa: PLC0415

    count = int(given["lanes"]) if given["lanes"].isascii() and given["lanes"].isdigit() else 0
    names = [USUAL_NAMES[n] if n < len(USUAL_NAMES) else str(n + 1) for n in range(min(count, 99))]
    usual = {name: field.initial for name, field in FoundingForm.base_fields.items() if field.initial is not None}
    zone = {"time_zone": str(server.local_zone())}
    return FoundingForm(usual | zone | given | {"lane_names": ", ".join(names)})

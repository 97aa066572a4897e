"""`manage.py demo`: an invented club on an invented night, in a database file of its own."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from racedesk.management import server

# SQLite keeps a number of the application's choice in each file: by it a demo is known, and nothing else overwritten.
DEMO_MARK = 0x52444D31


def is_demo(path: Path) -> bool:
    """Whether this database file was made by the demo."""
    try:
        with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as database:
            return bool(database.execute("PRAGMA application_id").fetchone()[0] == DEMO_MARK)
    except sqlite3.DatabaseError:
        return False


class Command(BaseCommand):
    help = "Start RaceDesk with an invented club, to look around in. It never touches another database."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to answer on (default 8000)")
        parser.add_argument("--fresh", action="store_true", help="load the scenario anew, over an earlier demo")
        parser.add_argument("--load-only", action="store_true", help="load the scenario and stop")
        parser.add_argument("--here", action="store_true", help="(used by the command itself)")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["here"]:
            self.load()
            return
        path = Path(settings.DATA_DIR) / "demo.sqlite3"
        if path.exists() and not is_demo(path):
            raise CommandError(
                f"{path} is not a demo, so it stays as it is. Move it away, or set RACEDESK_DATA to another folder."
            )
        try:
            port = server.find_port(options["port"])
        except OSError as error:
            raise CommandError(f"Port {options['port']} is in use: choose another with --port.") from error
        if options["fresh"] or not path.exists():
            self.make(path)
        if options["load_only"]:
            return
        server.collect_static()
        address = f"http://{server.lan_address()}:{port}/"
        server.announce(address, self.stdout.write)
        self.stdout.write(
            "Everything in it is invented. Sign in as director, inspector, desk or driver; "
            "the password of each is race-night.\nStop with Ctrl-C; what you did is kept until --fresh.\n"
        )
        server.run_server(port=port, environment=self.environment(path) | {"RACEDESK_ADDRESS": address})

    def environment(self, path: Path) -> dict[str, str]:
        """What points the server, or the loader, at the demo's own file."""
        return {"RACEDESK_DATABASE": path.name, "RACEDESK_DATABASE_URL": "", "RACEDESK_DEMO": "on"}

    def make(self, path: Path) -> None:
        """Load into a file apart and put it in place when whole: a demo that was broken off is never served."""
        part = path.with_name("demo-loading.sqlite3")
        Path(settings.DATA_DIR).mkdir(parents=True, exist_ok=True)
        for left_over in (part, Path(f"{part}-wal"), Path(f"{part}-shm")):
            left_over.unlink(missing_ok=True)
        command = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), "demo", "--here"]
        loaded = subprocess.run(command, env={**os.environ, **self.environment(part)}, check=False)  # noqa: S603  our own command
        if loaded.returncode:
            raise CommandError("The demo could not be loaded; the reason stands above.")
        for old in (Path(f"{path}-wal"), Path(f"{path}-shm")):
            old.unlink(missing_ok=True)
        part.replace(path)

    def load(self) -> None:
        """In the demo's own process: tables, scenario, mark."""
        from django.core.management import call_command  # noqa: PLC0415

        from racedesk.management.scenario import load_scenario  # noqa: PLC0415  only the demo needs it

        if not settings.IS_DEMO:
            raise CommandError("--here is for the command itself: run `manage.py demo`.")
        call_command("migrate", interactive=False, verbosity=0)
        load_scenario(progress=self.show_progress)
        self.stdout.write("")
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA application_id = {DEMO_MARK}")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()

    def show_progress(self, done: int, total: int, what: str) -> None:
        """A bar that fills on a terminal, and a line a step elsewhere."""
        width = 30
        filled = width * done // max(total, 1)
        line = f"[{'#' * filled}{'.' * (width - filled)}] {done}/{total} {what}"
        if self.stdout.isatty():
            self.stdout.write(f"\r{line:<78}", ending="")
            self.stdout.flush()
        else:
            self.stdout.write(line)

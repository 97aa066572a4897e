"""`manage.py demo`: an invented club on an invented night, in a database file of its own."""

import os
import signal
import subprocess
import sys
import time
from argparse import SUPPRESS
from pathlib import Path
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from racedesk.management import server

LEFT_OVER_AFTER_S = 3600  # a half-loaded file older than this belongs to a load that was broken off


class Command(BaseCommand):
    help = "Start RaceDesk with an invented club, to look around in. It never touches another database."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to answer on (default 8000; 0: any free one)")
        parser.add_argument("--fresh", action="store_true", help="load the scenario anew, over an earlier demo")
        parser.add_argument("--load-only", action="store_true", help="load the scenario and stop")
        parser.add_argument("--here", action="store_true", help=SUPPRESS)  # the loading process that this one starts

    def handle(self, *args: Any, **options: Any) -> None:
        if options["here"]:
            try:
                self.load()
            except KeyboardInterrupt:
                sys.exit(130)  # the command that waits for this one says so
            return
        path = Path(settings.DATA_DIR) / "demo.sqlite3"
        if path.exists() and not server.is_demo(path):
            raise CommandError(
                f"{path} is not a demo, so it stays as it is. Move it away, or set RACEDESK_DATA to another folder."
            )
        port = 0 if options["load_only"] else server.find_port(options["port"])
        if options["fresh"] or not path.exists():
            self.make(path)
        else:
            self.bring_up_to_date(path)
        if options["load_only"]:
            return
        server.collect_static()
        address = server.address_for(port)
        server.announce(address, self.stdout.write, kept_in="demo-address.txt")
        self.stdout.write(
            "Everything in it is invented. Sign in as director, inspector, desk or driver; "
            "the password of each is race-night.\nStop with Ctrl-C; what you did is kept until --fresh.\n"
        )
        for sentence in server.missing_parts():
            self.stdout.write(sentence)
        self.stdout.flush()
        server.run_server(port=port, environment=self.environment(path) | {"RACEDESK_ADDRESS": address})

    # The database is touched by processes of their own, whose settings point at the demo's file and nothing else.

    def environment(self, path: Path) -> dict[str, str]:
        """What points the server, or the loader, at the demo's own file."""
        return {
            "RACEDESK_DATA": str(settings.DATA_DIR),
            "RACEDESK_DATABASE": path.name,
            "RACEDESK_DATABASE_URL": "",
            "RACEDESK_DEMO": "on",
        }

    def run_on(self, path: Path, *arguments: str) -> bool:
        """Run a command of ours on this file; whether it went well. It ends with this process."""
        command = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), *arguments]
        before = signal.signal(signal.SIGTERM, _stop)
        process = subprocess.Popen(command, env={**os.environ, **self.environment(path)})  # noqa: S603  our own command
        try:
            return process.wait() == 0
        finally:
            if process.poll() is None:
                process.kill()
                process.wait()
            signal.signal(signal.SIGTERM, before)

    def bring_up_to_date(self, path: Path) -> None:
        """An earlier demo: its tables as this version has them, and a word when its night is over."""
        if not self.run_on(path, "migrate", "--no-input", "--verbosity", "0"):
            raise CommandError("This demo is of another version: load it anew with --fresh.")
        if 0 < server.demo_day(path) < server.today().toordinal():
            self.stdout.write("This demo was loaded on an earlier day, which it calls tonight: --fresh loads it anew.")

    def make(self, path: Path) -> None:
        """Load into a file apart and put it in place when whole: a demo that was broken off is never served."""
        Path(settings.DATA_DIR).mkdir(parents=True, exist_ok=True)
        _remove_left_overs(path.parent)
        part = path.with_name(f"demo-loading-{os.getpid()}.sqlite3")
        try:
            if not self.run_on(part, "demo", "--here"):
                raise CommandError("The demo could not be loaded; the reason stands above.")
            # A journal of the old file must never be read into the new one.
            for old in _journals(path):
                old.unlink(missing_ok=True)
            part.replace(path)
        except KeyboardInterrupt as error:
            raise CommandError("Stopped before the demo was loaded; nothing has changed.", returncode=130) from error
        finally:
            for left in (part, *_journals(part)):
                left.unlink(missing_ok=True)

    def load(self) -> None:
        """In the demo's own process: tables, scenario, mark."""
        from django.core.management import call_command  # noqa: PLC0415
        from django.db import connection  # noqa: PLC0415

        from racedesk.management.scenario import load_scenario  # noqa: PLC0415  only the demo needs it

        if not settings.IS_DEMO:
            raise CommandError("--here is for the command itself: run `manage.py demo`.")
        call_command("migrate", interactive=False, verbosity=0)
        load_scenario(progress=self.show_progress)
        if self.stdout.isatty():
            self.stdout.write("")
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA application_id = {server.DEMO_MARK}")
            cursor.execute(f"PRAGMA user_version = {server.today().toordinal()}")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()

    def show_progress(self, done: int, total: int, what: str) -> None:
        """A bar that fills on a terminal, and a line a step elsewhere."""
        width = 30
        filled = width * done // max(total, 1)
        line = f"[{'#' * filled}{'.' * (width - filled)}] {done}/{total} {what}"
        if self.stdout.isatty():
            self.stdout.write(f"\r{line:<78}", ending="")
        else:
            self.stdout.write(line)
        self.stdout.flush()


def _stop(number: int, frame: FrameType | None) -> None:
    """On a stop signal leave as on Ctrl-C, so that the loader is ended and its file removed."""
    raise KeyboardInterrupt


def _journals(path: Path) -> tuple[Path, ...]:
    return tuple(Path(f"{path}{ending}") for ending in ("-wal", "-shm", "-journal"))


def _remove_left_overs(folder: Path) -> None:
    """Files of loads that were killed; a load that is under way in another terminal is younger."""
    for left in folder.glob("demo-loading-*.sqlite3*"):
        if left.stat().st_mtime < time.time() - LEFT_OVER_AFTER_S:
            left.unlink(missing_ok=True)

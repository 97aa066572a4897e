"""What `serve` and `demo` share: make the database ready, say where phones find it, and run the server."""

import ctypes.util
import datetime as dt
import hashlib
import os
import socket
import sqlite3
import subprocess
import sys
import zoneinfo
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path

import segno
from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.core.management.base import CommandError

from racedesk.checks import check_font_subsetter

# SQLite keeps a number of the application's choice in each file: by it a demo is known, and nothing else overwritten.
DEMO_MARK = 0x52444D31
NO_NETWORK = "127.0.0.1"


def is_demo(path: Path) -> bool:
    """Whether this database file was made by the demo."""
    return _pragma(path, "application_id") == DEMO_MARK


def demo_day(path: Path) -> int:
    """The ordinal of the day that a demo file calls tonight; 0 when the file does not say."""
    return _pragma(path, "user_version") or 0


def _pragma(path: Path, name: str) -> int | None:
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as database:
            return int(database.execute(f"PRAGMA {name}").fetchone()[0])
    except sqlite3.DatabaseError:
        return None


def local_zone() -> zoneinfo.ZoneInfo:
    """The time zone this machine keeps, as its system names it; UTC where it does not say.

    Django sets the process to UTC, so the process itself cannot be asked.
    """
    parts = Path("/etc/localtime").resolve().parts
    names = ["/".join(parts[place:]) for place in range(max(len(parts) - 3, 0), len(parts))]
    known = {name for name in zoneinfo.available_timezones() if not name.startswith("Etc/")}
    return zoneinfo.ZoneInfo(next((name for name in names if name in known), "UTC"))


def today() -> dt.date:
    """The day on this machine's calendar."""
    return dt.datetime.now(local_zone()).date()


def lan_address() -> str:
    """This machine's address on its own network; 127.0.0.1 when it has none. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address: only the routing table is asked
            return str(probe.getsockname()[0])
        except OSError:
            return _address_of_own_name()


def _address_of_own_name() -> str:
    """Where a network has no way out, as on a club's own switch, the routing table has no answer."""
    try:
        found = socket.gethostbyname_ex(socket.gethostname())[2]
    except OSError:
        return NO_NETWORK
    return next((address for address in found if not address.startswith("127.")), NO_NETWORK)


def address_for(port: int) -> str:
    """What phones type, or read from a code; RACEDESK_ADDRESS when it is set."""
    return settings.LAN_ADDRESS or f"http://{lan_address()}:{port}/"


def find_port(wanted: int) -> int:
    """The wanted port when it is free on this machine; any free one for 0. Raises CommandError."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as trial:
        # As the server itself does: a port in TIME_WAIT after a restart is free.
        if os.name == "posix":
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind(("0.0.0.0", wanted))  # noqa: S104  phones on the club's network must reach it
        except OverflowError as error:
            raise CommandError(f"There is no port {wanted}: a port is a number up to 65535.") from error
        except PermissionError as error:
            raise CommandError(f"Port {wanted} is not for everybody: choose one above 1023 with --port.") from error
        except OSError as error:
            raise CommandError(f"Port {wanted} is in use: choose another with --port.") from error
        return int(trial.getsockname()[1])


def prepare() -> None:
    """Bring the database up to date and collect the static files."""
    Path(settings.DATA_DIR).mkdir(parents=True, exist_ok=True)
    call_command("migrate", interactive=False, verbosity=0)
    collect_static()


def collect_static() -> None:
    """Compress and fingerprint scripts, styles and fonts into the data folder, unless they stand there as they are."""
    mark = Path(settings.STATIC_ROOT) / "collected.txt"
    wanted = _static_fingerprint()
    if mark.exists() and mark.read_text(encoding="ascii") == wanted:
        return
    mark.unlink(missing_ok=True)  # what is broken off is collected anew
    call_command("collectstatic", interactive=False, verbosity=0)
    mark.parent.mkdir(parents=True, exist_ok=True)
    mark.write_text(wanted, encoding="ascii")


def _static_fingerprint() -> str:
    """Changes whenever a static file, its place or the way of keeping them changes."""
    found = [settings.STORAGES["staticfiles"]["BACKEND"]]
    for finder in get_finders():
        for path, storage in finder.list([]):
            there = Path(storage.path(path)).stat()
            found.append(f"{path} {there.st_size} {there.st_mtime_ns}")
    return hashlib.sha256("\n".join(sorted(found)).encode()).hexdigest()


def missing_parts() -> list[str]:
    """One sentence for each part of the system that paper would need, where it is missing."""
    if not ctypes.util.find_library("pango-1.0"):
        return ["Pango is not installed: paper is printed from the browser instead of as PDF (see README)."]
    return [f"{found.msg} {found.hint}" for found in check_font_subsetter([])]


def announce(address: str, write: Callable[[str], object], *, kept_in: str) -> None:
    """Print the address, and a QR code of it for the phones; say when codes printed earlier no longer match.

    kept_in: the file in the data folder that remembers the address.
    """
    kept = Path(settings.DATA_DIR) / kept_in
    before = kept.read_text(encoding="utf-8").strip() if kept.exists() else ""
    kept.write_text(address, encoding="utf-8")
    write(f"\nRaceDesk is at {address}")
    if f"//{NO_NETWORK}" in address:
        write("This machine is on no network, so phones cannot reach it: join one, and start again.\n")
    else:
        write("Phones on the same network: open the camera on this code.\n")
        _show_code(address)
    if before and before != address:
        write(
            f"The address was {before} before. QR codes printed then no longer match: print tonight's paper again,\n"
            "or give this machine its old address.\n"
        )


def _show_code(address: str) -> None:
    try:
        "█▀▄".encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:  # a terminal that has no such letters
        return
    segno.make(address, micro=False).terminal(out=sys.stdout, compact=True)


def run_server(*, port: int, environment: Mapping[str, str]) -> None:
    """Replace this process by uvicorn, so that Ctrl-C and a stop signal reach it; returns never on POSIX."""
    command = [
        *(sys.executable, "-m", "uvicorn", "racedesk.asgi:application"),
        *("--host", "0.0.0.0", "--port", str(port)),  # noqa: S104  phones on the club's network must reach it
        *("--lifespan", "off", "--log-level", "warning", "--no-server-header", "--timeout-graceful-shutdown", "3"),
    ]
    # The folder may have been given relative to where the command was started.
    full = {**os.environ, "RACEDESK_DATA": str(settings.DATA_DIR), **environment}
    sys.stdout.flush()
    os.chdir(settings.BASE_DIR)
    if os.name == "posix":
        os.execve(sys.executable, command, full)  # noqa: S606  our own interpreter and arguments
    sys.exit(subprocess.call(command, env=full))  # noqa: S603  our own interpreter and arguments

"""What `serve` and `demo` share: make the database ready, say where phones find it, and run the server."""

import os
import socket
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import segno
from django.conf import settings
from django.core.management import call_command

ADDRESS_FILE = "address.txt"


def lan_address() -> str:
    """This machine's address on its own network; 127.0.0.1 when it has none. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address: only the routing table is asked
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def find_port(wanted: int) -> int:
    """The wanted port when it is free on this machine. Raises OSError when it is not."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as trial:
        # As the server itself does: a port in TIME_WAIT after a restart is free.
        if os.name == "posix":
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        trial.bind(("0.0.0.0", wanted))  # noqa: S104  phones on the club's network must reach it
    return wanted


def prepare() -> None:
    """Bring the database up to date and collect the static files."""
    Path(settings.DATA_DIR).mkdir(parents=True, exist_ok=True)
    call_command("migrate", interactive=False, verbosity=0)
    collect_static()


def collect_static() -> None:
    """Compress and fingerprint scripts, styles and fonts into the data folder."""
    call_command("collectstatic", interactive=False, verbosity=0)


def announce(address: str, write: Callable[[str], object]) -> None:
    """Print the address, and a QR code of it for the phones; say when codes printed earlier no longer match."""
    kept = Path(settings.DATA_DIR) / ADDRESS_FILE
    before = kept.read_text(encoding="utf-8").strip() if kept.exists() else ""
    kept.write_text(address, encoding="utf-8")
    write(f"\nRaceDesk is at {address}\nPhones on the same network: open the camera on this code.\n")
    segno.make(address, micro=False).terminal(out=sys.stdout, compact=True)
    if before and before != address:
        write(
            f"The address was {before} before. QR codes printed then no longer match: print tonight's paper again,\n"
            "or give this machine its old address.\n"
        )


def run_server(*, port: int, environment: Mapping[str, str]) -> None:
    """Replace this process by uvicorn, so that Ctrl-C and a stop signal reach it; returns never on POSIX."""
    command = [
        *(sys.executable, "-m", "uvicorn", "racedesk.asgi:application"),
        *("--host", "0.0.0.0", "--port", str(port)),  # noqa: S104  phones on the club's network must reach it
        *("--lifespan", "off", "--log-level", "warning", "--no-server-header", "--timeout-graceful-shutdown", "3"),
    ]
    full = {**os.environ, **environment}
    sys.stdout.flush()
    os.chdir(settings.BASE_DIR)
    if os.name == "posix":
        os.execve(sys.executable, command, full)  # noqa: S606  our own interpreter and arguments
    sys.exit(subprocess.call(command, env=full))  # noqa: S603  our own interpreter and arguments

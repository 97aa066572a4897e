"""Real servers for tests: started on a free port with a data folder of their own, and always stopped."""

import http.cookiejar
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 240  # a busy machine; how long a start takes at rest is measured elsewhere


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


def environment(data_dir: Path, **more: str) -> dict[str, str]:
    """As in a shell that knows nothing of the test run."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("RACEDESK_", "DJANGO_"))}
    return kept | {"RACEDESK_DATA": str(data_dir), "PYTHONUNBUFFERED": "1", "PYTHONIOENCODING": "utf-8"} | more


class Server:
    """A command of manage.py that serves until it is stopped. What it prints stands in `said`."""

    def __init__(self, command: str, data_dir: Path, *arguments: str) -> None:
        self.port = free_port()
        self.log = data_dir.parent / f"{command}-{self.port}.log"
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", command, "--port", str(self.port), *arguments],
            cwd=ROOT,
            env=environment(data_dir),
            stdin=subprocess.DEVNULL,
            stdout=self.log.open("wb"),
            stderr=subprocess.STDOUT,
            start_new_session=True,
            # A run in the background ignores this signal, and what it starts would too.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509  nothing here holds a lock
        )

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def said(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace")

    def wait_until_it_says(self, words: str) -> None:
        self._wait(lambda: words in self.said)

    def wait_until_it_answers(self) -> None:
        self._wait(self._answers)

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(self.address + "/sign-in/", timeout=10) as answer:
                return answer.status == 200
        except urllib.error.HTTPError:
            return True
        except OSError:
            return False

    def _wait(self, happened) -> None:
        end = time.monotonic() + PATIENCE_S
        while not happened():
            if self.process.poll() is not None and not happened():
                raise AssertionError(f"it ended with {self.process.returncode}:\n{self.said}")
            if time.monotonic() > end:
                raise AssertionError(f"nothing after {PATIENCE_S} s:\n{self.said}")
            time.sleep(0.1)

    def stop(self, how: int = signal.SIGTERM, patience_s: float = 30) -> int:
        """Send the signal to the process that was started, and wait until it has ended."""
        self.process.send_signal(how)
        return self.process.wait(timeout=patience_s)

    def has_children_left(self) -> bool:
        """Whether anything that it started still runs."""
        try:
            os.killpg(self.process.pid, 0)
        except ProcessLookupError:
            return False
        return True

    def clean_up(self) -> None:
        if self.has_children_left():
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(timeout=30)


class Visitor:
    """Somebody at a browser without scripts: follows redirects, keeps cookies, sends forms with their token."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.cookies = http.cookiejar.CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.cookies))

    def get(self, path: str) -> tuple[int, str, str]:
        """Status, text, and the path where it ended."""
        return self._open(urllib.request.Request(urllib.parse.urljoin(self.address, path)))

    def post(self, path: str, fields: dict, *, files: dict[str, tuple[str, bytes]] | None = None):
        """Send a form that stands at this path; files: field name to file name and content."""
        _status, page, _where = self.get(path)
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1]
        boundary = uuid.uuid4().hex
        parts = []
        for name, value in ({"csrfmiddlewaretoken": token} | fields).items():
            head = f'--{boundary}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n'
            parts.append(head.encode() + str(value).encode() + b"\r\n")
        for name, (file_name, content) in (files or {}).items():
            head = f'--{boundary}\r\nContent-Disposition: form-data; name="{name}"; filename="{file_name}"\r\n'
            parts.append(head.encode() + b"Content-Type: text/csv\r\n\r\n" + content + b"\r\n")
        request = urllib.request.Request(
            urllib.parse.urljoin(self.address, path),
            data=b"".join(parts) + f"--{boundary}--\r\n".encode(),
            headers={"Content-Type": f"multipart/form-data; boundary={boundary}"},
        )
        return self._open(request)

    def sign_in(self, username: str, password: str) -> None:
        status, page, where = self.post("/sign-in/", {"username": username, "password": password})
        assert status == 200, page
        assert where != "/sign-in/", page

    def _open(self, request: urllib.request.Request) -> tuple[int, str, str]:
        try:
            with self.opener.open(request, timeout=120) as answer:
                return answer.status, answer.read().decode(), urllib.parse.urlsplit(answer.url).path
        except urllib.error.HTTPError as error:
            return error.code, error.read().decode(errors="replace"), urllib.parse.urlsplit(error.url).path


@pytest.fixture(scope="session")
def collected_static(tmp_path_factory) -> Path:
    """Scripts, styles and fonts as a first start collects them: once for all tests, because it takes seconds."""
    data = tmp_path_factory.mktemp("collected")
    program = "import django; django.setup(); from racedesk.management.server import collect_static; collect_static()"
    given = environment(data, DJANGO_SETTINGS_MODULE="racedesk.settings")
    subprocess.run([sys.executable, "-c", program], cwd=ROOT, env=given, timeout=PATIENCE_S, check=True)
    return data / "static"


@pytest.fixture
def data_dir(tmp_path, collected_static):
    made = tmp_path / "data"
    made.mkdir()
    shutil.copytree(collected_static, made / "static", copy_function=os.link)
    return made


@pytest.fixture
def start(data_dir):
    """start("serve") starts a server on this test's own data; each is stopped when the test ends, whatever happens."""
    started = []

    def begin(command: str, *arguments: str) -> Server:
        server = Server(command, data_dir, *arguments)
        started.append(server)
        return server

    yield begin
    for server in started:
        server.clean_up()


@pytest.fixture
def visitor():
    return Visitor


@pytest.fixture
def run_python(data_dir):
    """Run a few lines against this test's own database, in a process of their own; gives what they print."""

    def run(lines: str) -> str:
        program = "import django\ndjango.setup()\n" + lines
        done = subprocess.run(
            [sys.executable, "-c", program],
            cwd=ROOT,
            env=environment(data_dir, DJANGO_SETTINGS_MODULE="racedesk.settings"),
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    return run

"""The same tests pass on PostgreSQL, where rows are really locked, and those of inspection without the race side."""

import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.architecture.test_tree import ENGINE_TESTS

ROOT = Path(__file__).resolve().parents[2]

# Processes with settings and files of their own, which an order to use another database does not reach.
ON_THEIR_OWN = ("tests/racedesk/test_checks.py", "tests/racedesk/management/test_scenario.py")


def run_again(*folders: str, **environment: str) -> None:
    """Run these tests in a process of their own and fail as they do.

    Browser, paper, engines and the looks at the tree itself depend neither on the settings nor on the database; a demo
    is always a file.
    """
    command = [
        *(sys.executable, "-m", "pytest", "-q", "--no-header", "-x", "-p", "no:cacheprovider"),
        *("-m", "not pdf and not browser and not live"),
        *(f"--ignore={path}" for path in (*ENGINE_TESTS, *ON_THEIR_OWN)),
        *(("--create-db", "--migrations") if environment.get("RACEDESK_DATABASE_URL") else ()),
        *folders,
    ]
    given = {**os.environ, "RACEDESK_REQUIRE": "", **environment}
    given.pop("PYTEST_XDIST_WORKER", None)

    done = subprocess.run(command, cwd=ROOT, env=given, capture_output=True, text=True, timeout=1200, check=False)

    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


@pytest.mark.long
@pytest.mark.postgres
def test_the_race_side_and_the_journeys_pass_on_postgresql():
    run_again("tests/racedesk", "tests/journeys", RACEDESK_DATABASE_URL=os.environ["RACEDESK_TEST_POSTGRES_URL"])


@pytest.mark.long
def test_inspection_passes_without_the_race_side_and_on_postgresql_where_there_is_one():
    """Once more for both: what either lacks shows in the same tests."""
    server = os.environ.get("RACEDESK_TEST_POSTGRES_URL", "")
    alone = urlsplit(server)._replace(path="/inspection_alone").geturl() if server else ""
    run_again("tests/inspection", DJANGO_SETTINGS_MODULE="tests.inspection_settings", RACEDESK_DATABASE_URL=alone)

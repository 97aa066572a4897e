"""The same tests pass on PostgreSQL, where rows are really locked."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.test_tree import ENGINE_TESTS

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.long
@pytest.mark.postgres
def test_the_suite_passes_on_postgresql():
    # Browser, paper, engines and the looks at the tree itself do not depend on the database; a demo is always a file.
    folders = ["tests/inspection", "tests/racedesk", "tests/journeys"]
    without = [*ENGINE_TESTS, "tests/racedesk/management/test_scenario.py"]
    environment = {
        **os.environ,
        "RACEDESK_DATABASE_URL": os.environ["RACEDESK_TEST_POSTGRES_URL"],
        "RACEDESK_REQUIRE": "",
    }
    environment.pop("PYTEST_XDIST_WORKER", None)
    command = [
        *(sys.executable, "-m", "pytest", "-q", "--no-header", "-x", "-p", "no:cacheprovider"),
        *("--create-db", "--migrations"),
        *("-m", "not pdf and not browser and not live"),
        *(f"--ignore={path}" for path in without),
        *folders,
    ]

    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=1200, check=False)

    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]

"""The inspection side works without the race side: its tests pass under settings that have no `racedesk`."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.test_tree import ENGINE_TESTS

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.long
def test_the_inspection_tests_pass_without_racedesk():
    command = [
        *(sys.executable, "-m", "pytest", "-q", "--no-header", "-x", "-p", "no:cacheprovider"),
        *("--ds=tests.inspection_settings", "-m", "not pdf and not browser"),
        *(f"--ignore={path}" for path in ENGINE_TESTS),
        "tests/inspection",
    ]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.inspection_settings", "RACEDESK_REQUIRE": ""}
    environment.pop("PYTEST_XDIST_WORKER", None)

    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=900, check=False)

    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-2000:]

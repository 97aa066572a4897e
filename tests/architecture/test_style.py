"""Lint, format and types hold; migrations say all that the models say."""

import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "--no-cache", "."],
        ["ruff", "format", "--no-cache", "--check", "."],
        ["mypy", "--no-incremental"],
    ],
    ids=lambda command: " ".join(command[:2]),
)
def test_the_tree_is_clean(command):
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )

    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-1000:]


@pytest.mark.django_db
def test_no_migration_is_missing():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)

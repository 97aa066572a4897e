"""The demo's scenario in the test's database: loaded by the first test of all workers that needs it, and kept.

Loading takes most of a minute; copying a SQLite file (its online backup) a moment.
"""

import fcntl
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from django.db import connection

from racedesk.management.scenario import load_scenario


def kept_at(factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """Where it is kept for all workers of this run."""
    own = factory.getbasetemp()
    return (own if worker_id == "master" else own.parent) / "scenario.sqlite3"


def load(kept: Path, *, progress: Callable[[int, int, str], None], anew: bool = False) -> None:
    """Into an empty database, outside any transaction. anew: load it whatever is kept."""
    with kept.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        connection.ensure_connection()
        if kept.exists() and not anew:
            with closing(sqlite3.connect(kept)) as source:
                source.backup(connection.connection)
            return
        load_scenario(progress=progress)
        with closing(sqlite3.connect(kept)) as target:
            connection.connection.backup(target)

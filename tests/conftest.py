"""What every test may ask for, and what happens when the machine lacks a part.

With RACEDESK_REQUIRE=browser,pdf,postgres a missing part fails the run; without it the tests that need it are left
out, and the summary lists them.
"""

import ctypes.util
import gc
import os
import shutil

import pytest
from hypothesis import settings as hypothesis_settings

hypothesis_settings.register_profile("racedesk", deadline=None, derandomize=True)
hypothesis_settings.load_profile("racedesk")

# The one without a screen first: it is a fifth quicker at the same work.
_BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser")
CHROMIUM = os.environ.get("RACEDESK_CHROMIUM") or next(
    (found for name in _BROWSERS if (found := shutil.which(name))), None
)

# What is imported stays; looking through it again and again for garbage took a twelfth of the time of two slices.
gc.set_threshold(50_000, 50, 50)

PARTS = {
    "browser": (bool(CHROMIUM), "Chromium (package chromium-headless-shell or chromium)"),
    "pdf": (
        bool(ctypes.util.find_library("pango-1.0")),
        "Pango (packages libpango-1.0-0 and libpangoft2-1.0-0)",
    ),
    "postgres": (
        bool(os.environ.get("RACEDESK_TEST_POSTGRES_URL")),
        "a PostgreSQL server named in RACEDESK_TEST_POSTGRES_URL",
    ),
}
_left_out: dict[str, list[str]] = {}


def required_parts() -> set[str]:
    return {part.strip() for part in os.environ.get("RACEDESK_REQUIRE", "").split(",") if part.strip()}


def pytest_configure(config: pytest.Config) -> None:
    unknown = required_parts() - set(PARTS)
    if unknown:
        raise pytest.UsageError(f"RACEDESK_REQUIRE names {sorted(unknown)}; it knows {sorted(PARTS)}.")
    missing = [PARTS[part][1] for part in required_parts() if not PARTS[part][0]]
    if missing:
        raise pytest.UsageError("RACEDESK_REQUIRE asks for what this machine lacks: " + "; ".join(missing))


@pytest.hookimpl(trylast=True)  # after pytest-django has put what needs no database last
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    kept = []
    dropped = []
    for item in items:
        lacking = [part for part, (found, _) in PARTS.items() if not found and item.get_closest_marker(part)]
        if lacking:
            _left_out.setdefault(PARTS[lacking[0]][1], []).append(item.nodeid)
            dropped.append(item)
        else:
            kept.append(item)
    if dropped:
        config.hook.pytest_deselected(items=dropped)
        items[:] = kept
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for part, names in sorted(_left_out.items()):
        terminalreporter.section(f"left out, for want of {part}: {len(names)} tests")
        for name in sorted(set(names)):
            terminalreporter.write_line(name)

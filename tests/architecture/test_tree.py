"""The shape of the tree: where files may stand, what they may be called, how long they may be."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LONGEST_FILE = 800
LARGEST_SLICE = 1000

TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml", ".gitignore", ".ci",
    "racedesk", "inspection", "templates", "tests", "fixtures",
}  # fmt: skip
PROJECT_MODULES = {"__init__", "settings", "urls", "asgi", "wsgi", "apps", "checks"}
SLICE_MODULES = {
    "__init__", "urls", "views", "forms", "tables", "filters", "services", "selectors", "errors", "documents",
    "imports", "pictures", "stream", "feed",
}  # fmt: skip
MORE_MODULES = {
    # what every page wears, and what stands round every request
    "inspection/clubs": {"access", "middleware"},
    # the words of the night for pages of the other side, which knows nothing of races
    "racedesk/raceday": {"context"},
}
SLICES = {
    "racedesk": [
        "events", "takings", "entries", "checkin", "entrylists", "clocks", "turns", "heats", "groups", "draws",
        "wishes", "redraws", "restplans", "runningorder", "racecontrol", "boards", "results", "aftertech", "seasons",
        "raceday", "visitors", "posts", "duties", "paces", "outlooks", "calendars",
    ],
    "inspection": [
        "papers", "clubs", "members", "drivers", "tracks", "drawings", "scaledrawings", "gauges", "register",
        "studies", "studyoutcomes", "calibrations", "choicelists", "contents", "wording", "clauses",
        "readings", "stations", "judging", "exchange", "families", "drafting", "rulesheets", "comparisons", "cars",
        "builds", "parts", "partfiles", "chassis", "benchbuilds", "benchwording", "benchoutcomes", "benchsheets",
        "motors", "shopping", "runs", "jobtickets", "prepsheets", "lapforecasts", "planner",
        "carfiles", "verdictfiles", "benchfiles", "inspections", "impound",
        "photos", "techcards", "reports", "founding",
    ],
}  # fmt: skip
NAMES_THAT_SAY_NOTHING = {"utils", "util", "helpers", "helper", "common", "misc", "tools", "base_views", "mixins"}


def tracked(*patterns: str) -> list[Path]:
    done = subprocess.run(["git", "ls-files", *patterns], cwd=ROOT, capture_output=True, text=True, check=True)
    return [Path(line) for line in done.stdout.splitlines() if (ROOT / line).exists()]


PURE = {
    "conformity", "gaugestudy", "gearing", "fit", "dynamics", "planning",
    "rotation", "timing", "scoring", "forecast",
}  # fmt: skip
# Tests that neither settings nor a database can change: engines import no Django, which a contract of their own holds.
ENGINE_TESTS = [
    *(f"tests/{package}/{name}" for package in ("inspection", "racedesk") for name in sorted(PURE)),
    "tests/inspection/test_units.py",
]
NOT_CODE = {"models", "migrations", "static", "locale", "management", "templatetags", "__pycache__"}


def slices() -> list[Path]:
    return [Path(package) / name for package, names in SLICES.items() for name in names]


def test_nothing_else_stands_at_the_top():
    assert {path.parts[0] for path in tracked()} <= TOP_LEVEL


@pytest.mark.parametrize("package", ["racedesk", "inspection"])
def test_no_other_project_level_module(package):
    allowed = PROJECT_MODULES | ({"units"} if package == "inspection" else set())

    assert {path.stem for path in (ROOT / package).glob("*.py")} <= allowed


@pytest.mark.parametrize("package", ["racedesk", "inspection"])
def test_every_folder_is_a_known_slice_or_engine(package):
    folders = {path.name for path in (ROOT / package).iterdir() if path.is_dir()}

    assert folders - PURE - NOT_CODE == set(SLICES[package])


@pytest.mark.parametrize("folder", slices(), ids=str)
def test_a_slice_holds_modules_of_known_names_only(folder):
    found = {path.stem for path in (ROOT / folder).glob("*.py")}

    assert found <= SLICE_MODULES | MORE_MODULES.get(folder.as_posix(), set())


@pytest.mark.parametrize("folder", slices(), ids=str)
def test_a_slice_stays_small(folder):
    lines = sum(len(path.read_text(encoding="utf-8").splitlines()) for path in (ROOT / folder).glob("*.py"))

    assert lines <= LARGEST_SLICE, f"{folder} has {lines} lines: make two slices of it"


def test_no_file_is_longer_than_it_may_be():
    paths = tracked("*.py", "*.html", "*.css", "*.js")
    long = {
        str(path): count
        for path in paths
        if "migrations" not in path.parts
        and (count := len((ROOT / path).read_text(encoding="utf-8").splitlines())) > LONGEST_FILE
    }

    assert long == {}


def test_no_module_has_a_name_that_says_nothing():
    assert [path for path in tracked("*.py") if path.stem in NAMES_THAT_SAY_NOTHING] == []


def test_migrations_have_names():
    paths = [path for path in tracked("*/migrations/*.py") if path.stem != "__init__"]

    assert paths
    assert [path for path in paths if re.fullmatch(r"\d{4}_(auto|initial).*", path.stem)] == []


def test_a_partial_says_in_its_first_line_what_it_needs():
    partials = [path for path in tracked("templates/*.html", "templates/**/*.html") if path.name.startswith("_")]

    assert partials
    assert [
        str(path) for path in partials if not (ROOT / path).read_text(encoding="utf-8").lstrip().startswith("{#")
    ] == []


def test_pages_hold_no_inline_script_or_style():
    odd = re.compile(r"<script(?![^>]*\bsrc=)(?![^>]*application/json)|\sstyle=|\son[a-z]+=", re.IGNORECASE)

    assert [
        f"{path}: {match.group()}"
        for path in tracked("templates/*.html", "templates/**/*.html")
        if (match := odd.search((ROOT / path).read_text(encoding="utf-8")))
    ] == []


def test_no_html_is_written_in_python():
    paths = [
        path for path in tracked("racedesk/*.py", "inspection/*.py", "racedesk/**/*.py", "inspection/**/*.py")
        if path.stem != "pictures"
    ]  # fmt: skip
    odd = {}
    for path in paths:
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
            is_text = isinstance(node, ast.Constant) and isinstance(node.value, str)
            if is_text and re.search(r"</[a-z]+>|<(div|span|p|td|a|b|svg)[\s>]", node.value):
                odd[f"{path}:{node.lineno}"] = node.value[:60]

    assert odd == {}


def test_no_file_names_a_machine_or_a_registry():
    odd = re.compile(r"/(work|root|farm)/|https?://(pypi|files\.pythonhosted|registry\.npmjs|deb\.debian)")
    this = Path(__file__).relative_to(ROOT)

    assert [
        str(path)
        for path in tracked()
        if path != this
        and path.suffix not in {".woff2", ".xlsx", ".png"}
        and odd.search((ROOT / path).read_text(encoding="utf-8", errors="replace"))
    ] == []

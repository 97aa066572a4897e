"""README and DEVELOPERS tell the truth: each path exists, each command answers."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ["README.md", "DEVELOPERS.md"]
PATH = re.compile(
    r"(?<![\w/.:-])((?:racedesk|inspection|templates|tests|fixtures|\.ci)/[\w./-]*[\w/]|[A-Z]+\.md|LICENSE|pyproject\.toml)"
)
COMMAND = re.compile(r"manage\.py ([a-z_]+)")


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", DOCS)
def test_each_path_named_exists(name):
    named = set(PATH.findall(text_of(name)))

    assert named
    assert [path for path in sorted(named) if not (ROOT / path).exists()] == []


def commands() -> list[str]:
    return sorted({command for name in DOCS for command in COMMAND.findall(text_of(name))})


def test_the_docs_name_commands():
    assert {"demo", "serve", "rotation"} <= set(commands())


@pytest.mark.parametrize("command", commands())
def test_each_command_named_answers_to_help(command):
    done = subprocess.run(
        [sys.executable, "manage.py", command, "--help"],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert "usage" in done.stdout


def test_readme_opens_with_the_job_then_two_commands():
    text = text_of("README.md")

    assert text.index("manage.py demo") < text.index("manage.py serve") < text.index("pytest")
    assert text.count("(untested)") == 2

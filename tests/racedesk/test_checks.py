"""What is wrong with an installation is said; over HTTPS the settings stand Django's own examination."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

READ = """
import json, django
django.setup()
from django.conf import settings
from django.core.checks import run_checks
names = ("DEBUG", "SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SESSION_COOKIE_HTTPONLY", "SECURE_HSTS_SECONDS")
print(json.dumps({name: getattr(settings, name) for name in names}
                 | {"found": [message.id for message in run_checks(include_deployment_checks=True)]}))
"""
# Decisions that are the host's own: what other names it has, and that its proxy turns plain HTTP away.
LEFT_TO_THE_HOST = {"security.W005", "security.W008", "security.W021", "racedesk.W001"}


def installation(tmp_path, **variables):
    # A browser test in the same process has set a DJANGO_ variable of its own (tests/browser/conftest.py).
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("RACEDESK_", "DJANGO_"))}
    environment = kept | {"RACEDESK_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "racedesk.settings"} | variables
    command = [sys.executable, "-c", READ]
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60, check=True)
    return json.loads(done.stdout)


def test_nothing_is_on_by_default_that_only_developers_may_see(tmp_path):
    assert installation(tmp_path)["DEBUG"] is False


def test_over_https_cookies_are_secure_and_the_examination_finds_nothing_else(tmp_path):
    found = installation(tmp_path, RACEDESK_TLS="on", RACEDESK_HOSTS="race.example.org")

    assert found["SESSION_COOKIE_SECURE"] is found["CSRF_COOKIE_SECURE"] is found["SESSION_COOKIE_HTTPONLY"] is True
    assert found["SECURE_HSTS_SECONDS"] > 0
    assert set(found["found"]) <= LEFT_TO_THE_HOST


@pytest.mark.parametrize(("variables", "is_told"), [({"RACEDESK_TLS": "on"}, True), ({}, False)])
def test_over_https_the_hosts_are_asked_for(tmp_path, variables, is_told):
    assert ("racedesk.W002" in installation(tmp_path, **variables)["found"]) == is_told

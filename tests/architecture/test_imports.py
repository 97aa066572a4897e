"""Which way the packages depend: the contracts stand in pyproject.toml."""

import subprocess
import sys
from pathlib import Path

from importlinter.cli import lint_imports

ROOT = Path(__file__).resolve().parents[2]


def test_every_import_contract_holds(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)

    failed = lint_imports(no_cache=True, config_filename="pyproject.toml")

    assert not failed, capsys.readouterr().out


def test_starting_up_imports_no_heavy_library():
    program = (
        "import os, sys, django\n"
        "os.environ['DJANGO_SETTINGS_MODULE'] = 'tests.settings'\n"
        "from django.core.management import call_command\n"
        "django.setup()\n"
        "call_command('check')\n"
        "print([name for name in ('pint', 'weasyprint', 'openpyxl') if name in sys.modules])\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )

    assert done.stdout.strip().endswith("[]"), done.stdout


def test_an_engine_imports_without_django():
    program = (
        "import sys\n"
        "import racedesk.rotation.draw, racedesk.timing.heat_clock, racedesk.scoring.classification\n"
        "import inspection.units, inspection.conformity.assess, inspection.gearing.ratio\n"
        "print('django' in sys.modules)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )

    assert done.stdout.strip() == "False"

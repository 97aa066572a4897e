"""Which way the packages depend: the contracts stand in pyproject.toml."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_every_import_contract_holds():
    # In a process of its own: it sets logging up anew, which silences every logger there is.
    program = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"

    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )

    assert done.returncode == 0, done.stdout + done.stderr


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
        "import inspection.units, inspection.conformity.assess, inspection.gearing.mesh, inspection.fit.check\n"
        "import inspection.dynamics.compare\n"
        "print('django' in sys.modules)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )

    assert done.stdout.strip() == "False"

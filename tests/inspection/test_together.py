"""Tables that are made together are the same, and go again, as if each had been made by itself."""

import io

import pytest
from django.core.management import call_command
from django.db.migrations.loader import MigrationLoader

from inspection.models.together import CreateTogether

# A transaction of a test's own would keep SQLite from letting go of its foreign keys meanwhile.
pytestmark = pytest.mark.django_db(transaction=True)
MIGRATION = ("inspection", "0002_parts_and_bench")


def sql(**options) -> str:
    out = io.StringIO()
    call_command("sqlmigrate", *MIGRATION, stdout=out, no_color=True, **options)
    return out.getvalue()


@pytest.fixture(autouse=True)
def with_migrations(settings):
    settings.MIGRATION_MODULES = {}  # elsewhere the tests go without


@pytest.fixture
def together():
    migration = MigrationLoader(None).disk_migrations[MIGRATION]
    (step,) = (each for each in migration.operations if isinstance(each, CreateTogether))
    return step


def test_every_table_is_made_once_with_its_constraints(together):
    made = sql()

    for each in together.models:
        assert made.count(f'CREATE TABLE "inspection_{each.name_lower}" ') == 1
        for constraint in each.options.get("constraints", []):
            assert constraint.name in made
    assert together.describe() == f"Create {', '.join(each.name for each in together.models)}"


def test_backwards_the_last_goes_first(together):
    dropped = sql(backwards=True)

    places = [dropped.index(f'DROP TABLE "inspection_{each.name_lower}"') for each in together.models]
    assert places == sorted(places, reverse=True)

"""Every list leaves as CSV and as XLSX."""

import csv
import io
import re

import pytest
from openpyxl import load_workbook

from inspection.models import Club, Role
from tests import factories
from tests.addresses import url_of

LISTS = [
    "car-list", "characteristic-list", "chassis-list", "choicelist-list",
    "driver-list", "entry-list", "event-list", "gauge-list",
    "heat-list", "log-list", "member-list", "occasion-detail", "occasion-list", "result-detail", "rulesheet-list",
    "job-list", "motor-list", "run-list", "season-detail", "season-list", "takings", "track-list",
]  # fmt: skip


@pytest.fixture
def _django_db_helper(taken_back):
    """Instead of pytest-django's own: the club is made once for the module."""


@pytest.fixture
def club(kept_club):
    return Club.objects.get(pk=kept_club.pk)


@pytest.mark.parametrize("name", LISTS)
def test_a_list_leaves_as_csv_and_xlsx_with_the_same_rows(client, club, name):
    client.force_login(factories.member(club, Role.OWNER))
    url = url_of(name, club)

    as_csv = client.get(f"{url}?export=csv")
    as_xlsx = client.get(f"{url}?export=xlsx")

    assert as_csv["Content-Type"] == "text/csv; charset=utf-8"
    lines = list(csv.reader(io.StringIO(as_csv.content.decode("utf-8-sig"))))
    sheet = load_workbook(io.BytesIO(as_xlsx.content)).active
    assert len(lines) > 1
    assert len(lines) == len([row for row in sheet.iter_rows() if any(cell.value is not None for cell in row)])
    page = client.get(url).content.decode()
    assert re.search(r'href="\?([^"]*&amp;)?export=csv', page)
    assert re.search(r'href="\?([^"]*&amp;)?export=xlsx', page)

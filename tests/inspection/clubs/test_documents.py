"""Files out: RFC 4180, and no formula ever runs."""

import csv
import io
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from inspection.clubs import documents


def test_csv_follows_rfc_4180():
    # RFC 4180 section 2: CRLF line ends, quoted separators, doubled quotes
    content = documents.csv_bytes(["a", "b"], [["aaa", 'b"bb'], ["c,c", 1]])

    assert content == b'\xef\xbb\xbfa,b\r\naaa,"b""bb"\r\n"c,c",1\r\n'
    assert list(csv.reader(io.StringIO(content.decode("utf-8-sig")))) == [["a", "b"], ["aaa", 'b"bb'], ["c,c", "1"]]


# OWASP "CSV Injection": dangerous first characters, LF added in 2025, full-width forms; a known bypass: leading blanks
@pytest.mark.parametrize(
    "start", ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20", " =", "\xa0=", "\n="]
)
def test_text_that_a_spreadsheet_would_run_starts_with_an_apostrophe(start):
    assert documents.formula_safe(f"{start}1+1").startswith("'")


def test_a_later_line_of_a_cell_cannot_start_a_formula_either():
    assert "\n" not in documents.formula_safe("harmless\n=1+1")


def test_numbers_stay_numbers_and_are_not_marked_as_text():
    assert documents.csv_bytes(["x"], [[Decimal("-0.05")]]).endswith(b"\r\n-0.05\r\n")


def test_xlsx_keeps_a_formula_as_the_text_it_is():
    content = documents.xlsx_bytes(["Driver"], [["=1+1"], ["Ada\x00 Brandt"]], title="Entries: [all]")
    sheet = load_workbook(io.BytesIO(content)).active

    assert [(cell.value, cell.data_type) for (cell,) in sheet.iter_rows(min_row=2)] == [
        ("=1+1", "s"),
        ("Ada Brandt", "s"),
    ]

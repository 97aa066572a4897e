"""Files out: RFC 4180, no formula ever runs, and paper that reads nothing but our own static files."""

import csv
import io
from decimal import Decimal

import pytest
import weasyprint
from openpyxl import load_workbook
from pypdf import PdfReader

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


@pytest.mark.parametrize(
    "url",
    [
        "https://example.org/x.png",
        "file:///etc/passwd",
        "https://static.invalid/static/../settings.py",
        "https://static.invalid/secret.key",
        "ftp://example.org/x",
    ],
)
def test_paper_reads_nothing_but_our_own_static_files(url):
    with pytest.raises(ValueError):
        documents._static_path(url)


@pytest.mark.pdf
def test_paper_is_set_in_the_typeface_of_our_own_style_sheet():
    reader = PdfReader(
        io.BytesIO(documents.pdf_bytes('<link rel="stylesheet" href="/static/inspection/css/print.css"><p>Heat 1'))
    )

    fonts = {str(font.get_object()["/BaseFont"]) for font in reader.pages[0]["/Resources"]["/Font"].values()}
    assert any("RaceDesk" in font for font in fonts), fonts


@pytest.mark.pdf
def test_a_foreign_address_in_a_page_leaves_no_trace_in_its_pdf(monkeypatch):
    asked = []
    monkeypatch.setattr("urllib.request.OpenerDirector.open", lambda self, request, **kw: asked.append(request))

    content = documents.pdf_bytes('<img src="http://127.0.0.1:9/x.png"><img src="file:///etc/hostname"><p>Heat 1')

    assert content.startswith(b"%PDF")
    assert asked == []


def test_a_broken_pdf_library_is_told_apart_from_a_missing_one(monkeypatch):
    def broken(self, *args, **kwargs):
        raise RuntimeError("no fonts today")

    monkeypatch.setattr(weasyprint.HTML, "write_pdf", broken)

    with pytest.raises(documents.PrintUnavailableError) as refusal:
        documents.pdf_bytes("<p>Heat 1")
    assert refusal.value.why == "broken"


def test_a_missing_pango_is_said_so(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)

    with pytest.raises(documents.PrintUnavailableError) as refusal:
        documents.pdf_bytes("<p>Heat 1")
    assert refusal.value.why == "missing"

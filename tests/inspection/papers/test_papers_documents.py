"""Paper that reads nothing but our own static files, and says so when it cannot be made."""

import io

import pytest
import weasyprint
from pypdf import PdfReader

from inspection.papers import documents


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

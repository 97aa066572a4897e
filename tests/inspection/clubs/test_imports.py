"""Lists are read as clubs keep them, and refused with what to do when they cannot be."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from openpyxl import Workbook

from inspection.clubs import imports
from inspection.clubs.imports import read_table


def upload(name: str, content: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("separator", [";", ",", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_csv_is_read_in_every_usual_encoding_and_separator(encoding, separator, line_end):
    text = line_end.join([separator.join(row) for row in [("Driver", "Car no."), ("Zoë Brückner", "7")]])

    table = read_table(upload("entries.csv", text.encode(encoding)))

    assert table.headers == ("Driver", "Car no.")
    assert table.rows == (imports.Row(2, ("Zoë Brückner", "7")),)


def test_a_cell_without_end_is_told_and_no_crash():
    with pytest.raises(imports.FileUnreadable):
        read_table(upload("entries.csv", b"Driver;Car\n" + b"x" * 200_000 + b";4\n"))


def test_blank_rows_are_left_out_and_rows_keep_their_numbers():
    table = read_table(upload("entries.csv", b"\n\nDriver;Car\n\nAda Brandt;4\n;\nTom Okafor;\n"))

    assert [row.number for row in table.rows] == [5, 7]
    assert table.rows[1].cells == ("Tom Okafor", "")


def test_quoted_cells_keep_separators_quotes_and_line_ends():
    # RFC 4180, section 2, rules 5 to 7
    table = read_table(upload("a.csv", b'Driver,Note\r\n"Brandt, Ada","she said ""fast""\r\nand left"\r\n'))

    assert table.rows[0].cells == ("Brandt, Ada", 'she said "fast"\r\nand left')


def workbook(*rows: tuple) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_xlsx_numbers_come_as_people_type_them():
    table = read_table(
        upload("a.xlsx", workbook(("Driver", "Car", "Fee"), ("Ada Brandt", 4.0, 7.5), (None, None, None)))
    )

    assert table.rows == (imports.Row(2, ("Ada Brandt", "4", "7.5")),)


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("a.xlsx", b"Driver;Car\nAda;4\n", "file_not_what_it_says"),
        ("a.xlsx", b"PK\x03\x04 but then nothing", "file_not_what_it_says"),
        ("a.csv", workbook(("Driver",), ("Ada",)), "file_not_what_it_says"),
        ("a.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "file_not_what_it_says"),
        ("a.pdf", b"%PDF-1.7", "file_kind_unknown"),
        ("a.csv", b"", "file_empty"),
        ("a.csv", b"Driver;Car\n", "file_empty"),
        ("a.csv", b"Driver\n" + b"Ada Brandt\n" * (imports.MOST_ROWS + 1), "too_many_rows"),
        ("a.csv", b"x" * (imports.MOST_BYTES + 1), "file_too_large"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_a_sentence(name, content, code):
    with pytest.raises(imports.FileRefused) as refusal:
        read_table(upload(name, content))

    assert refusal.value.code == code
    assert name in str(refusal.value)


def test_a_spreadsheet_that_unpacks_without_end_is_refused(monkeypatch):
    monkeypatch.setattr(imports, "MOST_BYTES_UNPACKED", 100)

    with pytest.raises(imports.FileTooLarge):
        read_table(upload("a.xlsx", workbook(("Driver",), ("Ada",))))

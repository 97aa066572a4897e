"""Files of entries as clubs keep them: any order, any heading, any encoding."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from openpyxl import Workbook

from inspection.clubs.imports import FileEmpty, FileKindUnknown, FileNotWhatItSays
from racedesk.entrylists.errors import ColumnTwice, NoHeaderRow
from racedesk.entrylists.imports import read_entries


def csv(text, name="entries.csv", encoding="utf-8"):
    return SimpleUploadedFile(name, text.encode(encoding))


def names(upload):
    return [row.name for row in read_entries(upload)[0]]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("separator", [";", ",", "\t"])
def test_names_with_accents_come_in_by_any_encoding_and_separator(encoding, separator):
    text = f"Car no.{separator}Driver\r\n7{separator}Zoë Müller\r\n\r\n8{separator}Jun Hara\r\n"

    rows, unread = read_entries(csv(text, encoding=encoding))

    assert [(row.row, row.name, row.typed) for row in rows] == [
        (2, "Zoë Müller", {"number": "7"}),
        (4, "Jun Hara", {"number": "8"}),
    ]
    assert unread == []


def test_a_spreadsheet_is_read_as_a_person_would_type_it():
    book = Workbook()
    for row in (["Fahrer", "Auto Nr.", "Startgeld", "Bezahlt", "Bemerkung"], ["Ada Brandt", 27, 7.5, True, "early"]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)

    rows, unread = read_entries(SimpleUploadedFile("entries.xlsx", out.getvalue()))

    assert rows[0].typed == {"number": "27", "fee": "7.5", "paid": "yes"}
    assert unread == ["Bemerkung"]


@pytest.mark.parametrize(
    "text",
    [
        "Vorname;Nachname\nAda;Brandt",
        "First name,Last name\nAda,Brandt",
        "Name;Vorname\nBrandt;Ada",
        'Driver;Car\n"Brandt, Ada";Zeta',
        "NAME OF DRIVER\n Ada   Brandt ",
    ],
)
def test_a_name_is_put_together_whatever_its_columns(text):
    assert names(csv(text)) == ["Ada Brandt"]


def test_a_column_called_car_that_holds_numbers_is_the_number():
    rows, _ = read_entries(csv("No.;Driver;Car;Name of the car\n1;Ada Brandt;27;Zeta\n2;Jun Hara;14;Eta"))

    assert [row.typed for row in rows] == [{"number": "27", "car": "Zeta"}, {"number": "14", "car": "Eta"}]


def test_a_column_that_counts_the_rows_is_no_car_number():
    rows, unread = read_entries(csv("No.;Driver\n1;Ada Brandt\n2;Jun Hara"))

    assert [row.typed for row in rows] == [{}, {}]
    assert unread == ["No."]


def test_a_column_of_other_numbers_is_the_car_number():
    assert read_entries(csv("#;Driver\n27;Ada Brandt\n14;Jun Hara"))[0][0].typed == {"number": "27"}


def test_a_missing_header_row_is_said_with_what_stands_there():
    with pytest.raises(NoHeaderRow, match="Ada Brandt, 27"):
        read_entries(csv("Ada Brandt;27\nJun Hara;14"))


def test_two_columns_of_one_meaning_are_refused_by_name():
    with pytest.raises(ColumnTwice, match="Driver, Racer"):
        read_entries(csv("Driver;Racer\nAda;Brandt"))


def test_mail_and_phone_are_both_contact():
    rows, _ = read_entries(csv("Driver;E-mail;Phone\nAda Brandt;ada@example.org;555 0100"))

    assert rows[0].typed == {"contact": "ada@example.org 555 0100"}


@pytest.mark.parametrize(
    ("upload", "refusal"),
    [
        (SimpleUploadedFile("entries.xlsx", b"Driver;Car\nAda;1"), FileNotWhatItSays),
        (SimpleUploadedFile("entries.csv", b"PK\x03\x04\x00\x00"), FileNotWhatItSays),
        (SimpleUploadedFile("entries.csv", b"\x89PNG\x00\x01"), FileNotWhatItSays),
        (SimpleUploadedFile("entries.pdf", b"%PDF-1.7"), FileKindUnknown),
        (SimpleUploadedFile("entries.csv", b"Driver;Car\n\n;\n"), FileEmpty),
    ],
)
def test_a_file_that_is_not_what_its_name_says_is_refused(upload, refusal):
    with pytest.raises(refusal):
        read_entries(upload)

"""Reading lists as clubs keep them: CSV in any of the usual encodings and separators, or XLSX.

Nothing is guessed silently: what cannot be read is refused with what to do. Cells come out as text, stripped;
blank rows are left out, and every row keeps the number it has in the file.
"""

import csv
import datetime as dt
import io
import zipfile
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused

MOST_BYTES = 5 * 1024 * 1024
MOST_BYTES_UNPACKED = 100 * 1024 * 1024
MOST_ROWS = 20_000
_SEPARATORS = (";", ",", "\t")


class FileRefused(Refused):
    """The file cannot be read as a list; nothing was changed."""


class FileTooLarge(FileRefused):
    code = "file_too_large"
    message = _("{name} is larger than {megabytes} MB. Split it, or leave out the sheets that are not needed.")


class FileNotWhatItSays(FileRefused):
    code = "file_not_what_it_says"
    message = _("{name} is not {expected}, whatever its name says. Save the list as CSV or XLSX and choose it again.")


class FileKindUnknown(FileRefused):
    code = "file_kind_unknown"
    message = _("{name} is neither CSV nor XLSX. Save the list as one of these and choose it again.")


class FileEmpty(FileRefused):
    code = "file_empty"
    message = _("{name} has no rows under its header row.")


class FileUnreadable(FileRefused):
    code = "file_unreadable"
    message = _("Row {row} of {name} cannot be read: {why}. Mend that row, or save the list again as CSV.")


class TooManyRows(FileRefused):
    code = "too_many_rows"
    message = _("{name} has more than {most} rows. Split it into smaller files.")


@dataclass(frozen=True, slots=True)
class Row:
    """One row that is not blank. number: as a spreadsheet counts, from 1. cells: as many as there are headers."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TableFile:
    """A list as read. headers: the first row that is not blank."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[Row, ...]


def _cell_text(value: Any) -> str:
    """A spreadsheet's cell as a person would type it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    return str(value).replace("\xa0", " ").strip()


def _decoded(content: bytes, name: str) -> str:
    """Text of a CSV file: UTF-8 with or without mark, UTF-16 with one, else Windows-1252."""
    if content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        encodings = ["utf-16"]
    elif b"\x00" in content:
        encodings = []
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not any(ord(c) < 32 and c not in "\r\n\t" for c in text):
            return text
    raise FileNotWhatItSays(name=name, expected=_("a CSV file"))


def _separator(text: str) -> str:
    """The separator that splits the first rows into the most columns, the same number in each."""

    def score(separator: str) -> tuple[int, int]:
        widths = []
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            if any(cell.strip() for cell in row):
                widths.append(len(row))
            if len(widths) == 20:
                break
        usual = max(set(widths), key=widths.count, default=1)
        return (widths.count(usual) if usual > 1 else 0, usual)

    return max(_SEPARATORS, key=score)


def _csv_rows(content: bytes, name: str) -> list[tuple[int, list[str]]]:
    text = _decoded(content, name)
    rows: list[tuple[int, list[str]]] = []
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=False)
        for number, row in enumerate(reader, start=1):
            rows.append((number, [_cell_text(cell) for cell in row]))
    except csv.Error as error:
        raise FileUnreadable(name=name, row=len(rows) + 1, why=error) from error
    return rows


def _refuse_what_unpacks_without_end(content: bytes, name: str) -> None:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        if sum(item.file_size for item in archive.infolist()) > MOST_BYTES_UNPACKED:
            raise FileTooLarge(name=name, megabytes=MOST_BYTES_UNPACKED // 1024 // 1024)


def _xlsx_rows(content: bytes, name: str) -> list[tuple[int, list[str]]]:
    from openpyxl import load_workbook  # noqa: PLC0415  heavy: imported when first used

    expected = _("an XLSX file")
    try:
        _refuse_what_unpacks_without_end(content, name)
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()
        return [
            (number, [_cell_text(value) for value in row])
            for number, row in enumerate(sheet.iter_rows(values_only=True, max_row=MOST_ROWS + 2), start=1)
        ]
    except FileRefused:
        raise
    except Exception as error:  # openpyxl raises what its parsers raise; all of it means the same to a person
        raise FileNotWhatItSays(name=name, expected=expected) from error


def read_table(upload: UploadedFile) -> TableFile:
    """Read an uploaded list. Raises a FileRefused that says what to do; never changes anything."""
    name = PurePath(upload.name or "file").name
    if upload.size is not None and upload.size > MOST_BYTES:
        raise FileTooLarge(name=name, megabytes=MOST_BYTES // 1024 // 1024)
    content = upload.read()
    suffix = PurePath(name).suffix.lower()
    if suffix in {".csv", ".txt", ".tsv"}:
        if content[:4] == b"PK\x03\x04":
            raise FileNotWhatItSays(name=name, expected=_("a CSV file"))
        numbered = _csv_rows(content, name)
    elif suffix in {".xlsx", ".xlsm"}:
        numbered = _xlsx_rows(content, name)
    else:
        raise FileKindUnknown(name=name)
    filled = [(number, cells) for number, cells in numbered if any(cells)]
    if len(filled) < 2:
        raise FileEmpty(name=name)
    if len(filled) > MOST_ROWS + 1:
        raise TooManyRows(name=name, most=MOST_ROWS)
    headers = filled[0][1]
    while headers and not headers[-1]:
        headers.pop()
    width = len(headers)
    rows = tuple(Row(number, tuple((cells + [""] * width)[:width])) for number, cells in filled[1:])
    return TableFile(name=name, headers=tuple(headers), rows=rows)

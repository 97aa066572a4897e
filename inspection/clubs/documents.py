"""Lists that leave as a file: RFC 4180 CSV and XLSX; text that a spreadsheet would run as a formula stays text."""

import csv
import datetime as dt
import io
import unicodedata
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django_tables2 import Table

CSV_TYPE = "text/csv; charset=utf-8"
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

# OWASP's list of first characters that make a spreadsheet run a cell, full-width forms included.
_FORMULA_STARTS = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


def _plain(value: Any) -> Any:
    """A cell's value as a number, a date or text; times in the zone that holds now, without its name."""
    if value is None or isinstance(value, bool | int | Decimal | float):
        return value
    if isinstance(value, dt.datetime):
        return timezone.localtime(value).replace(tzinfo=None, microsecond=0)
    if isinstance(value, dt.date | dt.time):
        return value
    return str(value)


def formula_safe(text: str) -> str:
    """Text that no spreadsheet runs: one line, and an apostrophe before what would start a formula.

    Leading blanks, no-break blanks included, do not hide a formula start. Source: OWASP "CSV Injection".
    """
    line = " ".join(part for part in text.replace("\r", "\n").split("\n") if part.strip())
    start = line.lstrip()
    if text[:1] in _FORMULA_STARTS or start[:1] in _FORMULA_STARTS:
        return "'" + line
    return line


def _printable(text: str) -> str:
    """Text without control characters, which an XLSX file cannot hold."""
    return "".join(c for c in text if c in "\n\t" or unicodedata.category(c) != "Cc")


def csv_bytes(headers: Sequence[Any], rows: Iterable[Sequence[Any]]) -> bytes:
    """RFC 4180 with a byte-order mark, by which spreadsheets know UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for row in (headers, *rows):
        cells = (_plain(value) for value in row)
        writer.writerow([formula_safe(cell) if isinstance(cell, str) else cell for cell in cells])
    return out.getvalue().encode("utf-8-sig")


def xlsx_bytes(headers: Sequence[Any], rows: Iterable[Sequence[Any]], *, title: str) -> bytes:
    """One worksheet; text cells are typed as text, so that "=1+1" is shown and never computed."""
    from openpyxl import Workbook  # noqa: PLC0415  heavy: imported when first used
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.styles import Font  # noqa: PLC0415

    book = Workbook(write_only=True)
    sheet = book.create_sheet(title="".join(c for c in title if c not in r"[]:*?/\\")[:31] or "List")
    sheet.freeze_panes = "A2"
    for number, row in enumerate((headers, *rows)):
        cells = []
        for value in row:
            plain = _plain(value)
            cell = WriteOnlyCell(sheet, value=_printable(plain) if isinstance(plain, str) else plain)
            if isinstance(plain, str):
                cell.data_type = "s"
            if number == 0:
                cell.font = Font(bold=True)
            cells.append(cell)
        sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def export_rows(name: str, file_format: str, headers: Sequence[Any], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    """A list as a download. file_format: "csv" or "xlsx"; anything else is a bug of the caller."""
    if file_format == "xlsx":
        content, content_type = xlsx_bytes(headers, rows, title=name), XLSX_TYPE
    elif file_format == "csv":
        content, content_type = csv_bytes(headers, rows), CSV_TYPE
    else:
        raise ValueError(file_format)
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{slugify(name) or "list"}.{file_format}"'
    return response


def table_export(table: Table, request: HttpRequest, name: str) -> HttpResponse | None:
    """The whole table as a file when the address asks `?export=csv` or `xlsx`; None otherwise."""
    file_format = request.GET.get("export", "")
    if file_format not in {"csv", "xlsx"}:
        return None
    headers, *rows = table.as_values()
    return export_rows(name, file_format, headers, rows)


def rows_export(
    request: HttpRequest, name: str, headers: Sequence[Any], rows: Iterable[Sequence[Any]]
) -> HttpResponse | None:
    """A list that is no django-tables2 table, as a file when the address asks for one; None otherwise."""
    file_format = request.GET.get("export", "")
    return export_rows(name, file_format, headers, rows) if file_format in {"csv", "xlsx"} else None

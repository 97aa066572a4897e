"""The rows of a file of parts, kept as text from one page to the next."""

import base64
import binascii
import json
import zlib

from inspection.clubs.imports import FileUnreadable, Row, TableFile

MOST_BYTES = 40_000_000


def rows_text(table: TableFile) -> str:
    """A read file as text for a hidden field, packed: 10,000 rows stay far below what a form may send."""
    plain = {"name": table.name, "headers": table.headers, "rows": [[row.number, *row.cells] for row in table.rows]}
    return base64.b64encode(zlib.compress(json.dumps(plain, ensure_ascii=False).encode(), 6)).decode()


def read_rows(text: str) -> TableFile:
    """The file that `rows_text` wrote down. Raises FileUnreadable for anything else."""
    try:
        unpacking = zlib.decompressobj()
        data = unpacking.decompress(base64.b64decode(text, validate=True), MOST_BYTES)
        plain = json.loads(data)
        headers = tuple(str(header) for header in plain["headers"])
        rows = tuple(Row(int(row[0]), tuple(str(cell) for cell in row[1:])) for row in plain["rows"])
        name = str(plain["name"])
    except (ValueError, KeyError, TypeError, IndexError, zlib.error, binascii.Error) as error:
        raise FileUnreadable(name="rows", row=1, why=type(error).__name__) from error
    if any(len(row.cells) != len(headers) for row in rows):
        raise FileUnreadable(name=name, row=1, why="width")
    return TableFile(name=name, headers=headers, rows=rows)

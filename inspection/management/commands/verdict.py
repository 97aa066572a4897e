"""Judge one car by a file, without a club and a database: for scripts, and for settling a protest elsewhere."""

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _

from inspection.verdictfiles.documents import findings_document, findings_lines
from inspection.verdictfiles.errors import UnreadableCase
from inspection.verdictfiles.imports import read_case
from inspection.verdictfiles.selectors import findings_schema_text, judge_case, schema_text

ALL_CLEAR, NOT_CLEAR, UNREADABLE = 0, 1, 2


class Command(BaseCommand):
    help = (
        "Judge a car by a JSON file of its rule sheet, build and readings. Ends with 0 when every clause clears, 1 "
        "when one fails or is not decided, 2 when the file cannot be read."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", help="the file; - reads standard input")
        parser.add_argument("--json", action="store_true", dest="as_json", help="print one JSON object")
        parser.add_argument(
            "--schema",
            nargs="?",
            const="file",
            choices=("file", "findings"),
            help="print the JSON Schema of the file, or of the findings that --json prints",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self.stdout.write(schema_text() if options["schema"] == "file" else findings_schema_text())
            return
        try:
            case = read_case(_read(options["file"]))
        except (UnreadableCase, OSError) as refusal:
            self.stderr.write("\n".join([str(refusal), *getattr(refusal, "problems", ())]))
            sys.exit(UNREADABLE)
        results = judge_case(case)
        if options["as_json"]:
            self.stdout.write(json.dumps(findings_document(case, results), ensure_ascii=False))
        else:
            self.stdout.write("\n".join(findings_lines(case, results)))
        sys.exit(ALL_CLEAR if all(result.clears for result in results) else NOT_CLEAR)


def _read(name: str | None) -> bytes:
    if name is None:
        raise UnreadableCase(why=_("Name a file, or - for standard input."))
    return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()

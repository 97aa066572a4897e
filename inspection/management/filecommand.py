"""A command that works out one JSON file, without a club and a database."""

import json
import sys
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, ClassVar

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _

from inspection.exchange.errors import UnreadableFile

GOOD, NOT_GOOD, UNREADABLE = 0, 1, 2


class FileCommand(BaseCommand, ABC):
    """Reads the file or standard input, prints what comes of it as JSON or lines, ends with 0, 1 or 2.

    refuses: what a file that cannot be read raises. schemas: the JSON Schema of the file, then that of the result.
    """

    requires_system_checks: list[str] = []
    refuses: ClassVar[type[UnreadableFile]]
    schemas: ClassVar[Mapping[str, Callable[[], str]]]

    @abstractmethod
    def work_out(self, content: bytes) -> Any:
        """What comes of the file. Raises what `refuses` names."""

    @abstractmethod
    def document(self, found: Any) -> dict[str, Any]:
        """The same as one JSON object."""

    @abstractmethod
    def lines(self, found: Any) -> Iterable[str]:
        """The same for people."""

    @abstractmethod
    def is_good(self, found: Any) -> bool:
        """Does the command end with 0, rather than 1?"""

    def add_arguments(self, parser: CommandParser) -> None:
        of_file, of_result = self.schemas
        parser.add_argument("file", nargs="?", help="the file; - reads standard input")
        parser.add_argument("--json", action="store_true", dest="as_json", help="print one JSON object")
        parser.add_argument(
            "--schema",
            nargs="?",
            const=of_file,
            choices=tuple(self.schemas),
            help=f"print the JSON Schema of the file, or of the {of_result} that --json prints",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self.stdout.write(self.schemas[options["schema"]]())
            return
        try:
            found = self.work_out(self._read(options["file"]))
        except (UnreadableFile, OSError) as refusal:
            self.stderr.write("\n".join([str(refusal), *getattr(refusal, "problems", ())]))
            sys.exit(UNREADABLE)
        if options["as_json"]:
            self.stdout.write(json.dumps(self.document(found), ensure_ascii=False))
        else:
            self.stdout.write("\n".join(self.lines(found)))
        sys.exit(GOOD if self.is_good(found) else NOT_GOOD)

    def _read(self, name: str | None) -> bytes:
        if name is None:
            raise self.refuses(why=_("Name a file, or - for standard input."))
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()

"""What the making of sheets, and files of them, refuse."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class SheetNameTaken(Refused):
    code = "sheet_name_taken"
    message = _("There is already a rule sheet called “{name}”. Give this one another name.")


class UnreadableSheet(Refused):
    """A file that is not a rule sheet as documented. `problems`: one sentence each, where and what."""

    code = "unreadable_sheet"
    message = _("Nothing was brought in. {why}")

    def __init__(self, *, why: Any, problems: tuple[str, ...] = ()) -> None:
        self.problems = problems
        super().__init__(why=why)

"""What the making of sheets, and files of them, refuse."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class SheetNameTaken(Refused):
    code = "sheet_name_taken"
    message = _("There is already a rule sheet called “{name}”. Give this one another name.")


class UnreadableFile(Refused):
    """A file that is not as documented. `problems`: one sentence each, where and what.

    Subclasses say in the words of their document what is wrong with the file as a whole.
    """

    code = "unreadable_file"
    message = _("Nothing was brought in. {why}")
    too_large = _("The file is larger than {most} MB.")
    damaged = _("The file is not a JSON file, or it is damaged.")
    another = _("The file is JSON, but it is not what is asked for here.")
    other_version = _("The file is of version {version}; version {known} can be read here.")

    def __init__(self, *, why: Any, problems: tuple[str, ...] = ()) -> None:
        self.problems = problems
        super().__init__(why=why)


class UnreadableSheet(UnreadableFile):
    code = "unreadable_sheet"
    too_large = _("The file is larger than {most} MB, which no rule sheet is.")
    another = _("The file is JSON, but it is not a rule sheet.")
    other_version = _("The file is a rule sheet of version {version}; version {known} can be read here.")

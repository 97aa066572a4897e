"""What is refused about files of parts."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class PartFileRefused(Refused):
    """What is refused about a file of parts; nothing is changed then."""


class NoCodeColumn(PartFileRefused):
    code = "no_code_column"
    message = _(
        "The first row of {name} should say what the columns are, and none of them is called article number. "
        "It reads: {first}. Put headings such as Article number, Name, Kind, Price above the list."
    )


class PartColumnTwice(PartFileRefused):
    code = "part_column_twice"
    message = _("Two columns of {name} are headed as the same thing: {headers}. Rename or delete one.")


class PartRowsRefused(PartFileRefused):
    code = "part_rows_refused"
    message = _("Nothing was brought in. {count} rows cannot be: {rows}.")


class PartFileTooLong(PartFileRefused):
    code = "part_file_too_long"
    message = _("{name} has {count} rows; at most {most} come in at once. Split it into smaller files.")

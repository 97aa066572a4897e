"""What is refused about lists of entries; nothing is entered then."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class ListRefused(Refused):
    """Base of the refusals of this slice."""


class TooFewNames(ListRefused):
    code = "too_few_names"
    message = _("Type at least two names, one a line: a race needs two drivers.")


class NameTwice(ListRefused):
    code = "name_twice"
    message = _("{names}: twice in the list. Give each driver once, with an initial where two share a name.")


class NameUnreadable(ListRefused):
    code = "name_unreadable"
    message = _("{names}: not a name. A name has at least one letter and at most 120.")


class NothingTicked(ListRefused):
    code = "nothing_ticked"
    message = _("Tick at least one driver.")


class ImportRefused(ListRefused):
    """What is refused about a file; nothing is entered then."""


class NoHeaderRow(ImportRefused):
    code = "no_header_row"
    message = _(
        "The first row of {name} should say what the columns are, and none of them is called driver or name. "
        "It reads: {first}. Put a row with headings such as Driver, Car number, Fee above the list."
    )


class ColumnTwice(ImportRefused):
    code = "column_twice"
    message = _("Two columns of {name} are headed as the same thing: {headers}. Rename or delete one.")


class AlreadyImported(ImportRefused):
    code = "already_imported"
    message = _("{name} was entered already. Nothing was entered twice.")


class RowsRefused(ImportRefused):
    code = "rows_refused"
    message = _("Nothing was entered. {count} rows cannot be: {rows}.")


class ChoiceMissing(ImportRefused):
    code = "choice_missing"
    message = _("Nothing was entered yet. Say who is meant in these rows first: {rows}.")

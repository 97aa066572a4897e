"""What cannot be done with builds and with files of cars."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NothingChanged(Refused):
    """A build that equals the last one would drop the car's clearance for nothing."""

    code = "nothing_changed"
    message = _("This is the same as build {number}, so there is nothing to save.")


class NothingDeclared(Refused):
    code = "nothing_declared"
    message = _("Say at least one thing of the car.")


class CarsNotReadable(Refused):
    """A file that is not a list of cars as documented. `problems`: one sentence each, where and what."""

    code = "cars_not_readable"
    message = _("Nothing was brought in. {why}")

    def __init__(self, *, why: Any, problems: tuple[str, ...] = ()) -> None:
        self.problems = problems
        super().__init__(why=why)

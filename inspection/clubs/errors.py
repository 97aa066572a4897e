"""What a service says when it will not do a thing. A refusal is an answer, never a crash and never a bug."""

from typing import Any

from django.utils.translation import gettext_lazy as _


class Refused(Exception):  # noqa: N818  it reads as what happened: "refused"
    """Base of every refusal: a stable `code` for tests and callers, a sentence for people, and its parameters.

    Subclasses give `message` as a translatable sentence that says what to do, with {placeholders} for parameters.
    """

    code = "refused"
    message = _("That cannot be done now.")

    def __init__(self, **params: Any) -> None:
        self.params = params
        super().__init__(self.code)

    def __str__(self) -> str:
        return str(self.message).format(**self.params)


class ChangedMeanwhile(Refused):
    """Two people had the same form open: the second is told, and what they typed stays in the form."""

    code = "changed_meanwhile"
    message = _(
        "{who} has changed this since you opened it. What you typed is still here: look at what stands now, "
        "then save again to put yours in its place."
    )


class ClubChangedMeanwhile(ChangedMeanwhile):
    code = "club_changed_meanwhile"

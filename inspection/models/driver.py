"""A driver: one identity over years, whoever spells the name how."""

import unicodedata

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubOwned


def name_key(name: str) -> str:
    """A name without case, accents, marks and doubled spaces: equal keys are the same spelling.

    >>> name_key("  Zoë  O'Brien ")
    'zoe obrien'
    """
    plain = unicodedata.normalize("NFKD", name)
    kept = (c for c in plain if not unicodedata.combining(c))
    letters = "".join(c if c.isalnum() or c.isspace() or c == "-" else "" for c in kept)
    return " ".join(letters.replace("-", " ").casefold().split())


class Driver(ClubOwned):
    """A person who drives. Contact data stay with the club; the public name is the club's choice."""

    name = models.CharField(_("name"), max_length=120)
    public_name = models.CharField(
        _("public name"),
        max_length=120,
        blank=True,
        help_text=_("Shown on public pages and paper instead of the name, for a junior for example."),
    )
    grade = models.CharField(_("grade"), max_length=40, blank=True)
    is_junior = models.BooleanField(_("junior"), default=False)
    contact = models.CharField(_("contact, kept private"), max_length=200, blank=True)
    note = models.CharField(_("note, kept private"), max_length=500, blank=True)
    is_active = models.BooleanField(_("comes to race nights"), default=True)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="drivers"
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["club", "user"],
                condition=models.Q(user__isnull=False),
                name="driver_one_per_user_and_club",
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="driver_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def shown_name(self) -> str:
        """The name for public pages, boards and paper."""
        return self.public_name or self.name


class DriverSpelling(models.Model):
    """A spelling that the club has accepted as this driver's; no two drivers share one."""

    club = models.ForeignKey("inspection.Club", on_delete=models.CASCADE, related_name="+")
    driver = models.ForeignKey(Driver, on_delete=models.CASCADE, related_name="spellings")
    key = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "key"], name="spelling_once_per_club")]

    def __str__(self) -> str:
        return self.key

"""A class of cars that race together."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubOwned


class RacingClass(ClubOwned):
    """The class; what its cars must be stands in its rule sheet."""

    name = models.CharField(_("name"), max_length=80)
    scale = models.CharField(_("scale"), max_length=20, blank=True, help_text=_("For example 1:32."))
    note = models.CharField(_("note"), max_length=300, blank=True)
    is_active = models.BooleanField(_("raced at present"), default=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="class_name_once_per_club")]

    def __str__(self) -> str:
        return self.name

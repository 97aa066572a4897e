"""Lists of what is allowed, kept apart from the sheets that use them, as numbered revisions."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.gauge import Characteristic
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField


class ChoiceList(ClubOwned):
    """A list over all its revisions: approved motors, bodies, axle widths by body.

    keyed_by: the entries hold only where this characteristic of the car has the entry's key.
    """

    name = models.CharField(_("name"), max_length=120)
    keyed_by = models.ForeignKey(
        Characteristic, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("depends on")
    )

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="choicelist_name_once_per_club")]

    def __str__(self) -> str:
        return self.name


class ChoiceListRevisionQuerySet(ClubQuerySet):
    club_path = "choice_list__club"


class ChoiceListRevision(models.Model):
    """One revision of a list; never changed once made. A published sheet pins one."""

    choice_list = models.ForeignKey(ChoiceList, on_delete=models.CASCADE, related_name="revisions")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    created_at = models.DateTimeField(default=timezone.now)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    change_note = models.CharField(_("what changed"), max_length=300, blank=True)

    objects = ChoiceListRevisionQuerySet.as_manager()

    class Meta:
        ordering = ["choice_list", "-number"]
        constraints = [models.UniqueConstraint(fields=["choice_list", "number"], name="list_revision_number_once")]

    def __str__(self) -> str:
        return f"{self.choice_list}, revision {self.number}"


class ChoiceEntry(models.Model):
    """One thing on a list, with the days it is allowed on and a note."""

    revision = models.ForeignKey(ChoiceListRevision, on_delete=models.CASCADE, related_name="entries")
    position = models.PositiveSmallIntegerField(default=0)
    value = models.CharField(_("allowed"), max_length=80)
    key = models.CharField(_("for"), max_length=80, blank=True)
    allowed_from = models.DateField(_("from"), null=True, blank=True)
    allowed_until = models.DateField(_("until"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(allowed_from__isnull=True)
                | models.Q(allowed_until__isnull=True)
                | models.Q(allowed_from__lte=models.F("allowed_until")),
                name="entry_dates_in_order",
            ),
        ]

    def __str__(self) -> str:
        return self.value

"""Who is called to tech after a race: the first places, and some more by a draw that anyone can repeat."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import Finding
from inspection.models.public import ClubQuerySet, PublicIdField
from racedesk.models.entry import Entry
from racedesk.models.event import Race


class TechCallQuerySet(ClubQuerySet):
    club_path = "race__event__club"


class TechCall(models.Model):
    """One call after one race. Its seed is shown, stored and printed."""

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="tech_calls")
    public_id = PublicIdField()
    first_places = models.PositiveSmallIntegerField(_("first places"), default=3)
    drawn = models.PositiveSmallIntegerField(_("drawn besides"), default=1)
    seed = models.CharField(_("seed"), max_length=40)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    objects = TechCallQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.race}: {self.seed}"


class CalledEntry(models.Model):
    """One entry that is called, and why."""

    class Why(models.TextChoices):
        PLACE = "place", _("by place")
        DRAWN = "drawn", _("drawn")

    call = models.ForeignKey(TechCall, on_delete=models.CASCADE, related_name="entries")
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="+")
    why = models.CharField(max_length=6, choices=Why.choices)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["call", "entry"], name="entry_called_once")]

    def __str__(self) -> str:
        return str(self.entry)


class DismissedFinding(models.Model):
    """A finding after the race of which the director makes no penalty, and why. Never changed."""

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="dismissed_findings")
    finding = models.OneToOneField(Finding, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(_("reason"), max_length=300)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at"]
        constraints = [models.CheckConstraint(condition=~models.Q(reason=""), name="dismissal_has_a_reason")]

    def __str__(self) -> str:
        return str(self.finding)

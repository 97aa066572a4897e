"""What is known of a gauge: studies of its readings, and the checks at the start of a night."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.gauge import Gauge
from inspection.models.public import ClubQuerySet, PublicIdField


class GaugeStudyQuerySet(ClubQuerySet):
    club_path = "gauge__club"


class GaugeStudy(models.Model):
    """A crossed study (every inspector measures every part, several times over), or the bias against a check block."""

    class Kind(models.TextChoices):
        CROSSED = "crossed", _("parts, inspectors and trials")
        BIAS = "bias", _("bias against a check block")

    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="studies")
    public_id = PublicIdField()
    kind = models.CharField(_("kind"), max_length=8, choices=Kind.choices)
    name = models.CharField(_("name"), max_length=80)
    parts = models.JSONField(_("parts"), default=list)
    inspectors = models.JSONField(_("inspectors"), default=list)
    trials = models.PositiveSmallIntegerField(_("trials"), default=3)
    reference = models.CharField(_("size of the check block"), max_length=30, blank=True)
    tolerance = models.CharField(_("width of the tolerance it is to decide"), max_length=30, blank=True)
    seed = models.PositiveIntegerField(_("seed of the measuring order"), default=0)
    started_at = models.DateTimeField(default=timezone.now)
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    # Set when its outcome was taken over into the gauge; its readings are final then.
    adopted_at = models.DateTimeField(null=True, blank=True)
    adopted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    # What it put in place in the gauge, and what stood there before, so that taking it over can be taken back.
    given = models.JSONField(default=dict, blank=True)
    replaced = models.JSONField(default=dict, blank=True)

    objects = GaugeStudyQuerySet.as_manager()

    class Meta:
        ordering = ["-started_at", "-id"]

    def __str__(self) -> str:
        return f"{self.gauge}: {self.name}"


class StudyReading(models.Model):
    """One reading of a study; part, inspector and trial count from 0."""

    study = models.ForeignKey(GaugeStudy, on_delete=models.CASCADE, related_name="readings")
    part = models.PositiveSmallIntegerField(default=0)
    inspector = models.PositiveSmallIntegerField(default=0)
    trial = models.PositiveSmallIntegerField()
    reading = models.CharField(max_length=40)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["inspector", "part", "trial"]
        constraints = [
            models.UniqueConstraint(fields=["study", "part", "inspector", "trial"], name="study_reading_once"),
        ]

    def __str__(self) -> str:
        return self.reading


class GaugeCheckQuerySet(ClubQuerySet):
    club_path = "gauge__club"


class GaugeCheck(models.Model):
    """A check weight or check block measured before the cars; kept as a log, never changed."""

    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="checks")
    nominal = models.CharField(_("size of the check piece"), max_length=40)
    reading = models.CharField(_("what the gauge showed"), max_length=40)
    is_within = models.BooleanField(_("within its permissible error"))
    note = models.CharField(_("note"), max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = GaugeCheckQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.gauge}: {self.reading}"

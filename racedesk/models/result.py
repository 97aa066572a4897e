"""Result sheets: numbered, immutable revisions; and the penalties that flow into them."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import Finding
from inspection.models.public import ClubQuerySet, PublicIdField
from racedesk.models.entry import Entry
from racedesk.models.event import Race
from racedesk.models.heat import Heat


class Penalty(models.Model):
    """Laps taken away, or exclusion; kept as its own line and never folded into the laps counted."""

    class Kind(models.TextChoices):
        LAPS = "laps", _("laps taken away")
        EXCLUSION = "exclusion", _("excluded")

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="penalties")
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="penalties")
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.LAPS)
    laps = models.PositiveSmallIntegerField(_("laps"), default=0)
    reason = models.CharField(_("reason"), max_length=300)
    finding = models.ForeignKey(Finding, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    # The heat in which this entry should have marshalled and did not.
    missed_heat = models.ForeignKey(Heat, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["at"]
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="penalty_has_a_reason")]

    def __str__(self) -> str:
        return f"{self.entry}: {self.get_kind_display()}"


class ResultSheetQuerySet(ClubQuerySet):
    club_path = "race__event__club"

    def current(self) -> "ResultSheetQuerySet":
        """The latest revision of each race's result."""
        return self.filter(superseded_at__isnull=True)


class ResultSheet(models.Model):
    """One published revision of a race's result. A correction is a new one that says what changed and why."""

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="result_sheets")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    published_at = models.DateTimeField(default=timezone.now)
    published_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    change_note = models.CharField(_("what changed and why"), max_length=500, blank=True)
    tech_note = models.CharField(_("tech"), max_length=200, blank=True)
    tie_rule = models.CharField(max_length=12, choices=Race.TieRule.choices)
    notes = models.JSONField(default=list)
    superseded_at = models.DateTimeField(null=True, blank=True)

    objects = ResultSheetQuerySet.as_manager()

    class Meta:
        ordering = ["race_id", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["race", "number"], name="result_number_once_per_race"),
            models.UniqueConstraint(
                fields=["race"], condition=Q(superseded_at__isnull=True), name="one_current_result_per_race"
            ),
            models.CheckConstraint(
                condition=Q(number=1) | ~Q(change_note=""), name="corrected_result_says_what_changed"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.race}, result {self.number}"


class ResultRow(models.Model):
    """One placing as published. Laps are two integers: whole sections, and the sections of one lap."""

    class Status(models.TextChoices):
        CLASSIFIED = "classified", _("classified")
        WITHDRAWN = "withdrawn", _("withdrawn")
        DID_NOT_START = "did_not_start", _("did not start")
        EXCLUDED = "excluded", _("excluded")

    sheet = models.ForeignKey(ResultSheet, on_delete=models.CASCADE, related_name="rows")
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="results")
    place = models.PositiveSmallIntegerField(null=True, blank=True)
    is_shared = models.BooleanField(default=False)
    status = models.CharField(max_length=14, choices=Status.choices, default=Status.CLASSIFIED)
    driver_name = models.CharField(max_length=200)
    car_number = models.PositiveIntegerField(null=True, blank=True)
    sections = models.PositiveIntegerField(default=0)
    divisor = models.PositiveSmallIntegerField(default=1)
    penalty_laps = models.PositiveSmallIntegerField(default=0)
    lanes = models.JSONField(default=dict)
    best_lap_s = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    decided_by = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["sheet_id", models.F("place").asc(nulls_last=True), "driver_name"]
        constraints = [
            models.UniqueConstraint(fields=["sheet", "entry"], name="entry_once_per_result"),
            models.CheckConstraint(condition=Q(divisor__gte=1), name="result_divisor_at_least_one"),
        ]

    def __str__(self) -> str:
        return f"{self.place} {self.driver_name}"

"""Tech: an occasion with its pinned sheet, the inspection of a car at a phase, and its findings."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.car import Build, Car
from inspection.models.gauge import Characteristic, Gauge
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField
from inspection.models.rulesheet import Clause, RuleSheetRevision
from inspection.models.track import TrackLayout


class TechOccasion(ClubOwned):
    """When, at which track and by which revision cars are inspected: a race night, or a tech day without a race."""

    name = models.CharField(_("name"), max_length=120)
    date = models.DateField(_("date"))
    track_layout = models.ForeignKey(
        TrackLayout, null=True, blank=True, on_delete=models.PROTECT, related_name="tech_occasions"
    )
    revision = models.ForeignKey(RuleSheetRevision, on_delete=models.PROTECT, related_name="tech_occasions")
    # What clauses may ask about the night: "sealed motors", "new tires". Words of the club's own.
    flags = models.JSONField(_("tonight"), default=list, blank=True)

    class Meta:
        ordering = ["-date", "name"]

    def __str__(self) -> str:
        return f"{self.name}, {self.date}"


class InspectionQuerySet(ClubQuerySet):
    club_path = "occasion__club"


class Inspection(models.Model):
    """One car at one phase of one occasion, clause by clause; signed when done.

    A car that comes back is inspected again on the same card: only what failed is re-opened, what passed stays.
    """

    class Phase(models.TextChoices):
        BEFORE = "before", _("before the race")
        IMPOUND = "impound", _("in impound")
        DURING = "during", _("during the race")
        AFTER = "after", _("after the race")

    occasion = models.ForeignKey(TechOccasion, on_delete=models.PROTECT, related_name="inspections")
    public_id = PublicIdField()
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="inspections")
    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.PROTECT, related_name="inspections")
    phase = models.CharField(_("phase"), max_length=10, choices=Phase.choices, default=Phase.BEFORE)
    attempt = models.PositiveSmallIntegerField(_("attempt"), default=1)
    opened_at = models.DateTimeField(default=timezone.now)
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    signed_at = models.DateTimeField(null=True, blank=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # What was signed: all clauses passed or not, at the moment of signing. A later finding re-opens the card.
    signed_clear = models.BooleanField(null=True, blank=True)
    # After a fail notice: by when the car is to be presented again.
    cure_by = models.DateTimeField(_("present again by"), null=True, blank=True)
    # Passed, marked and put away: from then on it is not touched without the clearance being lost.
    seal_number = models.CharField(_("seal"), max_length=30, blank=True)
    impounded_at = models.DateTimeField(null=True, blank=True)
    impounded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = InspectionQuerySet.as_manager()

    class Meta:
        ordering = ["-opened_at"]
        constraints = [
            models.UniqueConstraint(fields=["occasion", "car", "phase"], name="one_card_per_car_and_phase"),
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True, signed_clear__isnull=True)
                | Q(signed_at__isnull=False, signed_by__isnull=False, signed_clear__isnull=False),
                name="a_signature_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.car}, {self.get_phase_display()}"


class Reading(models.Model):
    """One reading or answer for one characteristic of the car, as typed; clauses are decided from these.

    `number` counts from 1 where several are taken. A correction adds a row and strikes the old one.
    """

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="readings")
    characteristic = models.ForeignKey(Characteristic, on_delete=models.PROTECT, related_name="+")
    number = models.PositiveSmallIntegerField(default=1)
    attempt = models.PositiveSmallIntegerField(_("attempt"), default=1)
    typed = models.CharField(_("reading or answer, as typed"), max_length=500)
    reading = models.CharField(_("reading as understood"), max_length=80, blank=True)
    # Of a resistance, which is referred to 20 degrees Celsius.
    temperature = models.CharField(_("temperature"), max_length=30, blank=True)
    gauge = models.ForeignKey(Gauge, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    gauge_name = models.CharField(max_length=60, blank=True)
    variance = models.CharField(max_length=200, blank=True)
    # The part of it that a mean makes smaller, as a standard deviation in the base unit.
    repeatability = models.CharField(max_length=100, blank=True)
    reason = models.CharField(_("reason"), max_length=500, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    superseded_at = models.DateTimeField(null=True, blank=True)
    client_key = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "characteristic", "number"],
                condition=Q(superseded_at__isnull=True),
                name="one_current_reading",
            ),
            models.UniqueConstraint(
                fields=["inspection", "client_key"], condition=~Q(client_key=""), name="reading_sent_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.characteristic}: {self.typed}"


class Photo(models.Model):
    """A photograph taken at tech, of the car or of what one clause is about."""

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="photos")
    public_id = PublicIdField()
    clause = models.ForeignKey(Clause, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    # In the database, not in files: one file holds all that a club must keep.
    data = models.BinaryField()
    media_type = models.CharField(max_length=20)
    note = models.CharField(_("note"), max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return self.note or str(self.inspection)


class ImpoundTouch(models.Model):
    """Somebody touched a car in impound: who says so, when and why. The clearance is gone with it."""

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="touches")
    reason = models.CharField(_("what was done"), max_length=300)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at"]

    def __str__(self) -> str:
        return self.reason


class Finding(models.Model):
    """One recorded answer to one clause, with everything it was decided by.

    Rows are never changed but for being superseded: a correction or a re-inspection adds a row and strikes the old one.
    Limits, reading and doubt are kept as text and parsed exactly; `variance` is a fraction of the base unit squared.
    """

    class Outcome(models.TextChoices):
        PASS = "pass", _("Pass")
        FAIL = "fail", _("Fail")

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="findings")
    clause = models.ForeignKey(Clause, on_delete=models.PROTECT, related_name="findings")
    attempt = models.PositiveSmallIntegerField(_("attempt"), default=1)
    clause_number = models.CharField(max_length=12)
    subject = models.CharField(max_length=80)
    limit_text = models.CharField(max_length=200)
    gauge = models.ForeignKey(Gauge, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    gauge_name = models.CharField(max_length=60, blank=True)
    variance = models.CharField(max_length=200, blank=True)
    answer = models.CharField(_("reading or answer, as typed"), max_length=80)
    reading = models.CharField(_("reading as understood"), max_length=80, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    zone = models.CharField(max_length=16, blank=True)
    outcome = models.CharField(max_length=6, choices=Outcome.choices)
    is_too_close = models.BooleanField(default=False)
    # What it was decided from: [{"code", "name", "source", "readings", "gauge", "variance"}], as text.
    inputs = models.JSONField(default=list, blank=True)
    reason = models.CharField(_("reason"), max_length=500, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    superseded_at = models.DateTimeField(null=True, blank=True)
    # Sent by the page with each reading, so that a double tap or a repeated send is recorded once.
    client_key = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "clause"],
                condition=Q(superseded_at__isnull=True),
                name="one_current_finding_per_clause",
            ),
            models.UniqueConstraint(
                fields=["inspection", "client_key"], condition=~Q(client_key=""), name="finding_sent_once"
            ),
            models.CheckConstraint(condition=Q(outcome__in=["pass", "fail"]), name="finding_outcome_known"),
        ]

    def __str__(self) -> str:
        return f"{self.clause_number} {self.answer}: {self.outcome}"

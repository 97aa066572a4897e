"""The bench: chassis records, what is built on them, runs, and the work order for a build."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.car import Build, Car
from inspection.models.driver import Driver
from inspection.models.part import MotorUnit, Part
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField
from inspection.models.racing_class import RacingClass
from inspection.models.track import TrackLayout


class Chassis(ClubOwned):
    """A chassis as measured once, for all builds on it. owner: None for the club's own.

    sizes: canonical texts by the codes of planning.register.CHASSIS_SIZES. runs_free: pairs of gears known to run free
    in it, as {"pinion": sizes, "driven_gear": sizes}. corners: what the tail of the guide may meet, as
    [{"back": text, "side": text}]. zones: where ballast may lie, as [{"name", "begin", "end", "most"}].
    """

    name = models.CharField(_("name"), max_length=80)
    owner = models.ForeignKey(
        Driver, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("owner")
    )
    sizes = models.JSONField(_("sizes"), default=dict, blank=True)
    runs_free = models.JSONField(_("pairs that run free"), default=list, blank=True)
    corners = models.JSONField(_("corners near the guide"), default=list, blank=True)
    zones = models.JSONField(_("room for ballast"), default=list, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="chassis_name_once_per_club")]
        verbose_name_plural = "chassis"

    def __str__(self) -> str:
        return self.name


class BenchSheetQuerySet(ClubQuerySet):
    club_path = "car__club"


class BenchSheet(models.Model):
    """One numbered revision of what a car is built of and how; never changed once made.

    chassis_sizes, parts and the rest are taken over when it is made, so that it stays what it was whatever happens to
    the records. parts: by place (planning.register.PLACES): {"name", "kind", "sizes", "price", "part": public id}.
    mounting: texts by the codes of MOUNTING_SIZES. spacers: by place, lists of {"thickness", "part"}. ballast: list of
    {"name", "mass", "ahead"}. targets: what is wanted where it differs from common practice, by the names of
    fit.Targets. declared_as: the build that was declared from it.
    """

    car = models.ForeignKey(Car, on_delete=models.CASCADE, related_name="bench_sheets")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    chassis = models.ForeignKey(
        Chassis, null=True, blank=True, on_delete=models.SET_NULL, related_name="sheets", verbose_name=_("chassis")
    )
    racing_class = models.ForeignKey(
        RacingClass, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("class")
    )
    track_layout = models.ForeignKey(
        TrackLayout, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("track")
    )
    motor_unit = models.ForeignKey(
        MotorUnit, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("single motor")
    )
    chassis_sizes = models.JSONField(default=dict, blank=True)
    runs_free = models.JSONField(default=list, blank=True)
    corners = models.JSONField(default=list, blank=True)
    zones = models.JSONField(default=list, blank=True)
    parts = models.JSONField(default=dict, blank=True)
    mounting = models.JSONField(default=dict, blank=True)
    spacers = models.JSONField(default=dict, blank=True)
    ballast = models.JSONField(default=list, blank=True)
    targets = models.JSONField(default=dict, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    declared_as = models.ForeignKey(Build, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = BenchSheetQuerySet.as_manager()

    class Meta:
        ordering = ["car", "-number"]
        constraints = [models.UniqueConstraint(fields=["car", "number"], name="bench_sheet_number_once_per_car")]

    def __str__(self) -> str:
        return f"{self.car}, bench sheet {self.number}"


class RunQuerySet(ClubQuerySet):
    club_path = "car__club"


class Run(models.Model):
    """A dated run of a car: where, on which lane, how quick, and what had been changed.

    lap_times: seconds as texts ("6.132"), in the order driven.
    """

    car = models.ForeignKey(Car, on_delete=models.CASCADE, related_name="runs")
    public_id = PublicIdField()
    sheet = models.ForeignKey(
        BenchSheet, null=True, blank=True, on_delete=models.SET_NULL, related_name="runs", verbose_name=_("bench sheet")
    )
    track_layout = models.ForeignKey(
        TrackLayout, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("track")
    )
    lane = models.PositiveSmallIntegerField(_("lane"), null=True, blank=True, validators=[MinValueValidator(1)])
    run_on = models.DateField(_("date"), default=timezone.localdate)
    lap_times = models.JSONField(_("lap times"), default=list)
    changes = models.CharField(_("what was changed before it"), max_length=300, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    created_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-run_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.car}, {self.run_on}"


class PrepTemplate(ClubOwned):
    """Steps of preparing a car, in working order, as a club words them.

    steps: [{"title", "text", "when": code, "caution": code, "checks": [text]}]; the codes are those of the prep slice.
    """

    name = models.CharField(_("name"), max_length=80)
    racing_class = models.ForeignKey(
        RacingClass, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("for the class")
    )
    steps = models.JSONField(_("steps"), default=list)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="prep_template_name_once_per_club")]

    def __str__(self) -> str:
        return self.name


class JobTicket(ClubOwned):
    """Work done for somebody: what was agreed, what went in, what it costs, and whether it was collected."""

    number = models.PositiveIntegerField(_("number"))
    customer = models.CharField(_("customer"), max_length=80)
    contact = models.CharField(_("contact"), max_length=120, blank=True)
    driver = models.ForeignKey(
        Driver, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("driver")
    )
    car = models.ForeignKey(
        Car, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("car")
    )
    car_words = models.CharField(_("car, in words"), max_length=120, blank=True)
    work_agreed = models.TextField(_("work agreed"), max_length=2000)
    promised_on = models.DateField(_("promised for"), null=True, blank=True)
    deposit = models.DecimalField(
        _("deposit"), max_digits=8, decimal_places=2, default=0, validators=[MinValueValidator(0)]
    )
    opened_at = models.DateTimeField(default=timezone.now)
    done_at = models.DateTimeField(_("done"), null=True, blank=True)
    collected_at = models.DateTimeField(_("collected"), null=True, blank=True)
    cancelled_at = models.DateTimeField(_("called off"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["club", "number"], name="job_ticket_number_once_per_club")]

    def __str__(self) -> str:
        return f"{self.number} {self.customer}"


class JobLineQuerySet(ClubQuerySet):
    club_path = "ticket__club"


class JobLine(models.Model):
    """A part used or labor, at the price of the day. A part's stock falls when its line is written.

    taken_back_at: the line no longer counts, and its part is in stock again.
    """

    ticket = models.ForeignKey(JobTicket, on_delete=models.CASCADE, related_name="lines")
    public_id = PublicIdField()
    part = models.ForeignKey(Part, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    text = models.CharField(_("what"), max_length=200)
    quantity = models.DecimalField(_("quantity"), max_digits=7, decimal_places=2, default=1)
    price = models.DecimalField(_("price each"), max_digits=8, decimal_places=2, default=0)
    taken_back_at = models.DateTimeField(_("taken back"), null=True, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = JobLineQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=models.Q(quantity__gt=0), name="job_line_quantity_above_zero")]

    def __str__(self) -> str:
        return self.text

"""A car, and its builds: numbered revisions of what its owner declares it to be."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.driver import Driver
from inspection.models.gauge import Characteristic
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField
from inspection.models.racing_class import RacingClass


class Car(ClubOwned):
    """The car as people know it; its number is the club's, so that it can be found at the tech table."""

    number = models.PositiveIntegerField(_("number"))
    name = models.CharField(_("name"), max_length=80)
    owner = models.ForeignKey(Driver, on_delete=models.PROTECT, related_name="cars", verbose_name=_("owner"))
    racing_class = models.ForeignKey(
        RacingClass,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="cars",
        verbose_name=_("class"),
    )
    note = models.CharField(_("note"), max_length=300, blank=True)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["club", "number"], name="car_number_once_per_club")]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class BuildQuerySet(ClubQuerySet):
    club_path = "car__club"


class Build(models.Model):
    """One revision of a car's declared spec. The latest counts; older ones stay."""

    class DriveLayout(models.TextChoices):
        INLINE = "inline", _("inline")
        SIDEWINDER = "sidewinder", _("sidewinder")
        ANGLEWINDER = "anglewinder", _("anglewinder")

    car = models.ForeignKey(Car, on_delete=models.CASCADE, related_name="builds")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    drive_layout = models.CharField(_("drive layout"), max_length=12, choices=DriveLayout.choices, blank=True)
    motor = models.CharField(_("motor"), max_length=80, blank=True)
    motor_class = models.CharField(_("motor class"), max_length=40, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    created_at = models.DateTimeField(default=timezone.now)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = BuildQuerySet.as_manager()

    class Meta:
        ordering = ["car", "-number"]
        constraints = [models.UniqueConstraint(fields=["car", "number"], name="build_number_once_per_car")]

    def __str__(self) -> str:
        return f"{self.car}, build {self.number}"


class DeclaredValue(models.Model):
    """What the builder says of one characteristic, as typed ("63.4 mm", "12", "yes")."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="declared")
    characteristic = models.ForeignKey(Characteristic, on_delete=models.PROTECT, related_name="+")
    text = models.CharField(_("declared"), max_length=80)

    class Meta:
        ordering = ["characteristic__position"]
        constraints = [
            models.UniqueConstraint(fields=["build", "characteristic"], name="declared_once_per_build"),
        ]

    def __str__(self) -> str:
        return f"{self.characteristic}: {self.text}"

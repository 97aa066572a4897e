"""Parts of a club, its shop and its drivers, and single motors with what was measured on them."""

from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.driver import Driver
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField
from inspection.models.racing_class import RacingClass


class Part(ClubOwned):
    """A part as it is sold or lies in the drawer. owner: None for the club or its shop.

    sizes: canonical texts ("19.5 mm", "36") by the codes of planning.register.PART_SIZES for its kind.
    """

    class Kind(models.TextChoices):
        MOTOR = "motor", _("motor")
        PINION = "pinion", _("pinion")
        SPUR_GEAR = "spur_gear", _("spur gear")
        CROWN_GEAR = "crown_gear", _("crown gear")
        TIRE = "tire", _("tire")
        WHEEL = "wheel", _("wheel")
        AXLE = "axle", _("axle")
        BUSHING = "bushing", _("bushing")
        SPACER = "spacer", _("spacer")
        GUIDE = "guide", _("guide")
        BRAID = "braid", _("braid")
        LEAD_WIRE = "lead_wire", _("lead wire")
        BALLAST = "ballast", _("ballast")
        BODY = "body", _("body")
        CHASSIS = "chassis", _("chassis")
        OTHER = "other", _("other")

    code = models.CharField(_("article number"), max_length=40)
    kind = models.CharField(_("kind"), max_length=12, choices=Kind.choices)
    name = models.CharField(_("name"), max_length=120)
    owner = models.ForeignKey(
        Driver,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="parts",
        verbose_name=_("owner"),
        help_text=_("Empty for the club's own stock."),
    )
    sizes = models.JSONField(_("sizes"), default=dict, blank=True)
    price = models.DecimalField(
        _("price"), max_digits=8, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    stock = models.PositiveIntegerField(_("in stock"), default=0)
    allowed_in = models.ManyToManyField(RacingClass, blank=True, related_name="+", verbose_name=_("allowed in"))
    note = models.CharField(_("note"), max_length=300, blank=True)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["kind", "name", "code"]
        constraints = [models.UniqueConstraint(fields=["club", "code"], name="part_code_once_per_club")]

    def __str__(self) -> str:
        return self.name


class StockMove(models.Model):
    """A change of a part's stock: what came in, was used or was counted anew. Rows are only added."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="moves")
    change = models.IntegerField(_("change"))
    reason = models.CharField(_("reason"), max_length=200)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey("inspection.User", null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.part}: {self.change:+d}"


class MotorUnit(ClubOwned):
    """One motor with a number of its own: two of a kind are never the same. owner: None for the club's."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="units", verbose_name=_("motor"))
    number = models.CharField(_("number"), max_length=20)
    owner = models.ForeignKey(
        Driver, null=True, blank=True, on_delete=models.PROTECT, related_name="motors", verbose_name=_("owner")
    )
    hours = models.DecimalField(
        _("hours run"), max_digits=6, decimal_places=1, default=0, validators=[MinValueValidator(0)]
    )
    note = models.CharField(_("note"), max_length=300, blank=True)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["club", "number"], name="motor_number_once_per_club")]

    def __str__(self) -> str:
        return f"{self.number} {self.part}"


class MotorTestQuerySet(ClubQuerySet):
    club_path = "motor__club"


class MotorTest(models.Model):
    """What a motor was measured at, on a day, without load. Quantities as canonical texts ("6 V", "18200 rpm")."""

    motor = models.ForeignKey(MotorUnit, on_delete=models.CASCADE, related_name="tests")
    public_id = PublicIdField()
    tested_on = models.DateField(_("measured on"), default=timezone.localdate)
    voltage = models.CharField(_("at"), max_length=30)
    speed = models.CharField(_("speed"), max_length=30, blank=True)
    current = models.CharField(_("current"), max_length=30, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    by = models.ForeignKey("inspection.User", null=True, on_delete=models.SET_NULL, related_name="+")

    objects = MotorTestQuerySet.as_manager()

    class Meta:
        ordering = ["-tested_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.motor}, {self.tested_on}"

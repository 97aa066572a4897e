"""What a club measures with, and the characteristics that can be measured."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubOwned


class Gauge(ClubOwned):
    """A caliper, a scale, a block. Its doubt follows from resolution and maximum permissible error.

    Resolution and error are kept as typed ("0.01 mm", ".0005 in"): they are parsed exactly when used.
    """

    class Kind(models.TextChoices):
        READING = "reading", _("gives a reading")
        GO_NO_GO = "go_no_go", _("goes or does not go")

    name = models.CharField(_("name"), max_length=60)
    kind = models.CharField(_("kind"), max_length=10, choices=Kind.choices, default=Kind.READING)
    measures = models.CharField(_("measures"), max_length=20, help_text=_("A kind of quantity, such as length."))
    unit = models.CharField(_("unit it shows"), max_length=12, blank=True)
    resolution = models.CharField(_("smallest step it shows"), max_length=30, blank=True)
    max_permissible_error = models.CharField(_("largest error its maker permits"), max_length=30, blank=True)
    # What studies have found, as written; empty until there is one. The error found is not corrected for: it widens u.
    repeatability = models.CharField(_("repeatability, one standard deviation"), max_length=30, blank=True)
    reproducibility = models.CharField(_("between inspectors, one standard deviation"), max_length=30, blank=True)
    bias = models.CharField(_("bias against a check block"), max_length=30, blank=True)
    calibrated_on = models.DateField(_("calibrated on"), null=True, blank=True)
    calibration_due = models.DateField(_("calibration due"), null=True, blank=True)
    retired_at = models.DateTimeField(_("no longer in use since"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="gauge_name_once_per_club")]

    def __str__(self) -> str:
        return self.name


class Characteristic(ClubOwned):
    """A thing that can be measured or seen on a car: rear tire diameter, weight, windows clear.

    `code` is stable, so that sheets travel between clubs; everything else a club may word as it likes.
    """

    class Group(models.TextChoices):
        PLATE = "plate", _("On the plate")
        ACROSS = "across", _("Across the car")
        SCALE = "scale", _("On the scale")
        DRIVE = "drive", _("Motor and gears")
        CHASSIS = "chassis", _("Chassis and guide")
        BODY = "body", _("Body and appearance")
        OTHER = "other", _("Everything else")

    code = models.SlugField(_("code"), max_length=60)
    name = models.CharField(_("name"), max_length=80)
    kind = models.CharField(_("kind of quantity"), max_length=20)
    unit = models.CharField(_("usual unit"), max_length=12, blank=True)
    measuring_point = models.CharField(_("measuring point"), max_length=300, blank=True)
    group = models.CharField(_("where it is checked"), max_length=10, choices=Group.choices, default=Group.OTHER)
    position = models.PositiveSmallIntegerField(_("place in the measuring order"), default=100)
    plausible_low = models.CharField(_("plausible from"), max_length=30, blank=True)
    plausible_high = models.CharField(_("plausible up to"), max_length=30, blank=True)
    # What counts with it at the measuring point, and its drawing (a name of inspection/gauges/drawings).
    counts_with = models.CharField(
        _("gears, pins, tape"), max_length=120, blank=True, help_text=_("Whether they count.")
    )
    drawing = models.SlugField(_("drawing"), max_length=40, blank=True)
    # Worked out of other characteristics or read off the track record: {"form": "ratio", "of": [code, code]}.
    derivation = models.JSONField(_("worked out from"), default=dict, blank=True)
    on_build_sheet = models.BooleanField(_("asked for on the build sheet"), default=False)
    default_gauge = models.ForeignKey(Gauge, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["position", "name"]
        constraints = [models.UniqueConstraint(fields=["club", "code"], name="characteristic_code_once_per_club")]

    def __str__(self) -> str:
        return self.name

"""A track, its layouts as immutable revisions, their lanes and marshal posts."""

from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField


class Track(ClubOwned):
    """The track as the club speaks of it, whatever layout it has this season."""

    name = models.CharField(_("name"), max_length=80)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="track_name_once_per_club")]

    def __str__(self) -> str:
        return self.name


class TrackLayoutQuerySet(ClubQuerySet):
    club_path = "track__club"


class TrackLayout(models.Model):
    """One revision of a track. Never changed once made: a record and a fastest lap belong to one.

    Lengths are in millimeters but for lanes, which are in meters; both exact decimals.
    """

    class Direction(models.TextChoices):
        CLOCKWISE = "clockwise", _("clockwise")
        COUNTERCLOCKWISE = "counterclockwise", _("counterclockwise")

    class Side(models.TextChoices):
        LEFT = "left", _("left of the slot, in driving direction")
        RIGHT = "right", _("right of the slot, in driving direction")

    track = models.ForeignKey(Track, on_delete=models.PROTECT, related_name="layouts")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    created_at = models.DateTimeField(default=timezone.now)
    change_note = models.CharField(_("what changed"), max_length=300, blank=True)
    direction = models.CharField(_("direction"), max_length=20, choices=Direction.choices, default=Direction.CLOCKWISE)
    divisor = models.PositiveSmallIntegerField(
        _("sections a lap is divided into"), default=20, validators=[MinValueValidator(1)]
    )
    lane_order = models.JSONField(
        _("usual lane order"),
        default=list,
        help_text=_("Lane numbers in the order drivers move through them."),
    )
    slot_depth_mm = models.DecimalField(
        _("slot depth at the shallowest, mm"), max_digits=6, decimal_places=3, null=True, blank=True
    )
    slot_width_mm = models.DecimalField(_("slot width, mm"), max_digits=6, decimal_places=3, null=True, blank=True)
    lane_spacing_mm = models.DecimalField(_("lane spacing, mm"), max_digits=6, decimal_places=2, null=True, blank=True)
    conductor_height_mm = models.DecimalField(
        _("conductor against the surface, mm"),
        max_digits=5,
        decimal_places=3,
        null=True,
        blank=True,
        help_text=_("Minus when the braid or tape lies below the surface."),
    )
    # In the order driven: {"length": "2.40 m"}, or {"radius": "300 mm", "angle": "90", "turn": "left"}.
    sections = models.JSONField(_("straights and curves"), default=list, blank=True)
    surface = models.CharField(_("surface"), max_length=80, blank=True)
    tire_treatment = models.CharField(_("tire treatment it allows"), max_length=200, blank=True)
    positive_side = models.CharField(_("positive conductor"), max_length=8, choices=Side.choices, blank=True)
    hookup = models.CharField(_("driver station hook-up"), max_length=200, blank=True)
    voltage_v = models.DecimalField(_("voltage, V"), max_digits=5, decimal_places=2, null=True, blank=True)
    fuse_a = models.DecimalField(_("fuse on each lane, A"), max_digits=5, decimal_places=2, null=True, blank=True)
    supply_a = models.DecimalField(_("supply for each lane, A"), max_digits=5, decimal_places=2, null=True, blank=True)

    objects = TrackLayoutQuerySet.as_manager()

    class Meta:
        ordering = ["track", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["track", "number"], name="layout_number_once_per_track"),
            models.CheckConstraint(condition=models.Q(divisor__gte=1), name="layout_divisor_at_least_one"),
        ]

    def __str__(self) -> str:
        return f"{self.track}, layout {self.number}"


class Lane(models.Model):
    """A lane: always its number and the track's own name for it; the color is the track's too."""

    layout = models.ForeignKey(TrackLayout, on_delete=models.CASCADE, related_name="lanes")
    number = models.PositiveSmallIntegerField(_("number"), validators=[MinValueValidator(1)])
    name = models.CharField(_("name"), max_length=30)
    color = models.CharField(
        _("color"),
        max_length=7,
        validators=[RegexValidator(r"^#[0-9a-fA-F]{6}$", _("Give a color as #rrggbb."))],
    )
    length_m = models.DecimalField(_("length, m"), max_digits=7, decimal_places=3, null=True, blank=True)
    offset_mm = models.DecimalField(
        _("from the middle of the track, mm"),
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        help_text=_("To the left in driving direction; minus to the right."),
    )

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["layout", "number"], name="lane_number_once_per_layout"),
            models.CheckConstraint(condition=models.Q(number__gte=1), name="lane_number_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class MarshalPost(models.Model):
    """A place where a marshal stands."""

    layout = models.ForeignKey(TrackLayout, on_delete=models.CASCADE, related_name="posts")
    number = models.PositiveSmallIntegerField(_("number"), validators=[MinValueValidator(1)])
    name = models.CharField(_("name"), max_length=40)
    adults_only = models.BooleanField(_("adults only"), default=False)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["layout", "number"], name="post_number_once_per_layout")]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"

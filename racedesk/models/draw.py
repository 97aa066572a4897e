"""A race is a chain of stages; each stage has seats, and draws as numbered, immutable revisions."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubQuerySet, PublicIdField
from racedesk.models.entry import Entry
from racedesk.models.event import Race


class Stage(models.Model):
    """Qualifying, rotation or mains; one after the other."""

    class Kind(models.TextChoices):
        QUALIFYING = "qualifying", _("qualifying")
        ROTATION = "rotation", _("rotation")
        MAIN = "main", _("main")

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveSmallIntegerField(default=1)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.ROTATION)
    name = models.CharField(_("name"), max_length=80, blank=True)

    class Meta:
        ordering = ["race_id", "position"]
        constraints = [models.UniqueConstraint(fields=["race", "position"], name="stage_position_once_per_race")]

    def __str__(self) -> str:
        return self.name or self.get_kind_display()


class Seat(models.Model):
    """A place in a stage. Its entry may stay open until a move-up fills it."""

    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="seats")
    number = models.PositiveSmallIntegerField(_("number in the draw"))
    entry = models.ForeignKey(Entry, null=True, blank=True, on_delete=models.PROTECT, related_name="seats")

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["stage", "number"], name="seat_number_once_per_stage"),
            models.UniqueConstraint(
                fields=["stage", "entry"], condition=Q(entry__isnull=False), name="entry_one_seat_per_stage"
            ),
        ]

    def __str__(self) -> str:
        return str(self.entry) if self.entry_id else str(self.number)


class DrawQuerySet(ClubQuerySet):
    club_path = "stage__race__event__club"

    def current(self) -> "DrawQuerySet":
        """The draw that is being raced: the latest that nothing has superseded."""
        return self.filter(superseded_at__isnull=True)


class Draw(models.Model):
    """One revision of who races in which lane in which heat; how it was made can be repeated from its seed."""

    class Preset(models.TextChoices):
        USUAL = "usual", _("Usual order")
        OPPONENTS = "opponents", _("Opponents")
        REST = "rest", _("Rest")

    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="draws")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    preset = models.CharField(max_length=12, choices=Preset.choices)
    seed = models.PositiveBigIntegerField(_("seed"))
    steps = models.PositiveIntegerField(_("budget of search steps"), default=0)
    report = models.JSONField(_("balance report"), default=dict)
    reason = models.CharField(_("why drawn again"), max_length=300, blank=True)
    drawn_at = models.DateTimeField(default=timezone.now)
    drawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    superseded_at = models.DateTimeField(null=True, blank=True)

    objects = DrawQuerySet.as_manager()

    class Meta:
        ordering = ["stage_id", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["stage", "number"], name="draw_number_once_per_stage"),
            models.UniqueConstraint(
                fields=["stage"], condition=Q(superseded_at__isnull=True), name="one_current_draw_per_stage"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stage}, draw {self.number}"

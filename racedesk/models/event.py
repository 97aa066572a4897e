"""An event (a race night) and its races: one class at one event."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import RacingClass, RuleSheetRevision, TechOccasion, TrackLayout
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField


class Event(ClubOwned):
    """A race night: a date, a track, and the times people must know."""

    name = models.CharField(_("name"), max_length=120)
    date = models.DateField(_("date"))
    track_layout = models.ForeignKey(TrackLayout, on_delete=models.PROTECT, related_name="events")
    doors_at = models.DateTimeField(_("doors and practice"), null=True, blank=True)
    tech_opens_at = models.DateTimeField(_("tech opens"), null=True, blank=True)
    tech_closes_at = models.DateTimeField(_("tech closes"), null=True, blank=True)
    racing_at = models.DateTimeField(_("racing from"), null=True, blank=True)
    hall_closes_at = models.DateTimeField(_("hall closes"), null=True, blank=True)
    takes_turns = models.BooleanField(_("heats of the races in turn"), default=False)
    note = models.CharField(_("note"), max_length=500, blank=True)
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-date", "name"]

    def __str__(self) -> str:
        return self.name


class RaceQuerySet(ClubQuerySet):
    club_path = "event__club"


class Race(models.Model):
    """One class at one event. May be run without tech, cars or rule sheet: then its results say so."""

    class LapMethod(models.TextChoices):
        CARRIED = "carried", _("car put down where it stopped; the section is read once, after its last lane")
        LANE_BY_LANE = "lane_by_lane", _("every lane starts from the line; parts are added lane by lane")
        WHOLE_LAPS = "whole_laps", _("whole laps only")
        COMPLETED = "completed", _("the lap in progress is completed")

    class TieRule(models.TextChoices):
        BEST_LAP = "best_lap", _("the faster best lap goes first")
        BEST_LANE = "best_lane", _("the better best lane goes first, then the next best")
        SHARED = "shared", _("equal laps share the place")

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="races")
    public_id = PublicIdField()
    position = models.PositiveSmallIntegerField(_("order in the night"), default=1)
    name = models.CharField(_("name"), max_length=120)
    racing_class = models.ForeignKey(
        RacingClass,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="races",
        verbose_name=_("class"),
    )
    needs_tech = models.BooleanField(_("cars go through tech"), default=True)
    rule_revision = models.ForeignKey(
        RuleSheetRevision, null=True, blank=True, on_delete=models.PROTECT, related_name="races"
    )
    tech_occasion = models.ForeignKey(
        TechOccasion, null=True, blank=True, on_delete=models.PROTECT, related_name="races"
    )
    entries_close_at = models.DateTimeField(_("entries close"), null=True, blank=True)
    cap = models.PositiveSmallIntegerField(_("most entries"), null=True, blank=True)
    fee = models.DecimalField(_("fee"), max_digits=8, decimal_places=2, default=0, validators=[MinValueValidator(0)])
    junior_fee = models.DecimalField(
        _("fee for juniors"),
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )
    heat_length_s = models.PositiveIntegerField(_("heat length, s"), default=180)
    changeover_s = models.PositiveIntegerField(_("change-over, s"), default=75)
    countdown_s = models.PositiveSmallIntegerField(_("countdown, s"), default=5)
    power_off_warning_s = models.PositiveSmallIntegerField(_("warning before power-off, s"), default=10)
    lap_method = models.CharField(
        _("part laps"), max_length=14, choices=LapMethod.choices, default=LapMethod.LANE_BY_LANE
    )
    tie_rule = models.CharField(_("ties"), max_length=12, choices=TieRule.choices, default=TieRule.BEST_LANE)
    missed_duty_laps = models.PositiveSmallIntegerField(_("laps for a missed marshal duty"), default=1)
    groups_from = models.PositiveSmallIntegerField(_("in groups from so many drivers on"), null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now)

    objects = RaceQuerySet.as_manager()

    class Meta:
        ordering = ["event", "position", "id"]
        constraints = [
            models.UniqueConstraint(fields=["event", "name"], name="race_name_once_per_event"),
            models.CheckConstraint(condition=Q(fee__gte=0), name="race_fee_not_negative"),
            models.CheckConstraint(condition=Q(heat_length_s__gt=0), name="race_heat_has_length"),
            models.CheckConstraint(
                condition=Q(needs_tech=False) | Q(tech_occasion__isnull=False, rule_revision__isnull=False),
                name="race_with_tech_has_a_rule_sheet",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event}, {self.name}"

    @property
    def counts_part_laps(self) -> bool:
        return self.lap_method in {self.LapMethod.CARRIED, self.LapMethod.LANE_BY_LANE}

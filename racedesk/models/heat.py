"""Heats, who drives which lane in them, who marshals, and what happened, as numbered events."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from inspection.models import Build, Car, Driver, Lane, MarshalPost
from inspection.models.club import AppendOnly, AppendOnlyQuerySet
from inspection.models.public import ClubQuerySet, PublicIdField
from racedesk.models.draw import Draw, Seat
from racedesk.models.event import Race


class HeatQuerySet(ClubQuerySet):
    club_path = "draw__stage__race__event__club"


class Heat(models.Model):
    """One run on the lanes. What its state is, its events tell."""

    draw = models.ForeignKey(Draw, on_delete=models.CASCADE, related_name="heats")
    public_id = PublicIdField()
    number = models.PositiveSmallIntegerField(_("heat"))

    objects = HeatQuerySet.as_manager()

    class Meta:
        ordering = ["draw_id", "number"]
        constraints = [models.UniqueConstraint(fields=["draw", "number"], name="heat_number_once_per_draw")]

    def __str__(self) -> str:
        return str(_("Heat {number}").format(number=self.number))


class LaneAssignment(models.Model):
    """A seat on a lane in a heat; beside it who really drove which car."""

    heat = models.ForeignKey(Heat, on_delete=models.CASCADE, related_name="lanes")
    lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="assignments")
    drove = models.ForeignKey(Driver, null=True, blank=True, on_delete=models.PROTECT, related_name="drives")
    car = models.ForeignKey(Car, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["heat_id", "lane__number"]
        constraints = [
            models.UniqueConstraint(fields=["heat", "lane"], name="lane_once_per_heat"),
            models.UniqueConstraint(fields=["heat", "seat"], name="seat_once_per_heat"),
        ]

    def __str__(self) -> str:
        return f"{self.heat}, {self.lane}: {self.seat}"


class MarshalDuty(models.Model):
    """Who stands on which post in a heat."""

    heat = models.ForeignKey(Heat, on_delete=models.CASCADE, related_name="marshals")
    post = models.ForeignKey(MarshalPost, on_delete=models.PROTECT, related_name="+")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="duties")

    class Meta:
        ordering = ["heat_id", "post__number"]
        constraints = [
            models.UniqueConstraint(fields=["heat", "post"], name="post_once_per_heat"),
            models.UniqueConstraint(fields=["heat", "seat"], name="marshal_once_per_heat"),
        ]

    def __str__(self) -> str:
        return f"{self.heat}, {self.post}: {self.seat}"


class MarshalHelper(models.Model):
    """Somebody who does not race and holds a post, from a heat on until another, or to the end of the race.

    Kept beside the draws, so that a helper stays when the heats are drawn again.
    """

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="helpers")
    post = models.ForeignKey(MarshalPost, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(_("name"), max_length=120)
    first_heat = models.PositiveSmallIntegerField(_("from heat"), default=1)
    last_heat = models.PositiveSmallIntegerField(_("to heat"), null=True, blank=True)
    named_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["race_id", "post__number", "first_heat"]
        constraints = [
            models.UniqueConstraint(
                fields=["race", "post"], condition=Q(last_heat__isnull=True), name="one_helper_a_post_at_once"
            ),
            models.CheckConstraint(condition=~Q(name=""), name="helper_has_a_name"),
        ]

    def __str__(self) -> str:
        return f"{self.post}: {self.name}"


class HeatEventQuerySet(AppendOnlyQuerySet):
    club_path = "heat__draw__stage__race__event__club"


class HeatEvent(AppendOnly):
    """What happened in a heat: started, called, resumed, laps typed, laps corrected.

    Numbers run without gaps per heat and are given under a lock, because database ids do not follow commit order.
    Replaying the rows gives the clock and the score after any crash. `detail` holds what the kind needs:
    laps are {"laps": whole laps, "sections": whole sections, "divisor": the track's}.
    """

    heat = models.ForeignKey(Heat, on_delete=models.CASCADE, related_name="events")
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=20)
    at_ms = models.PositiveBigIntegerField(_("server clock, ms since 1970"))
    lane = models.ForeignKey(Lane, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    detail = models.JSONField(default=dict)
    reason = models.CharField(_("reason"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    client_key = models.CharField(max_length=40, blank=True)

    objects = HeatEventQuerySet.as_manager()

    class Meta:
        ordering = ["heat_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["heat", "number"], name="event_number_once_per_heat"),
            models.UniqueConstraint(
                fields=["heat", "client_key"], condition=~Q(client_key=""), name="heat_event_sent_once"
            ),
            models.CheckConstraint(condition=Q(number__gte=1), name="event_numbers_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.heat} #{self.number} {self.kind}"

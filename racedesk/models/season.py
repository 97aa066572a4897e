"""A season and its rounds. A race may score in several seasons."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubOwned
from racedesk.models.event import Race


class Season(ClubOwned):
    """How rounds add up: points by place, how many rounds count, how ties are split."""

    name = models.CharField(_("name"), max_length=120)
    points = models.JSONField(
        _("points by place"),
        default=list,
        help_text=_("From first place down; places beyond the list score nothing."),
    )
    rounds_that_count = models.PositiveSmallIntegerField(
        _("best rounds that count"), null=True, blank=True, help_text=_("Empty: all of them.")
    )
    rounds_planned = models.PositiveSmallIntegerField(_("rounds planned"), null=True, blank=True)
    is_active = models.BooleanField(_("running"), default=True)

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="season_name_once_per_club")]

    def __str__(self) -> str:
        return self.name


class Round(models.Model):
    """A race that scores in a season."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="rounds")
    number = models.PositiveSmallIntegerField(_("round"))
    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="rounds")

    class Meta:
        ordering = ["season_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["season", "number"], name="round_number_once_per_season"),
            models.UniqueConstraint(fields=["season", "race"], name="race_once_per_season"),
        ]

    def __str__(self) -> str:
        return f"{self.season}, round {self.number}"

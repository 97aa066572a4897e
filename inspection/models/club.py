"""The club, who holds which role in it, its append-only log, and its long-running jobs."""

from typing import Any

from django.conf import settings
from django.core.validators import RegexValidator, validate_slug
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.public import ClubQuerySet, PublicIdField

# Words that stand at the first place of an address and so cannot be a club's short name.
RESERVED_SLUGS = frozenset({"sign-in", "sign-out", "static", "media", "start", "home", "health", "password"})


class Club(models.Model):
    """A club: its habits of time, units, paper, money and language."""

    class Units(models.TextChoices):
        METRIC = "mm", _("millimeters and grams")
        INCH = "in", _("inches and ounces")

    class Paper(models.TextChoices):
        A4 = "A4", "A4"
        LETTER = "Letter", "US Letter"

    class DecimalMark(models.TextChoices):
        POINT = ".", _("point, 63.4")
        COMMA = ",", _("comma, 63,4")

    slug = models.SlugField(_("short name in addresses"), max_length=40, unique=True, validators=[validate_slug])
    name = models.CharField(_("name"), max_length=120)
    is_invented = models.BooleanField(_("invented, for trying out"), default=False)
    time_zone = models.CharField(_("time zone"), max_length=64, default="UTC")
    language = models.CharField(_("language"), max_length=12, default="en")
    units = models.CharField(_("units shown first"), max_length=4, choices=Units.choices, default=Units.METRIC)
    decimal_mark = models.CharField(
        _("decimal mark"), max_length=1, choices=DecimalMark.choices, default=DecimalMark.POINT
    )
    paper = models.CharField(_("paper"), max_length=8, choices=Paper.choices, default=Paper.A4)
    currency = models.CharField(
        _("currency"),
        max_length=3,
        default="EUR",
        validators=[RegexValidator(r"^[A-Z]{3}$", _("Give the three capital letters of the currency, such as EUR."))],
    )
    hall_closes_at = models.TimeField(_("hall closes at"), null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(slug__in=sorted(RESERVED_SLUGS)), name="club_slug_not_reserved"),
        ]

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    """What a member does for the club. One person may hold several."""

    OWNER = "owner", _("Owner")
    RACE_DIRECTOR = "race_director", _("Race director")
    TECH_INSPECTOR = "tech_inspector", _("Tech inspector")
    ENTRY_DESK = "entry_desk", _("Entry desk")
    DRIVER = "driver", _("Driver")


class Membership(models.Model):
    """One role of one user in one club."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="memberships")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(_("role"), max_length=20, choices=Role.choices)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["club", "user", "role"], name="membership_role_once"),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="membership_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.user}, {self.get_role_display()}"


class AppendOnlyError(RuntimeError):
    """Somebody's code tried to change or delete what may only be added to: a bug, never a refusal."""


class AppendOnlyQuerySet(ClubQuerySet):
    """Reads and adds; refuses the rest."""

    def update(self, **kwargs: Any) -> int:
        raise AppendOnlyError(self.model.__name__)

    def bulk_update(self, objs: Any, fields: Any, batch_size: int | None = None) -> int:
        raise AppendOnlyError(self.model.__name__)

    def delete(self) -> tuple[int, dict[str, int]]:
        raise AppendOnlyError(self.model.__name__)


class AppendOnly(models.Model):
    """Abstract: a row is written once."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise AppendOnlyError(type(self).__name__)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise AppendOnlyError(type(self).__name__)


class LogEntry(AppendOnly):
    """Who did what, when and why. Written by services, read by the director."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="log")
    at = models.DateTimeField(default=timezone.now, db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    action = models.CharField(_("what"), max_length=60)
    subject_type = models.CharField(max_length=40)
    subject_id = models.CharField(max_length=20)
    summary = models.CharField(_("about"), max_length=300)
    reason = models.CharField(_("why"), max_length=500, blank=True)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["club", "-at"], name="log_by_club_and_time")]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.action} {self.summary}"


class Job(models.Model):
    """Long work on a worker thread: shows how far it is and survives a reload of the page."""

    class State(models.TextChoices):
        RUNNING = "running", _("running")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="jobs")
    public_id = PublicIdField()
    kind = models.CharField(max_length=40)
    state = models.CharField(max_length=10, choices=State.choices, default=State.RUNNING)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    message = models.CharField(max_length=500, blank=True)
    result = models.JSONField(default=dict)
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    started_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True)

    objects = ClubQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.kind}: {self.done} of {self.total}"

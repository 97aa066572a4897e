"""Entries: who races what, what they owe, and whether they are here."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import Build, Car, Driver
from inspection.models.public import ClubQuerySet, PublicIdField
from racedesk.models.event import Event, Race


class EntryQuerySet(ClubQuerySet):
    club_path = "race__event__club"

    def racing(self) -> "EntryQuerySet":
        """Those who take part as things stand: neither waiting, nor withdrawn, nor absent."""
        return self.filter(state__in=[Entry.State.ENTERED, Entry.State.CHECKED_IN])


class Entry(models.Model):
    """One entry in one race: one driver or a team, with a car and perhaps a spare."""

    class State(models.TextChoices):
        ENTERED = "entered", _("entered")
        WAITING = "waiting", _("on the waiting list")
        CHECKED_IN = "checked_in", _("checked in")
        WITHDRAWN = "withdrawn", _("withdrawn")
        NO_SHOW = "no_show", _("did not come")

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="entries")
    public_id = PublicIdField()
    team_name = models.CharField(_("team"), max_length=120, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.ENTERED)
    entered_at = models.DateTimeField(default=timezone.now)
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    is_late = models.BooleanField(_("admitted after closing"), default=False)
    late_reason = models.CharField(_("why admitted late"), max_length=300, blank=True)
    state_reason = models.CharField(max_length=300, blank=True)
    # Why nobody of this entry marshals; empty where they do.
    no_duty_reason = models.CharField(_("why it does not marshal"), max_length=300, blank=True)
    fee_due = models.DecimalField(_("fee due"), max_digits=8, decimal_places=2, default=0)
    # The director's recorded decision to let this entry race although tech has not cleared its car.
    override_reason = models.CharField(max_length=300, blank=True)
    override_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    override_at = models.DateTimeField(null=True, blank=True)

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ["entered_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(fee_due__gte=0), name="entry_fee_not_negative"),
            models.CheckConstraint(condition=Q(is_late=False) | ~Q(late_reason=""), name="late_entry_has_a_reason"),
            models.CheckConstraint(
                condition=Q(override_at__isnull=True) | (Q(override_by__isnull=False) & ~Q(override_reason="")),
                name="override_is_signed_and_has_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.team_name or ", ".join(str(d.driver) for d in self.drivers.all())


class EntryDriver(models.Model):
    """A driver of an entry. The race is repeated here so that the database refuses one driver twice in a race."""

    entry = models.ForeignKey(Entry, on_delete=models.CASCADE, related_name="drivers")
    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="+")
    driver = models.ForeignKey(Driver, on_delete=models.PROTECT, related_name="entries")
    position = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["position", "id"]
        constraints = [models.UniqueConstraint(fields=["race", "driver"], name="driver_once_per_race")]

    def __str__(self) -> str:
        return str(self.driver)


class EntryCar(models.Model):
    """A car of an entry, with the build it was entered with."""

    entry = models.ForeignKey(Entry, on_delete=models.CASCADE, related_name="cars")
    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="+")
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="entries")
    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    is_spare = models.BooleanField(_("spare"), default=False)

    class Meta:
        ordering = ["is_spare", "id"]
        constraints = [
            models.UniqueConstraint(fields=["race", "car"], name="car_once_per_race"),
            models.UniqueConstraint(fields=["entry"], condition=Q(is_spare=False), name="one_first_car_per_entry"),
        ]

    def __str__(self) -> str:
        return str(self.car)


class PaymentQuerySet(ClubQuerySet):
    club_path = "event__club"


class Payment(models.Model):
    """A line of the night's takings. Never changed: a mistake is set right by a line the other way."""

    class Kind(models.TextChoices):
        PAID = "paid", _("paid")
        WAIVED = "waived", _("waived")
        CREDIT_USED = "credit_used", _("paid from credit")
        CREDIT_GIVEN = "credit_given", _("credit given")
        PAID_BACK = "paid_back", _("paid back")

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="payments")
    driver = models.ForeignKey(Driver, on_delete=models.PROTECT, related_name="payments")
    entry = models.ForeignKey(Entry, null=True, blank=True, on_delete=models.PROTECT, related_name="payments")
    kind = models.CharField(max_length=14, choices=Kind.choices)
    amount = models.DecimalField(_("amount"), max_digits=8, decimal_places=2)
    note = models.CharField(_("note"), max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    # The line that this one takes back: of the same kind and amount, and counted the other way.
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )

    objects = PaymentQuerySet.as_manager()

    class Meta:
        ordering = ["at", "id"]
        constraints = [models.CheckConstraint(condition=Q(amount__gt=0), name="payment_is_positive")]

    def __str__(self) -> str:
        return f"{self.driver}: {self.get_kind_display()} {self.counted}"

    @property
    def counted(self) -> Decimal:
        """The amount as it adds up: minus where the line takes another one back."""
        return self.amount if self.corrects_id is None else -self.amount


class EntryImport(models.Model):
    """A file of entries, read and shown row by row; nothing is entered before somebody says so."""

    race = models.ForeignKey(Race, on_delete=models.CASCADE, related_name="imports")
    public_id = PublicIdField()
    file_name = models.CharField(max_length=200)
    rows = models.JSONField(default=list)
    read_at = models.DateTimeField(default=timezone.now)
    read_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    entered_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.file_name

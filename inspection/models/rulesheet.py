"""Rule sheets as numbered, immutable revisions of clauses with lasting ids."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.gauge import Characteristic, Gauge
from inspection.models.public import ClubOwned, ClubQuerySet, PublicIdField
from inspection.models.racing_class import RacingClass


class RuleSheet(ClubOwned):
    """A sheet over all its revisions. Without a class it is a general sheet that others may build on."""

    name = models.CharField(_("name"), max_length=120)
    racing_class = models.ForeignKey(
        RacingClass,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="rule_sheets",
        verbose_name=_("class"),
    )
    parent = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="children")

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "name"], name="rulesheet_name_once_per_club")]

    def __str__(self) -> str:
        return self.name


class RuleSheetRevisionQuerySet(ClubQuerySet):
    club_path = "rule_sheet__club"

    def published(self) -> "RuleSheetRevisionQuerySet":
        """Revisions anyone may read."""
        return self.filter(state=RuleSheetRevision.State.PUBLISHED)


class RuleSheetRevision(models.Model):
    """One revision. A draft changes freely; what is published never does."""

    class State(models.TextChoices):
        DRAFT = "draft", _("draft")
        PUBLISHED = "published", _("published")

    class Decision(models.TextChoices):
        SIMPLE_ACCEPTANCE = (
            "simple_acceptance",
            _("simple acceptance: the reading decides, on the limit passes"),
        )
        BENEFIT_OF_DOUBT = "benefit_of_doubt", _("benefit of the doubt: what the gauge cannot decide passes")
        CERTAIN_PASS = "certain_pass", _("certain pass: what the gauge cannot decide does not pass")

    rule_sheet = models.ForeignKey(RuleSheet, on_delete=models.CASCADE, related_name="revisions")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    preamble = models.TextField(_("opening words"), blank=True)
    decision_rule = models.CharField(
        _("decision rule"), max_length=20, choices=Decision.choices, default=Decision.SIMPLE_ACCEPTANCE
    )
    is_closed = models.BooleanField(_("what is not allowed is forbidden"), default=False)
    change_note = models.CharField(_("what changed"), max_length=300, blank=True)
    effective_from = models.DateField(_("in force from"), null=True, blank=True)
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    parent_revision = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    edited_at = models.DateTimeField(default=timezone.now)

    objects = RuleSheetRevisionQuerySet.as_manager()

    class Meta:
        ordering = ["rule_sheet", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["rule_sheet", "number"], name="revision_number_once_per_sheet"),
            models.UniqueConstraint(
                fields=["rule_sheet"], condition=models.Q(state="draft"), name="one_draft_per_sheet"
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft") | models.Q(published_at__isnull=False, effective_from__isnull=False),
                name="published_revision_is_dated",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rule_sheet}, revision {self.number}"

    @property
    def is_published(self) -> bool:
        return self.state == self.State.PUBLISHED


class Clause(models.Model):
    """One clause of one revision. `lasting_id` stays the same from revision to revision.

    Limits are kept as they were written ("2 1/16 in") and parsed exactly when used.
    """

    class Comparator(models.TextChoices):
        AT_LEAST = "at_least", _("at least")
        AT_MOST = "at_most", _("at most")
        BETWEEN = "between", _("between")
        EQUAL_WITHIN = "equal_within", _("equal, within a tolerance")
        ONE_OF = "one_of", _("one of a list")
        YES_NO = "yes_no", _("yes or no")
        JUDGE = "judge_decides", _("judge decides")

    revision = models.ForeignKey(RuleSheetRevision, on_delete=models.CASCADE, related_name="clauses")
    lasting_id = models.UUIDField(default=uuid.uuid4, db_index=True)
    position = models.PositiveSmallIntegerField(default=0)
    number = models.CharField(_("number"), max_length=12)
    text = models.TextField(_("text"), max_length=1000)
    characteristic = models.ForeignKey(
        Characteristic,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        verbose_name=_("subject"),
    )
    measuring_point = models.CharField(_("measuring point"), max_length=300, blank=True)
    comparator = models.CharField(_("comparator"), max_length=16, choices=Comparator.choices, blank=True)
    lower = models.CharField(_("lower limit"), max_length=40, blank=True)
    upper = models.CharField(_("upper limit"), max_length=40, blank=True)
    nominal = models.CharField(_("value"), max_length=40, blank=True)
    tolerance = models.CharField(_("tolerance"), max_length=40, blank=True)
    choices = models.JSONField(_("allowed"), default=list, blank=True)
    expected_answer = models.BooleanField(_("the answer that passes"), default=True)
    judge_reason = models.CharField(_("why a judge decides"), max_length=300, blank=True)
    decision_rule = models.CharField(max_length=20, choices=RuleSheetRevision.Decision.choices, blank=True)
    readings_wanted = models.PositiveSmallIntegerField(_("readings to take"), default=1)
    gauge = models.ForeignKey(Gauge, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    phases = models.JSONField(_("checked"), default=list, blank=True)
    consequence = models.CharField(_("what follows when it fails"), max_length=200, blank=True)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "lasting_id"], name="clause_lasting_id_once_per_revision"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.characteristic or self.text[:60]}"


class ClauseRuling(models.Model):
    """A published decision on what a clause means; it becomes precedent."""

    rule_sheet = models.ForeignKey(RuleSheet, on_delete=models.CASCADE, related_name="rulings")
    clause_lasting_id = models.UUIDField(db_index=True)
    text = models.TextField(_("ruling"), max_length=1000)
    reason = models.CharField(_("reason"), max_length=500)
    judge = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at"]

    def __str__(self) -> str:
        return self.text[:60]

"""Rule sheets as numbered, immutable revisions of clauses with lasting ids."""

import uuid
from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models.choicelist import ChoiceList, ChoiceListRevision
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

    class ToleranceStyle(models.TextChoices):
        NONE = "none", _("none: a limit is a limit")
        WHOLE_SHEET = "whole_sheet", _("one tolerance for the whole sheet")
        IN_RULE = "in_rule", _("in the clauses that state one")

    rule_sheet = models.ForeignKey(RuleSheet, on_delete=models.CASCADE, related_name="revisions")
    public_id = PublicIdField()
    number = models.PositiveIntegerField(_("revision"))
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    preamble = models.TextField(_("opening words"), blank=True)
    decision_rule = models.CharField(
        _("decision rule"), max_length=20, choices=Decision.choices, default=Decision.SIMPLE_ACCEPTANCE
    )
    # g of the guard band w = g * u, for the two rules that have one; 1.65 is the one-sided 95 % factor.
    guard_factor = models.DecimalField(
        _("guard band factor"),
        max_digits=4,
        decimal_places=2,
        default=Decimal("1.65"),
        validators=[MinValueValidator(0)],
    )
    tolerance_style = models.CharField(
        _("tolerance"), max_length=12, choices=ToleranceStyle.choices, default=ToleranceStyle.NONE
    )
    # By kind of quantity, as written: {"length": "0.1 mm", "mass": "1 g"}. Used where the style is whole_sheet.
    sheet_tolerances = models.JSONField(_("tolerances of the sheet"), default=dict, blank=True)
    allows_overdue_gauges = models.BooleanField(_("a gauge past its calibration date may be used"), default=True)
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

    @property
    def tolerances_written(self) -> list[str]:
        """The tolerances of the whole sheet, in an order that no database changes."""
        return [text for _kind, text in sorted(self.sheet_tolerances.items())]


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
        ALL_OF = "all_of", _("all of several")
        ANY_OF = "any_of", _("any one of several")
        AS_SUPPLIED = "as_supplied", _("as supplied, but for the changes listed")
        JUDGE = "judge_decides", _("judge decides")

    class Counts(models.TextChoices):
        EACH = "each", _("every reading must comply: the worst counts")
        MEAN = "mean", _("the mean of the readings counts")

    class Tolerance(models.TextChoices):
        SHEET = "", _("as the sheet says")
        IN_RULE = "in_rule", _("its own")
        NONE = "none", _("none")

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
    # Instead of a written limit: factor * other + offset, where `other` is measured on the same car or derived.
    other = models.ForeignKey(
        Characteristic,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        verbose_name=_("compared with"),
    )
    factor = models.CharField(_("times"), max_length=20, blank=True)
    offset = models.CharField(_("plus"), max_length=40, blank=True)
    tolerance_style = models.CharField(_("tolerance"), max_length=8, choices=Tolerance.choices, blank=True)
    allowance = models.CharField(
        _("its own tolerance"), max_length=40, blank=True, help_text=_("Such as 10 % or 0.5 g.")
    )
    choices = models.JSONField(_("allowed"), default=list, blank=True)
    choice_list = models.ForeignKey(
        ChoiceList, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("shared list")
    )
    # Pinned when the sheet is published.
    list_revision = models.ForeignKey(
        ChoiceListRevision, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # Parts of `all_of` and `any_of`, limits that hold under conditions, and when the clause applies at all.
    # Their form is data/rule-sheet.schema.json of the slice `exchange`.
    parts = models.JSONField(_("parts"), default=list, blank=True)
    limit_rows = models.JSONField(_("limits by condition"), default=list, blank=True)
    applies_when = models.JSONField(_("applies when"), default=dict, blank=True)
    unless = models.JSONField(_("except when"), default=dict, blank=True)
    expected_answer = models.BooleanField(_("the answer that passes"), default=True)
    judge_reason = models.CharField(_("why a judge decides"), max_length=300, blank=True)
    judge = models.CharField(_("who judges"), max_length=80, blank=True)
    decision_rule = models.CharField(
        _("decision rule"), max_length=20, choices=RuleSheetRevision.Decision.choices, blank=True
    )
    readings_wanted = models.PositiveSmallIntegerField(_("readings to take"), default=1)
    counts = models.CharField(_("of several readings"), max_length=4, choices=Counts.choices, default=Counts.EACH)
    gauge = models.ForeignKey(Gauge, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    phases = models.JSONField(_("checked"), default=list, blank=True)
    consequence = models.CharField(_("what follows when it fails"), max_length=200, blank=True)
    # In a class sheet: the clause of the general sheet with this number does not apply here.
    is_struck = models.BooleanField(_("the general sheet's clause does not apply"), default=False)
    # Frozen in when a class sheet was published: the clause of the general sheet that it came from.
    inherited_from = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

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

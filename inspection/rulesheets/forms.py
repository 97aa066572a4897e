"""Text into the head of a sheet, its publication and rulings on its clauses."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.contents.selectors import version_of
from inspection.exchange.selectors import STARTERS
from inspection.models import Club, RacingClass, RuleSheetRevision

BLANK = "blank"


class _ClassFields(forms.Form):
    racing_class = forms.ModelChoiceField(
        label=_("Class"),
        queryset=RacingClass.objects.none(),
        required=False,
        empty_label=_("None: a general sheet"),
    )
    new_class = forms.CharField(label=_("Or a new class"), max_length=80, required=False)
    scale = forms.CharField(label=_("Its scale"), max_length=20, required=False, help_text=_("For example 1:32."))

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["racing_class"].queryset = RacingClass.objects.of(club).order_by("name")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("racing_class") and cleaned.get("new_class"):
            self.add_error("new_class", _("Choose a class or name a new one, not both."))
        return cleaned


class SheetForm(_ClassFields):
    """A new sheet: empty, from a starter, or a copy of a published sheet."""

    start = forms.ChoiceField(label=_("Begin with"), widget=forms.RadioSelect, initial=BLANK)
    name = forms.CharField(
        label=_("Name"), max_length=120, required=False, help_text=_("Left empty, the example's own name.")
    )
    field_order = ["start", "name", "racing_class", "new_class", "scale"]

    def __init__(self, *args: Any, club: Club, copies: list[RuleSheetRevision], **kwargs: Any) -> None:
        super().__init__(*args, club=club, **kwargs)
        self.copies = {revision.public_id: revision for revision in copies}
        starters = [
            (one.code, _("%(name)s (invented example): %(summary)s") % {"name": one.name, "summary": one.summary})
            for one in STARTERS
        ]
        copied = [(f"copy-{key}", _("A copy of %(sheet)s") % {"sheet": one}) for key, one in self.copies.items()]
        self.fields["start"].choices = [(BLANK, _("An empty sheet")), *starters, *copied]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        start = cleaned.get("start", BLANK)
        is_starter = start in {starter.code for starter in STARTERS}
        if not cleaned.get("name") and not is_starter and "name" not in self.errors:
            self.add_error("name", _("Give the sheet a name."))
        cleaned["starter"] = start if is_starter else ""
        cleaned["source"] = self.copies.get(start.removeprefix("copy-"))
        return cleaned


class HeadForm(_ClassFields):
    """What stands above the clauses of a draft."""

    name = forms.CharField(label=_("Name"), max_length=120)
    preamble = forms.CharField(
        label=_("Opening words"), max_length=5000, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )
    decision_rule = forms.ChoiceField(
        label=_("Decision rule"), choices=RuleSheetRevision.Decision.choices, widget=forms.RadioSelect
    )
    is_closed = forms.BooleanField(label=_("What the sheet does not allow is forbidden"), required=False)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)
    field_order = ["name", "racing_class", "new_class", "scale", "preamble", "decision_rule", "is_closed", "version"]

    def __init__(self, *args: Any, revision: RuleSheetRevision, name_stays: bool, **kwargs: Any) -> None:
        sheet = revision.rule_sheet
        initial = {
            "name": sheet.name,
            "racing_class": sheet.racing_class,
            "preamble": revision.preamble,
            "decision_rule": revision.decision_rule,
            "is_closed": revision.is_closed,
            "version": version_of(revision),
        }
        super().__init__(*args, club=sheet.club, initial=initial, **kwargs)
        if name_stays:
            self.fields["name"].disabled = True
            self.fields["name"].help_text = _("The name of a published sheet stays.")

    def show_version(self, version: str) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["version"] = version


class PublishForm(forms.Form):
    effective_from = forms.DateField(
        label=_("In force from"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    change_note = forms.CharField(
        label=_("What changed"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class RulingForm(forms.Form):
    text = forms.CharField(
        label=_("Ruling"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("What the clause is held to mean. It is published with your name and the date, and stays."),
    )
    reason = forms.CharField(label=_("Reason"), max_length=500, widget=forms.Textarea(attrs={"rows": 2}))

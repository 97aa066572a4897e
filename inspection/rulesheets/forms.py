"""Text into the head of a sheet, its publication and rulings on its clauses."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.contents.selectors import version_of
from inspection.exchange.selectors import SETTINGS, STARTERS
from inspection.families.selectors import sheets_to_build_on
from inspection.gauges.selectors import read_typed, units_words
from inspection.models import Club, RacingClass, RuleSheet, RuleSheetRevision
from inspection.units import UnitsError

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
    parent = forms.ModelChoiceField(
        label=_("Builds on"),
        queryset=RuleSheet.objects.none(),
        required=False,
        empty_label=_("Nothing: the sheet stands alone"),
        help_text=_("All of that sheet holds here too; by its number a clause can be said anew or struck."),
    )
    decision_rule = forms.ChoiceField(
        label=_("Decision rule"), choices=RuleSheetRevision.Decision.choices, widget=forms.RadioSelect
    )
    guard_factor = forms.DecimalField(
        label=_("Guard band factor"),
        min_value=0,
        max_value=9,
        decimal_places=2,
        localize=True,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "number"}),
        help_text=_("For the last two rules: so many times the gauge's standard uncertainty. 1.65 is certain to 95 %."),
    )
    tolerance_style = forms.ChoiceField(
        label=_("Tolerance"),
        choices=RuleSheetRevision.ToleranceStyle.choices,
        widget=forms.RadioSelect,
        required=False,
    )
    sheet_tolerances = forms.CharField(
        label=_("Tolerances of the whole sheet"),
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        help_text=_("With ; between, such as 0.1 mm; 1 g. They widen every limit of their kind."),
    )
    allows_overdue_gauges = forms.BooleanField(label=_("A gauge past its calibration date may be used"), required=False)
    is_closed = forms.BooleanField(label=_("What the sheet does not allow is forbidden"), required=False)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)
    field_order = [
        *("name", "racing_class", "new_class", "scale", "parent", "preamble", "decision_rule", "guard_factor"),
        *("tolerance_style", "sheet_tolerances", "allows_overdue_gauges", "is_closed", "version"),
    ]

    def __init__(self, *args: Any, revision: RuleSheetRevision, name_stays: bool, **kwargs: Any) -> None:
        sheet = revision.rule_sheet
        initial = {
            "name": sheet.name,
            "racing_class": sheet.racing_class,
            "parent": sheet.parent_id,
            "preamble": revision.preamble,
            **{name: getattr(revision, name) for name in SETTINGS},
            "sheet_tolerances": "; ".join(revision.tolerances_written).replace(".", sheet.club.decimal_mark),
            "version": version_of(revision),
        }
        self.decimal_mark, self.revision = sheet.club.decimal_mark, revision
        super().__init__(*args, club=sheet.club, initial=initial, **kwargs)
        allowed = sheets_to_build_on(sheet)
        self.fields["parent"].queryset = RuleSheet.objects.filter(pk__in=[one.pk for one in allowed]).order_by("name")
        if name_stays:
            self.fields["name"].disabled = True
            self.fields["name"].help_text = _("The name of a published sheet stays.")

    def clean_guard_factor(self) -> Decimal:
        typed = self.cleaned_data["guard_factor"]
        return self.revision.guard_factor if typed is None else typed

    def clean_tolerance_style(self) -> str:
        return self.cleaned_data["tolerance_style"] or self.revision.tolerance_style

    def clean_sheet_tolerances(self) -> dict[str, str]:
        """By kind of quantity, which the unit tells."""
        found: dict[str, str] = {}
        for text in filter(None, (part.strip() for part in self.cleaned_data["sheet_tolerances"].split(";"))):
            try:
                quantity = read_typed(text.lstrip("±").strip(), kind=None, decimal_mark=self.decimal_mark)
            except UnitsError as error:
                raise forms.ValidationError(units_words(error)) from error
            if quantity.kind.value in found:
                raise forms.ValidationError(_("Give one tolerance for each kind of quantity."))
            found[quantity.kind.value] = quantity.canonical
        return found

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        whole = cleaned.get("tolerance_style") == RuleSheetRevision.ToleranceStyle.WHOLE_SHEET
        if whole and not cleaned.get("sheet_tolerances") and "sheet_tolerances" not in self.errors:
            self.add_error("sheet_tolerances", _("Say the tolerances, such as 0.1 mm; 1 g."))
        return cleaned

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

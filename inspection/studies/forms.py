"""Text into studies and their readings."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.gauges.selectors import read_typed, shown_text, units_words
from inspection.gaugestudy.order import Place
from inspection.models import Gauge, GaugeStudy
from inspection.studies.selectors import StudyContent, kind_measured, unit_shown
from inspection.units import Quantity, UnitsError

MOST_PARTS, MOST_INSPECTORS, MOST_TRIALS = 30, 8, 50
BY_HAND = {"autocomplete": "off", "spellcheck": "false", "inputmode": "decimal"}


class GaugeQuantities(forms.Form):
    """A form whose quantities are of the kind that one gauge reads, in the unit that it shows."""

    def __init__(self, *args: Any, gauge: Gauge, **kwargs: Any) -> None:
        self.gauge = gauge
        super().__init__(*args, **kwargs)

    def quantity(self, name: str) -> Quantity | None:
        """The quantity typed in a field, or None with what is wrong put on the field."""
        text = self.cleaned_data.get(name, "")
        if not text:
            return None
        try:
            return read_typed(
                text,
                kind=kind_measured(self.gauge),
                unit=unit_shown(self.gauge).symbol,
                decimal_mark=self.gauge.club.decimal_mark,
            )
        except UnitsError as error:
            self.add_error(name, units_words(error))
            return None


def _names(text: str, one: str, most: int) -> tuple[str, ...]:
    """Names by commas or lines; a number alone is so many names of our own. Raises ValidationError."""
    typed = [name.strip() for name in text.replace("\n", ",").split(",") if name.strip()]
    if len(typed) == 1 and typed[0].isdecimal() and 1 < int(typed[0][:4]) <= most:
        typed = [f"{one} {n}" for n in range(1, int(typed[0]) + 1)]
    if len({name.casefold() for name in typed}) < len(typed):
        raise forms.ValidationError(_("Two of these have the same name."))
    if len(typed) > most:
        raise forms.ValidationError(_("At most %(most)s.") % {"most": most})
    if any(len(name) > 40 for name in typed):
        raise forms.ValidationError(_("A name has at most 40 letters."))
    return tuple(typed)


class CrossedStudyForm(GaugeQuantities):
    name = forms.CharField(label=_("What it is a study of"), max_length=80, help_text=_("Such as: tires, autumn."))
    parts = forms.CharField(
        label=_("Parts"),
        max_length=1400,
        initial="10",
        help_text=_("How many, or their names with commas between: things that differ as the cars do. Ten is usual."),
    )
    inspectors = forms.CharField(
        label=_("Inspectors"), max_length=400, help_text=_("Names with commas between. Two or three is usual.")
    )
    trials = forms.IntegerField(label=_("How often each measures each part"), min_value=2, max_value=10, initial=3)
    tolerance = forms.CharField(
        label=_("Width of the tolerance that it is to decide"),
        max_length=30,
        required=False,
        widget=forms.TextInput(attrs=BY_HAND),
        help_text=_("From the lower to the upper limit; may stay empty."),
    )

    def clean_parts(self) -> tuple[str, ...]:
        names = _names(self.cleaned_data["parts"], str(_("Part")), MOST_PARTS)
        if len(names) < 2:
            raise forms.ValidationError(_("A study needs two parts or more."))
        return names

    def clean_inspectors(self) -> tuple[str, ...]:
        names = _names(self.cleaned_data["inspectors"], str(_("Inspector")), MOST_INSPECTORS)
        if not names:
            raise forms.ValidationError(_("Who measures?"))
        return names

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        width = cleaned["tolerance"] = self.quantity("tolerance")
        if width is not None and width.magnitude <= 0:
            self.add_error("tolerance", _("A tolerance is wider than 0."))
        return cleaned

    def content(self) -> StudyContent:
        said = self.cleaned_data
        return StudyContent(
            kind=GaugeStudy.Kind.CROSSED,
            name=said["name"],
            parts=said["parts"],
            inspectors=said["inspectors"],
            trials=said["trials"],
            tolerance=said["tolerance"].canonical if said["tolerance"] else "",
        )


class BiasStudyForm(GaugeQuantities):
    name = forms.CharField(label=_("What it is a study of"), max_length=80, help_text=_("Such as: check block 20."))
    reference = forms.CharField(
        label=_("True size of the check block or weight"), max_length=30, widget=forms.TextInput(attrs=BY_HAND)
    )
    inspector = forms.CharField(label=_("Inspector"), max_length=40)
    trials = forms.IntegerField(
        label=_("How many readings"), min_value=2, max_value=MOST_TRIALS, initial=10, help_text=_("Ten or more.")
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        cleaned["reference"] = self.quantity("reference")
        return cleaned

    def content(self) -> StudyContent:
        said = self.cleaned_data
        return StudyContent(
            kind=GaugeStudy.Kind.BIAS,
            name=said["name"],
            parts=(shown_text(said["reference"].canonical, decimal_mark=self.gauge.club.decimal_mark),),
            inspectors=(said["inspector"],),
            trials=said["trials"],
            reference=said["reference"].canonical,
        )


class ReadingForm(GaugeQuantities):
    """place: inspector, part and trial, as the page wrote them. sure: the reading that was asked about, as typed."""

    place = forms.CharField(max_length=20, widget=forms.HiddenInput)
    corrects = forms.BooleanField(required=False, widget=forms.HiddenInput)
    sure = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)
    text = forms.CharField(label=_("Reading"), max_length=40, widget=forms.TextInput(attrs=BY_HAND))

    def clean_place(self) -> Place:
        numbers = self.cleaned_data["place"].split(".")
        if len(numbers) != 3 or not all(number.isdecimal() and len(number) < 4 for number in numbers):
            raise forms.ValidationError(_("Open the study again and go on from what it asks for."))
        return Place(*map(int, numbers))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        cleaned["sure"] = bool(cleaned.get("sure")) and cleaned["sure"] == cleaned.get("text")
        cleaned["text"] = self.quantity("text")
        return cleaned

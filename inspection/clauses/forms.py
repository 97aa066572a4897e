"""Text into a clause: limits into exact quantities, lists into tuples."""

import itertools
from collections.abc import Iterator
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.conformity.clauses import Comparator
from inspection.contents.selectors import LIMIT_NAMES, ClauseContent, content_of, version_of
from inspection.gauges.selectors import can_measure, characteristics_of, quantity_kind_of, read_typed, units_words
from inspection.models import Characteristic, Clause, Club, Gauge
from inspection.units import Quantity, UnitsError
from inspection.wording.selectors import PHASE_WORDS

_GROUPS = Characteristic.Group.values


class _ByGroup(forms.models.ModelChoiceIterator):
    """The register under the heads of where a thing is checked."""

    def __iter__(self) -> Iterator[tuple[Any, Any]]:
        yield ("", self.field.empty_label)
        in_order = sorted(self.queryset, key=lambda one: (_GROUPS.index(one.group), one.position, one.name))
        for group, members in itertools.groupby(in_order, key=lambda one: one.get_group_display()):
            yield (group, [self.choice(one) for one in members])


class _SubjectSelect(forms.Select):
    """Each option carries the register's measuring point, which the page's script offers to an empty field."""

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option = super().create_option(name, value, *args, **kwargs)
        instance = getattr(value, "instance", None)
        if instance is not None and instance.measuring_point:
            option["attrs"]["data-point"] = instance.measuring_point
        return option


class CharacteristicField(forms.ModelChoiceField):
    iterator = _ByGroup
    widget = _SubjectSelect


class ClauseForm(forms.Form):
    """One clause of a draft. What is missing may stay missing; what cannot be read is refused."""

    number = forms.CharField(label=_("Number"), max_length=12, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    text = forms.CharField(
        label=_("Text"), max_length=1000, widget=forms.Textarea(attrs={"rows": 3}), help_text=_("As it is printed.")
    )
    characteristic = CharacteristicField(
        label=_("Subject"),
        queryset=Characteristic.objects.none(),
        required=False,
        empty_label=_("Nothing is measured or looked at"),
    )
    measuring_point = forms.CharField(
        label=_("Measuring point"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Where it is measured, and whether gears, pins or tape count."),
    )
    comparator = forms.ChoiceField(
        label=_("Comparator"), required=False, choices=[("", _("None: the clause only informs"))]
    )
    lower = forms.CharField(label=_("Lower limit"), max_length=40, required=False)
    upper = forms.CharField(label=_("Upper limit"), max_length=40, required=False)
    nominal = forms.CharField(label=_("Value"), max_length=40, required=False)
    tolerance = forms.CharField(
        label=_("Tolerance"), max_length=40, required=False, help_text=_("To either side of the value.")
    )
    choices = forms.CharField(
        label=_("What is allowed"),
        max_length=8000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("One a line."),
    )
    expected_answer = forms.TypedChoiceField(
        label=_("The answer that passes"),
        required=False,
        coerce=lambda value: value == "yes",
        empty_value=True,
        choices=[("yes", _("Yes")), ("no", _("No"))],
        widget=forms.RadioSelect,
    )
    judge_reason = forms.CharField(
        label=_("Why a judge decides"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    gauge = forms.ModelChoiceField(
        label=_("Gauge"),
        queryset=Gauge.objects.none(),
        required=False,
        empty_label=_("The usual one of the subject"),
    )
    readings_wanted = forms.IntegerField(label=_("Readings to take"), min_value=1, max_value=10, initial=1)
    phases = forms.MultipleChoiceField(
        label=_("Checked"),
        required=False,
        choices=list(PHASE_WORDS.items()),
        widget=forms.CheckboxSelectMultiple,
        initial=["before"],
    )
    consequence = forms.CharField(label=_("What follows when it fails"), max_length=200, required=False)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(self, *args: Any, club: Club, clause: Clause | None = None, **kwargs: Any) -> None:
        self.club, self.clause = club, clause
        if clause is not None:
            kwargs["initial"] = _initial(clause, club) | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.fields["characteristic"].queryset = characteristics_of(club)
        in_use = Q(retired_at__isnull=True) | Q(pk=clause.gauge_id if clause else None)
        self.fields["gauge"].queryset = Gauge.objects.of(club).filter(in_use).order_by("name")
        self.fields["comparator"].choices = [
            self.fields["comparator"].choices[0],
            *((value, words) for value, words in Clause.Comparator.choices if value in set(Comparator)),
        ]
        example = gettext("Such as 19.00 mm, .040 in, 2 1/16 in, 85 g.").replace("19.00", f"19{club.decimal_mark}00")
        for name in ("lower", "upper", "nominal"):
            self.fields[name].help_text = example
        for name in LIMIT_NAMES:
            self.fields[name].widget.attrs |= {"autocomplete": "off", "spellcheck": "false"}

    def clean_choices(self) -> tuple[str, ...]:
        lines = [" ".join(line.split()) for line in self.cleaned_data["choices"].splitlines()]
        allowed = tuple(line for line in lines if line)
        if len(allowed) > 200 or any(len(line) > 80 for line in allowed):
            raise forms.ValidationError(_("At most 200 lines of at most 80 characters each."))
        return allowed

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        characteristic = cleaned.get("characteristic")
        kind = quantity_kind_of(characteristic) if characteristic else None
        for name in LIMIT_NAMES:
            if name in cleaned:
                cleaned[name] = self._quantity(name, cleaned[name], characteristic)
        gauge = cleaned.get("gauge")
        if gauge and kind and not can_measure(gauge, kind):
            self.add_error("gauge", _("This gauge does not measure the subject. Choose another, or the usual one."))
        return cleaned

    def _quantity(self, name: str, text: str, characteristic: Characteristic | None) -> Quantity | None:
        if not text:
            return None
        kind = quantity_kind_of(characteristic) if characteristic else None
        if characteristic is not None and kind is None:
            self.add_error(name, _("The subject is answered, not measured: leave this empty, or change the subject."))
            return None
        unit = characteristic.unit if characteristic else ""
        try:
            return read_typed(text, kind=kind, unit=unit, decimal_mark=self.club.decimal_mark)
        except UnitsError as error:
            self.add_error(name, units_words(error))
            return None

    def content(self) -> ClauseContent:
        """The clause as typed; fields that could not be read are as if empty."""
        said = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        comparator = said.pop("comparator", "")
        return ClauseContent(
            **{"number": "", "text": ""}
            | said
            | {
                "comparator": Comparator(comparator) if comparator else None,
                "phases": tuple(said.get("phases", ())),
                "decision_rule": self.clause.decision_rule if self.clause else "",
            }
        )

    def show_version(self, version: str) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["version"] = version


def _initial(clause: Clause, club: Club) -> dict[str, Any]:
    content = content_of(clause)
    quantities = {name: getattr(content, name) for name in LIMIT_NAMES}
    return {
        "number": content.number,
        "text": content.text,
        "characteristic": content.characteristic,
        "measuring_point": content.measuring_point,
        "comparator": content.comparator.value if content.comparator else "",
        **{
            name: quantity.canonical.replace(".", club.decimal_mark) if quantity else ""
            for name, quantity in quantities.items()
        },
        "choices": "\n".join(content.choices),
        "expected_answer": "yes" if content.expected_answer else "no",
        "judge_reason": content.judge_reason,
        "gauge": content.gauge,
        "readings_wanted": content.readings_wanted,
        "phases": list(content.phases) or ["before"],
        "consequence": content.consequence,
        "version": version_of(clause),
    }

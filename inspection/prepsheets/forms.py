"""Text into a template of prep sheets: its name, and its steps in working order."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, PrepTemplate, RacingClass
from inspection.prepsheets.selectors import (
    MOST_STEPS,
    WHEN,
    PrepContent,
    StepContent,
    steps_of,
    supplied_step,
    template_version,
    unknown_in,
)

_CAUTION_NAMES = {
    "cutting": _("cutting discs and blades"),
    "press": _("presses and blades"),
    "soldering": _("soldering"),
    "lead": _("lead"),
    "magnets": _("small strong magnets"),
    "dust": _("dust of truing"),
    "chemicals": _("glue, solvents, treatment"),
    "running": _("bench running"),
    "track": _("live track"),
    "children": _("children"),
}


class PrepTemplateForm(forms.Form):
    """All of a template but its steps."""

    name = forms.CharField(label=_("Name"), max_length=80)
    racing_class = forms.ModelChoiceField(
        label=_("For the class"), queryset=RacingClass.objects.none(), required=False, empty_label=_("all classes")
    )
    is_active = forms.BooleanField(label=_("In use"), required=False)
    version = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["racing_class"].queryset = RacingClass.objects.of(club)


class StepForm(forms.Form):
    """One step. Checks stand one a line."""

    title = forms.CharField(label=_("Step"), max_length=120)
    text = forms.CharField(
        label=_("What is done"), max_length=1200, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )
    checks = forms.CharField(
        label=_("To tick, one a line"), max_length=1200, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    when = forms.ChoiceField(label=_("When"), choices=list(WHEN.items()))
    caution = forms.ChoiceField(
        label=_("Take care"), required=False, choices=[("", _("nothing special")), *_CAUTION_NAMES.items()]
    )
    supplied = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        for name in ("title", "text", "checks"):
            if odd := unknown_in([given.get(name, "")]):
                words = _now("No bench sheet has {what}. What can be asked for stands below the steps.")
                self.add_error(name, words.format(what=", ".join(odd)))
        return given

    @property
    def content(self) -> StepContent:
        given = self.cleaned_data
        lines = [" ".join(line.split()) for line in given["checks"].splitlines()]
        return StepContent(**given | {"checks": tuple(line for line in lines if line)})

    @property
    def heading(self) -> str:
        """What stands in the title now, typed or stored."""
        return str(self["title"].value() or "")

    @property
    def is_changed_wording(self) -> bool:
        """Does it say something else than the supplied step that it came from?"""
        usual = supplied_step(str(self["supplied"].value() or ""))
        return usual is not None and any(
            " ".join(str(self[name].value() or "").split()) != " ".join(str(value).split())
            for name, value in _initial_of(usual).items()
        )


def _initial_of(step: StepContent) -> dict[str, Any]:
    return asdict(step) | {"checks": "\n".join(step.checks)}


class PrepForms:
    """The whole page: the template and its steps.

    Steps are added, moved, removed and put back to the supplied wording by buttons that send the page: what was typed
    comes along, and nothing is saved before the page is. No script is needed.
    """

    def __init__(
        self, club: Club, template: PrepTemplate | None, data: Any = None, *, start: PrepTemplate | None = None
    ) -> None:
        initial = {"is_active": True}
        if template:
            own = {"name": template.name, "racing_class": template.racing_class_id, "is_active": template.is_active}
            initial = own | {"version": template_version(template)}
        self.template = PrepTemplateForm(data, initial=initial, club=club)
        self.just_changed = -1
        self.is_sent = data is not None
        self.act = str(data.get("act", "")) if data else ""
        if data is None:
            steps = [_initial_of(step) for step in steps_of(template or start)]
            self.steps = [_step_form(number, initial=step) for number, step in enumerate(steps)]
        elif self.act:
            rows = self._after_act([_typed(data, number) for number in range(_count(data))])
            self.steps = [_step_form(number, initial=row) for number, row in enumerate(rows)]
            self.template = PrepTemplateForm(initial=_typed_template(data), club=club)
        else:
            self.steps = [_step_form(number, data=data) for number in range(_count(data))]

    def _after_act(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """The steps as the pressed button leaves them; a button that is not there changes nothing."""
        name, _dash, place = self.act.partition("-")
        number = int(place) if place.isascii() and place.isdigit() else -1
        if name == "add" and len(rows) < MOST_STEPS:
            # At the end of the work, before what is looked at last.
            at = next((n for n, row in enumerate(rows) if row["when"] == "at_the_end"), len(rows))
            rows.insert(at, _initial_of(StepContent(title="")))
            self.just_changed = at
        elif not 0 <= number < len(rows):
            return rows
        elif name == "remove":
            rows.pop(number)
        elif name == "restore" and (usual := supplied_step(rows[number]["supplied"])):
            rows[number] = _initial_of(usual)
            self.just_changed = number
        elif name in {"up", "down"} and 0 <= (other := number + (1 if name == "down" else -1)) < len(rows):
            rows[number], rows[other] = rows[other], rows[number]
            self.just_changed = other
        return rows

    @property
    def saves(self) -> bool:
        """Was the page sent to be saved, and not for one of its steps?"""
        return self.is_sent and not self.act

    def is_valid(self) -> bool:
        return all([self.template.is_valid(), *[step.is_valid() for step in self.steps]])

    @property
    def content(self) -> PrepContent:
        plain = {name: value for name, value in self.template.cleaned_data.items() if name != "version"}
        return PrepContent(**plain, steps=tuple(step.content for step in self.steps))

    @property
    def rows(self) -> list[tuple[StepForm, bool]]:
        """Each step, and whether it is to be shown open: it has errors, is new or was just moved."""
        return [(step, bool(step.errors) or number == self.just_changed) for number, step in enumerate(self.steps)]


def _step_form(number: int, data: Any = None, initial: Mapping[str, Any] | None = None) -> StepForm:
    return StepForm(data, initial=initial, prefix=f"step-{number}", label_suffix="")


def _count(data: Any) -> int:
    text = str(data.get("steps", ""))
    return min(int(text), MOST_STEPS) if text.isascii() and text.isdigit() and len(text) < 4 else 0


def _typed(data: Any, number: int) -> dict[str, Any]:
    """A step as it stands in the page that was sent, unread."""
    return {name: data.get(f"step-{number}-{name}", "")[:2000] for name in StepForm.base_fields}


def _typed_template(data: Any) -> dict[str, Any]:
    return {name: data.get(name, "")[:200] for name in ("name", "racing_class", "version")} | {
        "is_active": "is_active" in data
    }

"""What is typed about draws."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from racedesk.entries.selectors import shown_name
from racedesk.models import Draw, Entry
from racedesk.rotation.draw import LARGEST_SEED
from racedesk.rotation.who import Kind
from racedesk.wishes.selectors import Asked


class DrawForm(forms.Form):
    """Which draw to use. replaces: number of the draw that stood when the page was opened, 0 for none."""

    preset = forms.ChoiceField(label=_("Draw"), choices=Draw.Preset.choices)
    seed = forms.IntegerField(label=_("Seed"), min_value=0, max_value=LARGEST_SEED)
    replaces = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Why drawn again"),
        max_length=300,
        required=False,
        help_text=_("Kept with the new draw; the old one stays on record."),
    )


class ChoiceForm(forms.Form):
    """Which seed and preset the page shows."""

    seed = forms.IntegerField(min_value=0, max_value=LARGEST_SEED)
    preset = forms.ChoiceField(choices=Draw.Preset.choices, required=False)

    def chosen(self) -> tuple[int | None, str]:
        """Seed, None when none or a bad one was given, and preset, empty likewise."""
        self.is_valid()
        data: dict[str, Any] = self.cleaned_data
        return data.get("seed"), data.get("preset", "")


class WishForm(forms.Form):
    """One wish more. driver: an entry's public id. number: of the heat, of the lane, or of the other driver."""

    KINDS = [
        (Kind.NOT_BEFORE.value, _("drives in no heat before")),
        (Kind.NOT_AFTER.value, _("drives in no heat after")),
        (Kind.APART.value, _("in no heat with driver number")),
        (Kind.FIRST_LANE.value, _("first on lane")),
    ]
    driver = forms.ChoiceField(label=_("Driver"))
    kind = forms.ChoiceField(label=_("Wish"), choices=KINDS)
    number = forms.IntegerField(label=_("Number"), min_value=1, max_value=9999)
    soft = forms.BooleanField(label=_("only if it can be"), required=False)

    def __init__(self, data: QueryDict | None, *, ready: Sequence[tuple[int, Entry]]) -> None:
        super().__init__(data)
        self.others = {number: entry.public_id for number, entry in ready}
        self.fields["driver"].choices = [  # type: ignore[attr-defined]
            (entry.public_id, f"{number} {shown_name(entry)}") for number, entry in ready
        ]

    def asked(self) -> Asked | None:
        """The wish; None where it is none, or names nobody else in the draw."""
        if not self.is_valid():
            return None
        data = self.cleaned_data
        kind, number = Kind(data["kind"]), data["number"]
        value = self.others.get(number, "") if kind is Kind.APART else str(number)
        if value in {"", data["driver"]}:
            return None
        return Asked(kind, data["driver"], value, is_hard=not data["soft"])


class AdmitForm(forms.Form):
    """The director's word that an entry races although tech has not cleared it."""

    reason = forms.CharField(label=_("Reason"), max_length=300, required=False)

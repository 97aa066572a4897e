"""Text into the entries of a list: one a line, its parts between bars."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.choicelists.selectors import COLUMNS, EntryContent, entries_of, entries_text
from inspection.conformity.clauses import CharacteristicKind, normalize_choice
from inspection.gauges.selectors import characteristics_of
from inspection.models import Characteristic, ChoiceListRevision, Club

MOST_ENTRIES = 500
_LONGEST = {"value": 80, "key": 80, "note": 200}


class EntriesField(forms.CharField):
    """A text area whose value is a tuple of entries."""

    widget = forms.Textarea(attrs={"rows": 14, "spellcheck": "false"})

    def clean(self, value: Any) -> tuple[EntryContent, ...]:
        entries: list[EntryContent] = []
        wrong: list[forms.ValidationError] = []
        for number, line in enumerate(super().clean(value).splitlines(), start=1):
            if not line.strip():
                continue
            try:
                entries.append(_entry(line, number))
            except forms.ValidationError as error:
                wrong.append(error)
        doubles = _doubles(entries)
        if doubles:
            wrong.append(forms.ValidationError(_("“%(value)s” stands twice."), params={"value": doubles[0]}))
        if len(entries) > MOST_ENTRIES:
            wrong.append(forms.ValidationError(_("At most %(most)s entries."), params={"most": MOST_ENTRIES}))
        if wrong:
            raise forms.ValidationError(wrong)
        return tuple(entries)


def _doubles(entries: list[EntryContent]) -> list[str]:
    seen = set()
    doubles = []
    for entry in entries:
        mark = (normalize_choice(entry.value), normalize_choice(entry.key), entry.allowed_from, entry.allowed_until)
        if mark in seen:
            doubles.append(entry.value)
        seen.add(mark)
    return doubles


def _entry(line: str, number: int) -> EntryContent:
    parts = [" ".join(part.split()) for part in line.split("|")]
    if len(parts) > len(COLUMNS):
        raise forms.ValidationError(_("Line %(line)s has more than five parts."), params={"line": number})
    said: dict[str, Any] = dict(zip(COLUMNS, parts, strict=False))
    if not said["value"]:
        raise forms.ValidationError(_("Line %(line)s does not say what is allowed."), params={"line": number})
    for name, longest in _LONGEST.items():
        if len(said.get(name, "")) > longest:
            raise forms.ValidationError(
                _("Line %(line)s has a part of more than %(most)s characters."),
                params={"line": number, "most": longest},
            )
    for name in ("allowed_from", "allowed_until"):
        said[name] = _day(said.get(name, ""), number)
    if said["allowed_from"] and said["allowed_until"] and said["allowed_from"] > said["allowed_until"]:
        raise forms.ValidationError(_("Line %(line)s ends before it begins."), params={"line": number})
    return EntryContent(**said)


def _day(text: str, number: int) -> dt.date | None:
    if not text:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise forms.ValidationError(
            _("Line %(line)s: write a day as year, month, day, such as 2026-11-27."), params={"line": number}
        ) from error


_HELP = _(
    "One a line. After a bar may follow: for which value of what the list depends on | from | until | a note. "
    "For example: Plover coupe | | 2027-01-01 | | two races after it was announced."
)


class ListForm(forms.Form):
    """A new list."""

    name = forms.CharField(label=_("Name"), max_length=120, help_text=_("Such as “Motors”."))
    keyed_by = forms.ModelChoiceField(
        label=_("Depends on"),
        queryset=Characteristic.objects.none(),
        required=False,
        empty_label=_("Nothing: the same for every car"),
        help_text=_("Such as the body, where axle widths go by body model."),
    )
    entries = EntriesField(label=_("What is allowed"), max_length=60_000, help_text=_HELP)

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        answered = [CharacteristicKind.CHOICE.value, CharacteristicKind.TEXT.value, CharacteristicKind.COUNT.value]
        self.fields["keyed_by"].queryset = characteristics_of(club).filter(kind__in=answered)


class ReviseForm(forms.Form):
    """The next revision of a list."""

    entries = EntriesField(label=_("What is allowed"), max_length=60_000, help_text=_HELP)
    change_note = forms.CharField(label=_("What changed"), max_length=300)
    based_on = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, revision: ChoiceListRevision, **kwargs: Any) -> None:
        initial = {"entries": entries_text(entries_of(revision)), "based_on": revision.number}
        super().__init__(*args, initial=initial, **kwargs)

    def show_base(self, number: int) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["based_on"] = str(number)

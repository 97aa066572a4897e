"""A file of a rule sheet, and the word to make a draft of it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.exchange.errors import UnreadableSheet
from inspection.exchange.imports import LARGEST_FILE, read_sheet
from inspection.exchange.selectors import SheetContent
from inspection.models import Club


class _ReadsSheet(forms.Form):
    """Reads a sheet; what is wrong with it stands in `problems`, apart from the errors of the form."""

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        self.club = club
        self.problems: tuple[str, ...] = ()
        super().__init__(*args, **kwargs)

    def read(self, data: bytes) -> SheetContent:
        try:
            return read_sheet(data, club=self.club)
        except UnreadableSheet as refusal:
            self.problems = refusal.problems
            raise forms.ValidationError(str(refusal), code=refusal.code) from refusal


class SheetFileForm(_ReadsSheet):
    file = forms.FileField(label=_("File"), help_text=_("A rule sheet as a JSON file."))

    def clean_file(self) -> tuple[str, SheetContent]:
        upload = self.cleaned_data["file"]
        data = upload.read(LARGEST_FILE + 1)
        content = self.read(data)
        return data.decode("utf-8-sig"), content


class SheetConfirmForm(_ReadsSheet):
    """The same file once more, as the page before showed it, and the name it comes in under."""

    name = forms.CharField(label=_("Name"), max_length=120)
    document = forms.CharField(widget=forms.HiddenInput, max_length=LARGEST_FILE, strip=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("document"):
            cleaned["content"] = self.read(cleaned["document"].encode())
        return cleaned

"""A file of parts, and its rows once more."""

from django import forms
from django.utils.translation import gettext_lazy as _


class PartFileForm(forms.Form):
    """A file of parts."""

    file = forms.FileField(
        label=_("File"),
        help_text=_("CSV or XLSX. The first row says what the columns are, in any order."),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx,.xlsm"}),
    )


class PartRowsForm(forms.Form):
    """The rows of a file once more, as the page before showed them."""

    rows = forms.CharField(widget=forms.HiddenInput, max_length=12_000_000, strip=False)

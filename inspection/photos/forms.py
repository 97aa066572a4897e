"""A photograph as it is sent."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import Clause, Inspection


class PhotoForm(forms.Form):
    photo = forms.FileField(
        label=_("Photo"),
        widget=forms.ClearableFileInput(
            attrs={"accept": "image/jpeg,image/png,image/webp", "capture": "environment", "data-photo": ""}
        ),
        help_text=_("JPEG, PNG or WebP."),
    )
    clause = forms.ModelChoiceField(
        Clause.objects.none(), required=False, label=_("Of"), empty_label=_("the whole car")
    )
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        clauses = Clause.objects.filter(revision=inspection.occasion.revision).exclude(comparator="")
        self.fields["clause"].queryset = clauses.select_related("characteristic").order_by("position", "id")

"""What is typed about groups."""

from django import forms
from django.utils.translation import gettext_lazy as _


class UseGroupsForm(forms.Form):
    """Draw the race in the groups that are shown. seen: who raced when they were shown. replaces: as for a draw."""

    seen = forms.CharField(max_length=3000, widget=forms.HiddenInput)
    replaces = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    reason = forms.CharField(label=_("Why drawn again"), max_length=300, required=False)

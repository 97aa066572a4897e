"""What is typed about marshals."""

from collections.abc import Iterable

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from inspection.models import MarshalPost


class HelperForm(forms.Form):
    """A helper for a post that none holds yet."""

    post = forms.TypedChoiceField(label=_("Post"), coerce=int)
    name = forms.CharField(label=_("Helper, who does not race"), max_length=120)

    def __init__(self, data: QueryDict | None = None, *, posts: Iterable[MarshalPost]) -> None:
        super().__init__(data)
        words = [(post.number, f"{post}, {_('adults only')}" if post.adults_only else str(post)) for post in posts]
        self.fields["post"].choices = words  # type: ignore[attr-defined]


class ReasonForm(forms.Form):
    reason = forms.CharField(label=_("Why"), max_length=300, required=False)


class MissedForm(forms.Form):
    """Who was not there: by number in the draw. back: where the tap was made."""

    seat = forms.IntegerField(min_value=1, max_value=10_000)
    back = forms.ChoiceField(choices=[("roster", "roster"), ("heat", "heat")], required=False)

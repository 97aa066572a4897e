"""Forms of the tech line."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, RuleSheetRevision, TechOccasion, TrackLayout
from inspection.rulesheets.selectors import revisions_in_force


class OccasionForm(forms.ModelForm):
    """A tech day, with a race or without one."""

    class Meta:
        model = TechOccasion
        fields = ["name", "date", "revision", "track_layout"]
        labels = {"revision": _("Inspected by"), "track_layout": _("Track"), "name": _("Name")}
        help_texts = {"revision": _("This revision stays, whatever is published later.")}
        widgets = {"date": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        today = timezone.localdate()
        self.initial.setdefault("date", today)
        in_force = [revision.pk for revision in revisions_in_force(club, today)]
        revisions = RuleSheetRevision.objects.of(club).published().select_related("rule_sheet")
        self.fields["revision"].queryset = revisions.order_by("rule_sheet__name", "-number")
        if len(in_force) == 1:
            self.initial.setdefault("revision", in_force[0])
        layouts = TrackLayout.objects.of(club).select_related("track").order_by("track__name", "-number")
        self.fields["track_layout"].queryset = layouts


class FindCarForm(forms.Form):
    """Number or letters, and the phase at which the card is opened."""

    car = forms.CharField(required=False, max_length=60)
    phase = forms.CharField(required=False, max_length=10)

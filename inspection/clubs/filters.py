"""Narrow the log by words and by day."""

import django_filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from inspection.models import LogEntry


class LogFilter(django_filters.FilterSet):
    words = django_filters.CharFilter(label=_("Words"), method="with_words")
    day = django_filters.DateFilter(
        label=_("Day"), field_name="at", lookup_expr="date", widget=forms.DateInput(attrs={"type": "date"})
    )

    class Meta:
        model = LogEntry
        fields: list[str] = []

    def with_words(self, rows: QuerySet[LogEntry], name: str, value: str) -> QuerySet[LogEntry]:
        """Rows in which every word stands somewhere: what, about, why or who."""
        for word in value.split()[:8]:
            rows = rows.filter(
                Q(action__icontains=word)
                | Q(summary__icontains=word)
                | Q(reason__icontains=word)
                | Q(by__name__icontains=word)
                | Q(by__username__icontains=word)
            )
        return rows

"""Narrow the parts by words, kind, owner, stock and use."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, Part
from inspection.parts.selectors import owners_of_parts

IN_USE, RETIRED = "in-use", "retired"
OF_CLUB = "club"


class PartFilter(django_filters.FilterSet):
    """Without a word about use, parts in use."""

    q = django_filters.CharFilter(label=_("Name or article number"), method="with_words")
    kind = django_filters.ChoiceFilter(label=_("Kind"), choices=Part.Kind.choices, empty_label=_("All"))
    owner = django_filters.ChoiceFilter(label=_("Owner"), empty_label=_("All"), method="by_owner")
    stock = django_filters.ChoiceFilter(
        label=_("Stock"),
        choices=[("there", _("in stock")), ("out", _("none left"))],
        empty_label=_("All"),
        method="by_stock",
    )
    use = django_filters.ChoiceFilter(
        label=_("Use"),
        choices=[(IN_USE, _("in use")), (RETIRED, _("retired"))],
        empty_label=_("All"),
        method="by_use",
    )

    class Meta:
        model = Part
        fields: list[str] = []

    def __init__(self, data: Any = None, *args: Any, club: Club, **kwargs: Any) -> None:
        given = data.copy()
        given.setdefault("use", IN_USE)
        super().__init__(given, *args, **kwargs)
        drivers = [(driver.public_id, driver.name) for driver in owners_of_parts(club)]
        self.filters["owner"].extra["choices"] = [(OF_CLUB, _("the club")), *drivers]

    def with_words(self, rows: QuerySet[Part], name: str, value: str) -> QuerySet[Part]:
        for word in value.split()[:8]:
            rows = rows.filter(Q(name__icontains=word) | Q(code__icontains=word))
        return rows

    def by_owner(self, rows: QuerySet[Part], name: str, value: str) -> QuerySet[Part]:
        return rows.filter(owner=None) if value == OF_CLUB else rows.filter(owner__public_id=value)

    def by_stock(self, rows: QuerySet[Part], name: str, value: str) -> QuerySet[Part]:
        return rows.filter(stock__gt=0) if value == "there" else rows.filter(stock=0)

    def by_use(self, rows: QuerySet[Part], name: str, value: str) -> QuerySet[Part]:
        return rows.filter(is_active=value == IN_USE)

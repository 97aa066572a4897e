"""Narrow the register by number or name, class, owner, and use."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from inspection.cars.selectors import LARGEST_NUMBER
from inspection.models import Car, Club, Driver, RacingClass

IN_USE, RETIRED = "in-use", "retired"


class CarFilter(django_filters.FilterSet):
    """Without a word about use, cars in use."""

    q = django_filters.CharFilter(label=_("Number or name"), method="with_words")
    racing_class = django_filters.ModelChoiceFilter(
        label=_("Class"), queryset=RacingClass.objects.none(), empty_label=_("All")
    )
    owner = django_filters.ModelChoiceFilter(
        label=_("Owner"), queryset=Driver.objects.none(), empty_label=_("All"), to_field_name="public_id"
    )
    use = django_filters.ChoiceFilter(
        label=_("Use"),
        choices=[(IN_USE, _("in use")), (RETIRED, _("retired"))],
        empty_label=_("All"),
        method="by_use",
    )

    class Meta:
        model = Car
        fields: list[str] = []

    def __init__(self, data: Any = None, *args: Any, club: Club, **kwargs: Any) -> None:
        given = data.copy()
        given.setdefault("use", IN_USE)
        super().__init__(given, *args, **kwargs)
        self.filters["racing_class"].queryset = RacingClass.objects.of(club)
        self.filters["owner"].queryset = Driver.objects.of(club).filter(cars__isnull=False).distinct().order_by("name")

    def with_words(self, rows: QuerySet[Car], name: str, value: str) -> QuerySet[Car]:
        """The car of this number; or those whose name, or whose owner's, holds every word."""
        typed = value.strip().lstrip("#").strip()
        if typed.isascii() and typed.isdigit():
            return rows.filter(number=int(typed[:9])) if int(typed[:9]) <= LARGEST_NUMBER else rows.none()
        for word in typed.split()[:8]:
            rows = rows.filter(Q(name__icontains=word) | Q(owner__name__icontains=word))
        return rows

    def by_use(self, rows: QuerySet[Car], name: str, value: str) -> QuerySet[Car]:
        return rows.filter(is_active=value == IN_USE)

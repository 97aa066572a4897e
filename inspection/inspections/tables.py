"""Lists of the tech line."""

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from inspection.models import TechOccasion


class OccasionTable(tables.Table):
    """Tech days, the latest first."""

    name = tables.Column(
        linkify=("occasion-detail", {"club": tables.A("club__slug"), "public_id": tables.A("public_id")})
    )
    date = tables.DateColumn(format="j F Y", verbose_name=_("Date"))
    revision = tables.Column(verbose_name=_("Inspected by"))
    cards = tables.Column(
        accessor="card_count", verbose_name=_("Cards"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )

    class Meta:
        model = TechOccasion
        fields = ("name", "date", "revision", "cards")
        attrs = {"class": "stacks"}
        order_by = "-date"

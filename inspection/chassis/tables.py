"""Chassis as a list."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.chassis.selectors import center_distances, shown_mm
from inspection.models import Chassis, Club

_NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


def _url(record: Chassis, table: "ChassisTable") -> str:
    return reverse("chassis-detail", args=[table.club.slug, record.public_id])


class ChassisTable(tables.Table):
    """Rows of `chassis_of`."""

    name = tables.Column(_("Chassis"), linkify=_url)
    owner = tables.Column(_("Owner"), order_by=("owner__name",), empty_values=())
    layout = tables.Column(_("Drive"), empty_values=(), orderable=False)
    distance = tables.Column(_("Motor shaft to axle"), empty_values=(), orderable=False, attrs=_NUMBER)
    sheet_count = tables.Column(_("Bench sheets"), attrs=_NUMBER)
    is_active = tables.Column(_("Use"))

    class Meta:
        attrs = {"class": "stacks"}

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        self.club = club
        super().__init__(*args, **kwargs)

    def render_owner(self, record: Chassis) -> str:
        return str(record.owner) if record.owner else gettext("the club")

    def render_layout(self, record: Chassis) -> str:
        return gettext(layout) if (layout := record.sizes.get("layout", "")) else ""

    def render_distance(self, record: Chassis) -> str:
        found, _wrong = center_distances(record.sizes, record.runs_free, decimal_mark=self.club.decimal_mark)
        return shown_mm(found[0].mm, self.club.decimal_mark) if found else ""

    def render_is_active(self, value: bool) -> str:
        return gettext("in use") if value else gettext("retired")

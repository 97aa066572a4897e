"""The list of drivers."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, Driver


def _driver_url(record: Driver, table: "DriverTable") -> str:
    return reverse("driver-detail", args=[table.club.slug, record.public_id])


class DriverTable(tables.Table):
    """Rows of `driver_list`. Contact and note go into the file for the club, and are not shown in the list."""

    name = tables.Column(_("Driver"), linkify=_driver_url)
    public_name = tables.Column(_("Appears as"), default="")
    grade = tables.Column(_("Grade"), default="")
    is_junior = tables.Column(_("Junior"))
    car_count = tables.Column(_("Cars"), attrs={"td": {"class": "num"}, "th": {"class": "num"}})
    contact = tables.Column(_("Contact"), visible=False, default="")
    is_active = tables.Column(_("Comes to race nights"), visible=False)

    class Meta:
        attrs = {"class": "stacks"}
        order_by = "name"

    def __init__(self, *args: Any, club: Club, for_file: bool = False, **kwargs: Any) -> None:
        self.club = club
        super().__init__(*args, **kwargs)
        if for_file:
            self.columns.show("contact")
            self.columns.show("is_active")

    def render_is_junior(self, value: bool) -> str:
        return gettext("junior") if value else ""

    def value_is_junior(self, value: bool) -> str:
        return gettext("yes") if value else gettext("no")

    def value_is_active(self, value: bool) -> str:
        return gettext("yes") if value else gettext("no")

"""The register of cars as a list."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.models import Car, Club

_NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


def _car_url(record: Car, table: "CarTable") -> str:
    return reverse("car-detail", args=[table.club.slug, record.public_id])


def _owner_url(record: Car, table: "CarTable") -> str:
    return reverse("driver-detail", args=[table.club.slug, record.owner.public_id])


class CarTable(tables.Table):
    """Rows of `cars_of`."""

    number = tables.Column(_("No."), attrs={"td": {"class": "car-number"}, "th": {"class": "narrow"}})
    name = tables.Column(_("Car"), linkify=_car_url)
    owner = tables.Column(_("Owner"), order_by=("owner__name",), linkify=_owner_url)
    racing_class = tables.Column(_("Class"), order_by=("racing_class__name",), default="")
    latest_build = tables.Column(_("Build"), default="", attrs=_NUMBER)
    is_active = tables.Column(_("Use"))
    note = tables.Column(_("Note"), visible=False, default="")

    class Meta:
        attrs = {"class": "stacks cars"}
        order_by = "number"

    def __init__(self, *args: Any, club: Club, shows_use: bool, for_file: bool = False, **kwargs: Any) -> None:
        self.club = club
        super().__init__(*args, **kwargs)
        if for_file:
            self.columns.show("note")
        elif not shows_use:
            self.columns.hide("is_active")

    def render_is_active(self, value: bool) -> str:
        return gettext("in use") if value else gettext("retired")

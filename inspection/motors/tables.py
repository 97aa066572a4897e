"""Single motors as a list."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, MotorUnit
from inspection.motors.selectors import latest_speed

_NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


def _url(record: MotorUnit, table: "MotorTable") -> str:
    return reverse("motor-detail", args=[table.club.slug, record.public_id])


class MotorTable(tables.Table):
    """Rows of `motors_of`."""

    number = tables.Column(_("No."), linkify=_url)
    part = tables.Column(_("Motor"), order_by=("part__name",))
    owner = tables.Column(_("Owner"), order_by=("owner__name",), empty_values=())
    hours = tables.Column(_("Hours run"), attrs=_NUMBER)
    speed = tables.Column(_("Latest speed"), empty_values=(), orderable=False, attrs=_NUMBER)
    per_volt = tables.Column(_("rpm for each volt"), empty_values=(), orderable=False, attrs=_NUMBER)
    change = tables.Column(_("Since the first test"), empty_values=(), orderable=False, attrs=_NUMBER)
    is_active = tables.Column(_("Use"))

    class Meta:
        attrs = {"class": "stacks motors"}

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        self.club = club
        super().__init__(*args, **kwargs)

    def render_owner(self, record: MotorUnit) -> str:
        return str(record.owner) if record.owner else gettext("the club")

    def render_hours(self, value: Any) -> str:
        return f"{value:.1f}".replace(".", self.club.decimal_mark)

    def render_speed(self, record: MotorUnit) -> str:
        line = latest_speed(record)
        return (
            gettext("{speed} at {volts}").format(speed=line.shown["speed"], volts=line.shown["voltage"]) if line else ""
        )

    def render_per_volt(self, record: MotorUnit) -> str:
        line = latest_speed(record)
        return line.per_volt_shown if line else ""

    def render_change(self, record: MotorUnit) -> str:
        line = latest_speed(record)
        return line.change_shown if line else ""

    def render_is_active(self, value: bool) -> str:
        return gettext("in use") if value else gettext("retired")

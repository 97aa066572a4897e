"""Job tickets as a list."""

import datetime as dt
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from inspection.jobtickets.selectors import STATE_WORDS, state_of, sums_of
from inspection.models import Club, JobTicket
from inspection.parts.forms import amount_shown

_NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


def _url(record: JobTicket, table: "JobTable") -> str:
    return reverse("job-detail", args=[table.club.slug, record.public_id])


class JobTable(tables.Table):
    """Rows of `jobs_of`."""

    number = tables.Column(_("No."), attrs=_NUMBER)
    customer = tables.Column(_("Customer"), linkify=_url)
    car_words = tables.Column(_("Car"), empty_values=(), orderable=False)
    promised_on = tables.Column(_("Promised for"), default="")
    state = tables.Column(_("State"), empty_values=(), orderable=False)
    balance = tables.Column(_("To pay"), empty_values=(), orderable=False, attrs=_NUMBER)

    class Meta:
        attrs = {"class": "stacks jobs"}

    def __init__(self, *args: Any, club: Club, on: dt.date, **kwargs: Any) -> None:
        self.club, self.on = club, on
        super().__init__(*args, **kwargs)

    def render_car_words(self, record: JobTicket) -> str:
        return " ".join(filter(None, [str(record.car) if record.car else "", record.car_words]))

    def render_promised_on(self, value: dt.date) -> str:
        return value.isoformat()

    def render_state(self, record: JobTicket) -> str:
        return str(STATE_WORDS[state_of(record, self.on)])

    def render_balance(self, record: JobTicket) -> str:
        balance: Decimal = sums_of(record).balance
        return amount_shown(balance, self.club)

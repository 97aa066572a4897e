"""Lists of gauges and of characteristics."""

import datetime as dt
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.gauges.forms import KIND_WORDS
from inspection.gauges.selectors import calibration_state, doubt_words, shown_text
from inspection.models import Characteristic, Club, Gauge

_CALIBRATION = {
    "none": _("no date kept"),
    "valid": _("until {day}"),
    "soon": _("due soon, {day}"),
    "overdue": _("overdue since {day}"),
}


def _page_url(record: Gauge, table: "GaugeTable") -> str:
    return reverse("gauge-detail", args=[table.club.slug, record.public_id])


class GaugeTable(tables.Table):
    name = tables.Column(_("Gauge"), linkify=_page_url)
    measures = tables.Column(_("Measures"))
    resolution = tables.Column(_("Smallest step"), attrs={"cell": {"class": "num"}})
    max_permissible_error = tables.Column(_("Largest error"), attrs={"cell": {"class": "num"}})
    doubt = tables.Column(_("A reading is"), empty_values=(), orderable=False)
    calibration = tables.Column(_("Calibration"), accessor="calibration_due", empty_values=())
    state = tables.Column(_("Use"), accessor="retired_at", empty_values=())

    class Meta:
        attrs = {"class": "stacks"}

    def __init__(self, *args: Any, club: Club, today: dt.date, **kwargs: Any) -> None:
        self.club, self.today = club, today
        super().__init__(*args, **kwargs)

    def render_measures(self, value: str) -> Any:
        return KIND_WORDS.get(value, value)

    def render_resolution(self, value: str) -> str:
        return shown_text(value, decimal_mark=self.club.decimal_mark)

    def render_max_permissible_error(self, value: str) -> str:
        return shown_text(value, decimal_mark=self.club.decimal_mark)

    def render_doubt(self, record: Gauge) -> str:
        return doubt_words(record, decimal_mark=self.club.decimal_mark)

    def render_calibration(self, record: Gauge) -> str:
        words = _CALIBRATION[calibration_state(record, self.today)]
        return str(words).format(day=date_format(record.calibration_due, "j M Y") if record.calibration_due else "")

    def render_state(self, value: Any) -> str:
        return gettext("retired") if value else gettext("in use")


def _characteristic_url(record: Characteristic, table: "CharacteristicTable") -> str | None:
    return reverse("characteristic-edit", args=[table.club.slug, record.public_id]) if table.may_write else None


class CharacteristicTable(tables.Table):
    name = tables.Column(_("What"), linkify=_characteristic_url)
    group = tables.Column(_("Where"))
    kind = tables.Column(_("Kind"))
    unit = tables.Column(_("Unit"))
    measuring_point = tables.Column(_("Measuring point"), orderable=False)
    band = tables.Column(_("Plausible"), empty_values=(), orderable=False)
    default_gauge = tables.Column(_("Usual gauge"), default="")

    class Meta:
        attrs = {"class": "stacks"}

    def __init__(self, *args: Any, club: Club, may_write: bool, **kwargs: Any) -> None:
        self.club, self.may_write = club, may_write
        super().__init__(*args, **kwargs)

    def render_kind(self, value: str) -> Any:
        return KIND_WORDS.get(value, value)

    def render_band(self, record: Characteristic) -> str:
        mark = self.club.decimal_mark
        ends = (record.plausible_low, record.plausible_high)
        low, high = (shown_text(text, decimal_mark=mark) for text in ends)
        return gettext("{low} to {high}").format(low=low, high=high) if low and high else ""

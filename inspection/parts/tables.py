"""Parts as a list."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, Part
from inspection.parts.forms import amount_shown
from inspection.parts.selectors import main_sizes

_NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


def _url(record: Part, table: "PartTable") -> str:
    return reverse("part-detail", args=[table.club.slug, record.public_id])


class PartTable(tables.Table):
    """Rows of `parts_of`."""

    name = tables.Column(_("Part"), linkify=_url)
    code = tables.Column(_("Article no."))
    kind = tables.Column(_("Kind"))
    main = tables.Column(_("Sizes"), empty_values=(), orderable=False)
    owner = tables.Column(_("Owner"), order_by=("owner__name",), empty_values=())
    price = tables.Column(_("Price"), attrs=_NUMBER, default="")
    stock = tables.Column(_("In stock"), attrs=_NUMBER)
    is_active = tables.Column(_("Use"))

    class Meta:
        attrs = {"class": "stacks parts"}

    def __init__(self, *args: Any, club: Club, shows_use: bool, **kwargs: Any) -> None:
        self.club = club
        super().__init__(*args, **kwargs)
        if not shows_use:
            self.columns.hide("is_active")

    def render_main(self, record: Part) -> str:
        return main_sizes(record, decimal_mark=self.club.decimal_mark)

    def render_owner(self, record: Part) -> str:
        return str(record.owner) if record.owner else gettext("the club")

    def render_price(self, value: Any) -> str:
        return amount_shown(value, self.club)

    def render_is_active(self, value: bool) -> str:
        return gettext("in use") if value else gettext("retired")

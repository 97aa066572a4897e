"""The shared lists of a club."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from inspection.choicelists.selectors import ListRow
from inspection.models import Club


def _list_url(record: ListRow, table: "ChoiceListTable") -> str:
    return reverse("choicelist-detail", args=[table.club.slug, record.choice_list.public_id])


class ChoiceListTable(tables.Table):
    name = tables.Column(_("List"), accessor="choice_list__name", linkify=_list_url)
    number = tables.Column(_("Revision"), accessor="revision__number", attrs={"cell": {"class": "num"}})
    entries = tables.Column(_("Entries"), accessor="entries", attrs={"cell": {"class": "num"}})
    keyed_by = tables.Column(_("Depends on"), accessor="choice_list__keyed_by", default="")
    sheets = tables.Column(_("Sheets"), accessor="sheets", attrs={"cell": {"class": "num"}})

    class Meta:
        attrs = {"class": "stacks"}
        order_by = "name"

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        self.club = club
        super().__init__(*args, **kwargs)

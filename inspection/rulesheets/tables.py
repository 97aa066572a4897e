"""The list of a club's rule sheets."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.models import Club
from inspection.rulesheets.selectors import SheetRow


def _sheet_url(record: SheetRow, table: "RuleSheetTable") -> str:
    return reverse("rulesheet-detail", args=[table.club.slug, record.sheet.public_id])


def _draft_url(record: SheetRow, table: "RuleSheetTable") -> str | None:
    if record.draft is None or not table.may_write:
        return None
    return reverse("revision-edit", args=[table.club.slug, record.draft.public_id])


class RuleSheetTable(tables.Table):
    name = tables.Column(_("Rule sheet"), accessor="sheet__name", linkify=_sheet_url)
    racing_class = tables.Column(_("Class"), accessor="sheet__racing_class", default="")
    number = tables.Column(_("Revision"), accessor="shown__number", attrs={"cell": {"class": "num"}})
    effective_from = tables.DateColumn(
        format="j M Y", accessor="shown__effective_from", verbose_name=_("In force from"), default=""
    )
    clauses = tables.Column(_("Clauses"), accessor="clauses", attrs={"cell": {"class": "num"}})
    draft = tables.Column(_("Draft"), accessor="draft", linkify=_draft_url, default="")

    class Meta:
        attrs = {"class": "stacks"}
        order_by = "name"

    def __init__(self, *args: Any, club: Club, may_write: bool, may_see_drafts: bool, **kwargs: Any) -> None:
        self.club, self.may_write = club, may_write
        hidden = () if may_see_drafts else ("draft",)
        super().__init__(*args, exclude=hidden, **kwargs)

    def render_draft(self, value: Any) -> str:
        return gettext("revision {number}").format(number=value.number)

"""The log as a list."""

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from inspection.models import LogEntry


class LogTable(tables.Table):
    at = tables.DateTimeColumn(verbose_name=_("When"), format="Y-m-d H:i:s", attrs={"cell": {"class": "nowrap"}})
    by = tables.Column(verbose_name=_("Who"), order_by=("by__name", "by__username"), empty_values=())
    action = tables.Column(verbose_name=_("What"))
    summary = tables.Column(verbose_name=_("About"), orderable=False)
    reason = tables.Column(verbose_name=_("Why"), orderable=False, default="")

    class Meta:
        model = LogEntry
        fields = ("at", "by", "action", "summary", "reason")
        attrs = {"class": "stacks"}
        order_by = "-at"
        empty_text = _("Nothing in the log answers to these words.")

    def render_summary(self, record: LogEntry) -> str:
        """What it was about, with the facts that tell one heat or one clause from another."""
        detail = record.detail
        words = [record.summary]
        if race := detail.get("race"):
            words.append(race)
        if clause := detail.get("clause"):
            words.append(_("clause {number}: {answer}").format(number=clause, answer=detail.get("answer", "")))
        if lane := detail.get("lane"):
            words.append(_("lane {lane}").format(lane=lane))
        if detail.get("before"):
            words.append(_("before: {before}").format(before=detail["before"]))
        return ", ".join(str(word) for word in words)

    def value_by(self, record: LogEntry) -> str:
        return record.by.username if record.by else ""

    def render_by(self, record: LogEntry) -> str:
        return str(record.by) if record.by else str(_("the system"))

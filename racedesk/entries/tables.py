"""The entry list: as everybody sees it, and as the desk does."""

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from racedesk.entries.selectors import EntryLine
from racedesk.takings.tables import NUMBER, MoneyColumn


class EntryTable(tables.Table):
    """What everybody may see. Rows: EntryLine."""

    place = tables.Column(verbose_name=_("No."), orderable=False, attrs=NUMBER, default="")
    name = tables.Column(verbose_name=_("Driver"), orderable=False)
    car_number = tables.Column(verbose_name=_("Car"), orderable=False, attrs=NUMBER, default="")
    car_name = tables.Column(verbose_name=_("Name of the car"), orderable=False, default="")
    state = tables.Column(verbose_name=_("State"), orderable=False)

    class Meta:
        attrs = {"class": "stacks"}
        row_attrs = {
            "class": lambda record: "struck" if record.is_out else "",
            "id": lambda record: f"entry-{record.entry.public_id}",
        }


class DeskTable(EntryTable):
    """What the desk works with: tech, money, and what to do next with each entry."""

    name = tables.TemplateColumn(
        template_name="racedesk/entries/_entry_name.html", verbose_name=_("Driver"), orderable=False
    )
    tech = tables.TemplateColumn(template_name="racedesk/entries/_tech.html", verbose_name=_("Tech"), orderable=False)
    due = MoneyColumn(accessor=tables.A("account__due"), verbose_name=_("Fee"))
    settled = MoneyColumn(accessor=tables.A("account__settled"), verbose_name=_("Settled"))
    owed = MoneyColumn(accessor=tables.A("account__owed"), verbose_name=_("Owed"))
    act = tables.TemplateColumn(
        template_name="racedesk/entries/_entry_actions.html",
        verbose_name="",
        orderable=False,
        exclude_from_export=True,
        attrs={"cell": {"class": "row-actions"}},
    )

    class Meta(EntryTable.Meta):
        sequence = ("place", "name", "car_number", "car_name", "state", "tech", "due", "settled", "owed", "act")

    def value_name(self, record: EntryLine) -> str:
        """The full name, for the desk's own file."""
        return record.name

    def value_tech(self, record: EntryLine) -> str:
        """The clearance in words."""
        return str(record.clearance.label) if record.clearance else ""

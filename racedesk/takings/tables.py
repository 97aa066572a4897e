"""The night's takings, by driver and line by line."""

from decimal import Decimal

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from racedesk.models import Payment

NUMBER = {"th": {"class": "num"}, "cell": {"class": "num"}, "tf": {"class": "num"}}


class MoneyColumn(tables.Column):
    """An amount of two places, empty for zero; `total` in the foot."""

    attrs = NUMBER

    def __init__(self, total: str = "", **kwargs: object) -> None:
        self.total = total
        super().__init__(**({"attrs": NUMBER, "orderable": False} | kwargs))

    def render(self, value: Decimal, table: tables.Table) -> str:
        """Two places, with the club's decimal mark; nothing for zero."""
        return _amount(value, table) if value else ""

    def value(self, value: Decimal) -> Decimal:
        """The number itself for a spreadsheet."""
        return Decimal(value).quantize(Decimal("0.01"))

    def footer(self, bound_column: tables.columns.BoundColumn, table: tables.Table) -> str:
        """The total of the night."""
        return _amount(sum((self.accessor.resolve(row) for row in table.data.data), Decimal(0)), table)


def _amount(value: Decimal, table: tables.Table) -> str:
    club = getattr(getattr(table, "request", None), "club", None)
    return f"{value:.2f}".replace(".", getattr(club, "decimal_mark", "."))


class TakingsTable(tables.Table):
    """One row a driver. Rows: DriverTakings."""

    driver = tables.Column(accessor="driver__name", verbose_name=_("Driver"), orderable=False, footer=_("Total"))
    races = tables.Column(verbose_name=_("Races"), orderable=False)
    due = MoneyColumn(accessor=tables.A("account__due"), verbose_name=_("Due"))
    paid = MoneyColumn(accessor=tables.A("account__paid"), verbose_name=_("Paid"))
    waived = MoneyColumn(accessor=tables.A("account__waived"), verbose_name=_("Waived"))
    credit_used = MoneyColumn(accessor=tables.A("account__credit_used"), verbose_name=_("From credit"))
    credit_given = MoneyColumn(accessor=tables.A("account__credit_given"), verbose_name=_("Credit given"))
    paid_back = MoneyColumn(accessor=tables.A("account__paid_back"), verbose_name=_("Paid back"))
    owed = MoneyColumn(accessor=tables.A("account__owed"), verbose_name=_("Still owed"))

    class Meta:
        attrs = {"class": "stacks takings"}

    def render_races(self, value: list[str]) -> str:
        """The races entered, in order."""
        return ", ".join(value)


class PaymentTable(tables.Table):
    """Every line in the order in which it was written. Rows: Payment."""

    at = tables.DateTimeColumn(verbose_name=_("Time"), format="H:i", orderable=False)
    driver = tables.Column(accessor="driver__name", verbose_name=_("Driver"), orderable=False)
    race = tables.Column(accessor="entry__race__name", verbose_name=_("Race"), orderable=False, default="")
    kind = tables.Column(verbose_name=_("What"), orderable=False)
    amount = tables.Column(accessor="counted", verbose_name=_("Amount"), orderable=False, attrs=NUMBER)
    note = tables.Column(verbose_name=_("Note"), orderable=False, default="")
    by = tables.Column(verbose_name=_("By"), orderable=False, default="")
    act = tables.TemplateColumn(
        template_name="racedesk/takings/_take_back.html",
        verbose_name="",
        orderable=False,
        exclude_from_export=True,
        attrs={"cell": {"class": "row-actions"}},
    )

    class Meta:
        attrs = {"class": "stacks"}
        row_attrs = {"class": lambda record: "struck" if getattr(record, "corrected_by", None) else ""}

    def render_amount(self, value: Decimal) -> str:
        """Two places; minus where a line takes another back."""
        return f"{value:.2f}"

    def value_amount(self, value: Decimal) -> Decimal:
        """The number itself for a spreadsheet."""
        return value

    def value_kind(self, record: Payment) -> str:
        """The kind in words."""
        return record.get_kind_display()

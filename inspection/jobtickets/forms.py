"""Text into a job ticket and its lines."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.cars.selectors import owners_of
from inspection.jobtickets.selectors import job_version
from inspection.jobtickets.services import JobContent
from inspection.models import Car, Club, Driver, JobTicket, Part
from inspection.parts.forms import AmountField, amount_shown


class JobForm(forms.Form):
    """A ticket; only customer and work are asked for."""

    customer = forms.CharField(
        label=_("Customer"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    contact = forms.CharField(
        label=_("How to reach them"),
        max_length=120,
        required=False,
        help_text=_("Seen by who keeps the shop, and on the club's own copy; not on the customer's paper."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    driver = forms.ModelChoiceField(
        label=_("Driver of the club"), queryset=Driver.objects.none(), required=False, empty_label=_("None")
    )
    car = forms.ModelChoiceField(
        label=_("Car of the club"), queryset=Car.objects.none(), required=False, empty_label=_("None")
    )
    car_words = forms.CharField(label=_("Car, in words"), max_length=120, required=False)
    work_agreed = forms.CharField(label=_("Work agreed"), max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))
    promised_on = forms.DateField(
        label=_("Promised for"), required=False, widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    )
    deposit = AmountField(label=_("Deposit"), required=False)
    note = forms.CharField(label=_("Note"), max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(self, data: Any = None, *, club: Club, ticket: JobTicket | None = None) -> None:
        initial: dict[str, Any] = {}
        if ticket is not None:
            names = ("customer", "contact", "driver", "car", "car_words", "work_agreed", "promised_on", "note")
            initial = {name: getattr(ticket, name) for name in names}
            initial |= {"deposit": amount_shown(ticket.deposit, club), "version": job_version(ticket)}
        super().__init__(data, initial=initial)
        self.fields["driver"].queryset = owners_of(club, ticket.driver if ticket else None)
        self.fields["car"].queryset = Car.objects.of(club).order_by("number")
        self.fields["deposit"].label = _now("Deposit, {currency}").format(currency=club.currency)

    @property
    def content(self) -> JobContent:
        given = {name: value for name, value in self.cleaned_data.items() if name != "version"}
        return JobContent(**(given | {"deposit": given["deposit"] or Decimal(0)}))


class LineForm(forms.Form):
    """A part by its article number, or labor in words."""

    part = forms.CharField(
        label=_("Part, by article number"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "parts-in-stock", "spellcheck": "false"}),
    )
    text = forms.CharField(
        label=_("Or labor, in words"),
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    quantity = forms.DecimalField(
        label=_("How many, or hours"),
        max_digits=7,
        decimal_places=2,
        min_value=Decimal("0.01"),
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"}),
    )
    price = AmountField(label=_("Price each"), required=False, help_text=_("Empty: the part's own."))

    def __init__(self, data: Any = None, *, club: Club) -> None:
        self.club = club
        self.found: Part | None = None
        if data is not None and "," in data.get("quantity", ""):
            data = data.copy()
            data["quantity"] = data["quantity"].replace(",", ".")
        super().__init__(data, initial={"quantity": "1"})

    def clean_quantity(self) -> Decimal:
        quantity = self.cleaned_data["quantity"]
        return Decimal(1) if quantity is None else quantity

    def clean_part(self) -> str:
        code = self.cleaned_data["part"]
        if code:
            self.found = Part.objects.of(self.club).filter(code=code, owner=None).first()
            if self.found is None:
                raise forms.ValidationError(_now("The club has no part of this article number."), code="unknown")
        return code

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if not given.get("part") and not given.get("text") and "part" not in self.errors:
            self.add_error("part", _now("Name a part or write what was done."))
        return given

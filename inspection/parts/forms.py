"""Text into a part: its sizes in the club's units with its decimal mark, its price, and how its stock moves."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.cars.selectors import owners_of
from inspection.models import Club, Driver, Part, RacingClass
from inspection.parts.selectors import (
    LARGEST_STOCK,
    LONGEST_SIZE,
    SizeLine,
    SizeNotUnderstood,
    as_typed,
    part_version,
    read_amount,
    read_size,
    size_lines,
    specs_of,
    usual_unit,
    with_diameter_of_code,
)
from inspection.parts.services import PartContent
from inspection.planning.register import PartKind, SizeSpec
from inspection.units import Kind


class SizeField(forms.CharField):
    """One size of the register, kept as canonical text ("12.05 mm"); "" when nothing is typed."""

    def __init__(self, spec: SizeSpec, *, club: Club, is_required: bool = False, may_be_zero: bool = False) -> None:
        self.spec, self.club, self.may_be_zero = spec, club, may_be_zero
        attrs = {"autocomplete": "off", "spellcheck": "false"}
        if spec.kind is not None:
            attrs |= {"class": "number", "inputmode": "decimal" if spec.kind is not Kind.COUNT else "numeric"}
        super().__init__(
            label=_now(spec.label),
            help_text=_now(spec.help) if spec.help else "",
            required=is_required,
            max_length=LONGEST_SIZE,
            widget=forms.TextInput(attrs=attrs),
        )

    def to_python(self, value: Any) -> str:
        try:
            return read_size(self.spec, super().to_python(value), club=self.club, may_be_zero=self.may_be_zero)
        except SizeNotUnderstood as error:
            raise forms.ValidationError(str(error), code=error.code) from error


def size_field(spec: SizeSpec, *, club: Club, **more: Any) -> forms.Field:
    """The field of a size: a choice where the register gives words, else text."""
    if not spec.choices:
        return SizeField(spec, club=club, **more)
    return forms.ChoiceField(
        label=_now(spec.label),
        help_text=_now(spec.help) if spec.help else "",
        required=False,
        choices=[("", _now("Not said")), *((word, _now(word)) for word in spec.choices)],
    )


class AmountField(forms.Field):
    """Money of the club's currency: "7.50", "7,50", "7"; None for nothing, never below 0."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"})
        super().__init__(**({"widget": widget} | kwargs))

    def to_python(self, value: Any) -> Any:
        text = str(value or "")
        try:
            return read_amount(text)
        except ValueError as error:
            words = _now("“{text}” is not an amount. Write 7.50 or 7,50, without a mark between thousands.")
            raise forms.ValidationError(words.format(text=text[:20]), code="invalid") from error


def amount_shown(amount: Any, club: Club) -> str:
    """An amount as somebody of this club would type it; "" for None."""
    return "" if amount is None else f"{amount:.2f}".replace(".", club.decimal_mark)


class PartForm(forms.Form):
    """A part of one kind. part: the one to change; like: the one that a new part is the same as."""

    kind = forms.ChoiceField(label=_("Kind"), choices=Part.Kind.choices)
    code = forms.CharField(
        label=_("Article number"),
        max_length=40,
        help_text=_("Yours or the maker's; each only once in the club."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    name = forms.CharField(label=_("Name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    owner = forms.ModelChoiceField(
        label=_("Owner"), queryset=Driver.objects.none(), required=False, empty_label=_("The club")
    )
    price = AmountField(label=_("Price"), required=False)
    stock = forms.IntegerField(
        label=_("In stock"),
        required=False,
        min_value=0,
        max_value=LARGEST_STOCK,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "number"}),
    )
    allowed_in = forms.ModelMultipleChoiceField(
        label=_("Allowed in"),
        queryset=RacingClass.objects.none(),
        required=False,
        help_text=_("The classes that name this very part. Limits of size are read from the clauses anyway."),
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(label=_("Note"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    is_active = forms.BooleanField(label=_("In use"), required=False, initial=True)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(
        self, data: Any = None, *, club: Club, kind: str = "", part: Part | None = None, like: Part | None = None
    ) -> None:
        self.club = club
        shown = part or like
        asked = str(data.get("kind", "")) if data else kind
        self.kind_code = part.kind if part else (asked if specs_of(asked) else (like.kind if like else PartKind.PINION))
        self.specs = specs_of(self.kind_code)
        self.stored: Mapping[str, str] = shown.sizes if shown else {}
        super().__init__(
            data, initial={"kind": self.kind_code} | (self._shown(shown, is_copy=part is None) if shown else {})
        )
        self.fields["owner"].queryset = owners_of(club, shown.owner if shown else None)
        self.fields["allowed_in"].queryset = RacingClass.objects.of(club).order_by("-is_active", "name")
        self.fields["price"].label = _now("Price, {currency}").format(currency=club.currency)
        for name in ("kind", "stock") if part else ():
            del self.fields[name]
        for spec in self.specs.values():
            self.fields[f"size-{spec.code}"] = size_field(spec, club=club, is_required=spec.required)

    def _shown(self, part: Part, *, is_copy: bool) -> dict[str, Any]:
        shown = {name: getattr(part, name) for name in ("name", "owner", "note")}
        shown |= {"price": amount_shown(part.price, self.club), "allowed_in": list(part.allowed_in.all())}
        for code, spec in self.specs.items():
            shown[f"size-{code}"] = as_typed(self.club, spec, part.sizes.get(code, ""))
        if not is_copy:
            shown |= {"code": part.code, "is_active": part.is_active, "version": part_version(part)}
        return shown

    @property
    def size_rows(self) -> list[tuple[forms.BoundField, str]]:
        """Each size's field with the unit of a bare number."""
        return [(self[f"size-{code}"], usual_unit(self.club, spec.kind)) for code, spec in self.specs.items()]

    @property
    def sizes(self) -> dict[str, str]:
        """The sizes of a sent form that can be read, as they are kept."""
        given = {code: self.cleaned_data.get(f"size-{code}", "") for code in self.specs}
        return with_diameter_of_code(self.kind_code, {code: text for code, text in given.items() if text})

    @property
    def understood(self) -> list[SizeLine]:
        """The sizes as they are understood, in both systems of measures."""
        if self.is_bound:
            self.is_valid()
        sizes = self.sizes if self.is_bound else self.stored
        return size_lines(self.kind_code, sizes, decimal_mark=self.club.decimal_mark)

    @property
    def content(self) -> PartContent:
        names = ("code", "name", "owner", "price", "note", "is_active")
        plain: Mapping[str, Any] = {name: self.cleaned_data[name] for name in names}
        return PartContent(**plain, sizes=self.sizes, allowed_in=tuple(self.cleaned_data["allowed_in"]))


class StockForm(forms.Form):
    """What became of the stock."""

    ADD, USE, COUNT = "add", "use", "count"

    what = forms.ChoiceField(
        label=_("What happened"),
        choices=[(ADD, _("came in")), (USE, _("used")), (COUNT, _("counted anew: there are"))],
        widget=forms.RadioSelect,
        initial=ADD,
    )
    quantity = forms.IntegerField(
        label=_("How many"),
        min_value=0,
        max_value=LARGEST_STOCK,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "number"}),
    )
    reason = forms.CharField(
        label=_("Why"), max_length=200, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

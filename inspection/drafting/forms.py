"""Text into a clause: limits into exact quantities, lists into tuples, rows into parts and conditions."""

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.choicelists.selectors import EntryContent, entries_of, newest_revisions
from inspection.clauses.selectors import subjects_of
from inspection.conformity.clauses import Comparator
from inspection.conformity.conditions import NAMED
from inspection.conformity.errors import RULE_MESSAGES, RuleError
from inspection.conformity.parse import parse_condition, parse_factor
from inspection.contents.selectors import (
    LIMIT_NAMES,
    ClauseContent,
    LimitRow,
    Requirement,
    content_of,
    version_of,
)
from inspection.gauges.selectors import can_measure, characteristics_of, quantity_kind_of, read_typed, units_words
from inspection.models import Characteristic, ChoiceList, Clause, Club, Gauge, RuleSheetRevision
from inspection.units import DecimalMark, Kind, Quantity, UnitsError
from inspection.wording.selectors import PHASE_WORDS

_GROUPS = Characteristic.Group.values


class _ByGroup(forms.models.ModelChoiceIterator):
    """The register under the heads of where a thing is checked."""

    def __iter__(self) -> Iterator[tuple[Any, Any]]:
        yield ("", self.field.empty_label)
        in_order = sorted(self.queryset, key=lambda one: (_GROUPS.index(one.group), one.position, one.name))
        for group, members in itertools.groupby(in_order, key=lambda one: one.get_group_display()):
            yield (group, [self.choice(one) for one in members])


class _SubjectSelect(forms.Select):
    """Each option carries the register's measuring point, which the page's script offers to an empty field."""

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option = super().create_option(name, value, *args, **kwargs)
        instance = getattr(value, "instance", None)
        if instance is not None and instance.measuring_point:
            option["attrs"]["data-point"] = instance.measuring_point
        return option


class CharacteristicField(forms.ModelChoiceField):
    iterator = _ByGroup
    widget = _SubjectSelect


# Rows: conditions, parts, limits by condition.


@dataclass(frozen=True, slots=True)
class Known:
    """What the rows of a clause's form may name: the register by code, the lists by name, and how numbers are typed."""

    register: Mapping[str, Characteristic]
    lists: Mapping[str, tuple[ChoiceList, tuple[EntryContent, ...]]]
    decimal_mark: DecimalMark

    def named(self, text: str) -> Characteristic | None:
        """A characteristic by its name or its code, whatever the case of its letters."""
        wanted = " ".join(text.split()).casefold()
        found = (one for one in self.register.values() if wanted in {one.name.casefold(), one.code.casefold()})
        return next(found, None)


def known_of(club: Club) -> Known:
    """What a club's clauses may name. Four queries."""
    newest = newest_revisions(club, with_entries=True).values()
    return Known(
        register={one.code: one for one in characteristics_of(club)},
        lists={one.choice_list.name: (one.choice_list, entries_of(one)) for one in newest},
        decimal_mark=club.decimal_mark,
    )


class _Row(forms.Form):
    """One row of a set. A row in which nothing is chosen is not there."""

    needed = ""

    def __init__(self, *args: Any, known: Known, **kwargs: Any) -> None:
        self.known = known
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field.widget, forms.TextInput):
                field.widget.attrs |= {"autocomplete": "off", "spellcheck": "false"}

    rare: tuple[str, ...] = ()  # the fields that the page folds away

    @property
    def often_used(self) -> list[forms.BoundField]:
        return [field for field in self if field.name not in self.rare]

    @property
    def rarely_used(self) -> list[forms.BoundField]:
        return [field for field in self if field.name in self.rare]

    @property
    def is_unfolded(self) -> bool:
        """Does a rarely used field say something, or is something wrong with it?"""
        fields = [field for field in self.rarely_used if field.name != "measuring_point"]
        return any(field.errors or str(field.value() or "") not in {"", "1"} for field in fields)

    @property
    def is_there(self) -> bool:
        return bool(self.is_bound and self.data.get(self.add_prefix(self.needed), "").strip())

    def quantity(self, name: str, subject: Characteristic | None, *, negative: bool = False) -> Quantity | None:
        text = self.cleaned_data.get(name, "").strip()
        kind = quantity_kind_of(subject) if subject else None
        if not text:
            return None
        if kind is None or subject is None:
            self.add_error(name, _("This is answered, not measured: leave it empty."))
            return None
        mark = self.known.decimal_mark
        try:
            return read_typed(text, kind=kind, unit=subject.unit, decimal_mark=mark, allow_negative=negative)
        except UnitsError as error:
            self.add_error(name, units_words(error))
            return None

    def subject(self, name: str) -> Characteristic | None:
        text = self.cleaned_data.get(name, "")
        found = self.known.named(text) if text else None
        if text and found is None:
            self.add_error(name, _("The register has nothing of this name. Choose one that it has."))
        return found


ABOUT_CHOICES = [
    ("", _("nothing")),
    ("characteristic", _("this car")),
    ("clause", _("another clause")),
    ("restricted", _("whether a clause limits")),
    ("class", _("the class")),
    ("scale", _("the scale")),
    ("grade", _("the driver's grade")),
    ("junior", _("a junior drives")),
    ("track", _("the track")),
    ("date", _("the date")),
    ("flag", _("a word of the night")),
    ("phase", _("when it is checked")),
]
OP_CHOICES = [
    ("one_of", _("is one of")),
    ("none_of", _("is none of")),
    ("at_least", _("at least")),
    ("at_most", _("at most")),
    ("above", _("above")),
    ("below", _("below")),
    ("between", _("between")),
    ("yes", _("yes")),
    ("no", _("no")),
    ("passed", _("passed")),
    ("failed", _("failed")),
]


class ConditionRow(_Row):
    """One condition; rows joined by "and" hold together, "or" begins another way."""

    needed = "about"
    joined = forms.ChoiceField(label=_("Joined"), choices=[("and", _("and")), ("or", _("or"))], required=False)
    about = forms.ChoiceField(label=_("About"), choices=ABOUT_CHOICES, required=False)
    name = forms.CharField(
        label=_("Which"), max_length=80, required=False, widget=forms.TextInput(attrs={"list": "register"})
    )
    op = forms.ChoiceField(label=_("Is"), choices=OP_CHOICES, required=False)
    values = forms.CharField(label=_("Values"), max_length=2000, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if self.is_there and not self.errors:
            cleaned["atom"] = self._atom(cleaned)
        return cleaned

    def _atom(self, cleaned: Mapping[str, Any]) -> dict[str, Any]:
        about, name = cleaned["about"], cleaned["name"].strip()
        subject = self.subject("name") if about in {"characteristic", "restricted"} else None
        atom: dict[str, Any] = {"about": about}
        if about in NAMED:
            atom["name"] = subject.code if subject else name
        atom["is"] = cleaned["op"]
        values = [self._value(part, subject) for text in cleaned["values"].split(";") if (part := text.strip())]
        if values:
            atom["values"] = values
        if not self.errors:
            try:
                parse_condition(atom, subjects_of({subject.code: subject} if subject else {}))
            except RuleError as error:
                place = {"is": "op"}.get(error.path, error.path.partition("[")[0])
                self.add_error(place if place in self.fields else None, _now(RULE_MESSAGES[error.code]) % error.params)
        return atom

    def _value(self, text: str, subject: Characteristic | None) -> str:
        kind = quantity_kind_of(subject) if subject else None
        if kind is None or subject is None:
            return text
        mark = self.known.decimal_mark
        try:
            return read_typed(text, kind=kind, unit=subject.unit, decimal_mark=mark, allow_negative=True).canonical
        except UnitsError as error:
            self.add_error("values", units_words(error))
            return text


def atom_initial(atom: Mapping[str, Any], known: Known) -> dict[str, Any]:
    """A single condition as the row shows it."""
    subject = known.register.get(atom.get("name", ""))
    kind = quantity_kind_of(subject) if subject else None
    values = [str(value).replace(".", known.decimal_mark) if kind else str(value) for value in atom.get("values", ())]
    name = subject.name if subject and atom["about"] in {"characteristic", "restricted"} else atom.get("name", "")
    return {"about": atom["about"], "name": name, "op": atom["is"], "values": "; ".join(values)}


def ways_of(condition: Mapping[str, Any]) -> list[list[Mapping[str, Any]]] | None:
    """A condition as ways of which one must hold, each of single conditions; None where it is nested deeper."""
    ways = condition.get("any", [condition] if condition else [])
    found = [way.get("all", [way]) for way in ways]
    is_flat = all("about" in atom for way in found for atom in way)
    return found if is_flat else None


def condition_initial(condition: Mapping[str, Any], known: Known) -> list[dict[str, Any]]:
    """The rows of a condition that `ways_of` can show."""
    rows = []
    for way in ways_of(condition) or []:
        for place, atom in enumerate(way):
            rows.append({"joined": "and" if place or not rows else "or"} | atom_initial(atom, known))
    return rows


class _RowSet(forms.BaseFormSet):
    """Rows that are there, in order."""

    def there(self) -> list[Any]:
        return [row for row in self.forms if row.is_there]


class _ConditionSet(_RowSet):
    def condition(self) -> dict[str, Any]:
        """What is typed, as it is stored."""
        ways: list[list[dict[str, Any]]] = []
        for row in self.there():
            if not ways or row.cleaned_data.get("joined") == "or":
                ways.append([])
            ways[-1].append(row.cleaned_data.get("atom", {}))
        whole = [way[0] if len(way) == 1 else {"all": way} for way in ways]
        if not whole:
            return {}
        return whole[0] if len(whole) == 1 else {"any": whole}


_PART_COMPARATORS = [
    Comparator.AT_LEAST,
    Comparator.AT_MOST,
    Comparator.BETWEEN,
    Comparator.EQUAL_WITHIN,
    Comparator.ONE_OF,
    Comparator.YES_NO,
]
_FIRST = {Comparator.AT_LEAST: "lower", Comparator.BETWEEN: "lower", Comparator.AT_MOST: "upper"}
_SECOND = {Comparator.BETWEEN: "upper", Comparator.EQUAL_WITHIN: "tolerance"}


class _LimitFields(_Row):
    """A limit in one field or two, or a list, by the comparator."""

    value = forms.CharField(label=_("Limit or answer"), max_length=40, required=False)
    second = forms.CharField(label=_("Upper limit, or tolerance"), max_length=40, required=False)
    choices = forms.CharField(
        label=_("Allowed, with ; between"), max_length=8000, required=False, widget=forms.TextInput
    )

    def limits(self, comparator: Comparator | None, subject: Characteristic | None) -> dict[str, Any]:
        """The limits and choices by the names of a requirement's fields."""
        found: dict[str, Any] = {}
        if comparator is not None and comparator.is_numeric:
            first, second = _FIRST.get(comparator, "nominal"), _SECOND.get(comparator)
            found[first] = self.quantity("value", subject)
            if second:
                found[second] = self.quantity("second", subject)
        found["choices"] = tuple(part for text in self.cleaned_data["choices"].split(";") if (part := text.strip()))
        if any(len(choice) > 80 for choice in found["choices"]):
            self.add_error("choices", _("At most 80 characters each."))
        return found


def limits_initial(one: Requirement | LimitRow, comparator: Comparator | None, known: Known) -> dict[str, str]:
    """Limits and choices as the row shows them."""
    first, second = _FIRST.get(comparator, "nominal") if comparator else "nominal", _SECOND.get(comparator, "")
    shown = {"value": getattr(one, first), "second": getattr(one, second) if second else None}
    return {name: _shown(quantity, known.decimal_mark) for name, quantity in shown.items()} | {
        "choices": "; ".join(one.choices)
    }


def _shown(quantity: Quantity | None, decimal_mark: DecimalMark) -> str:
    return quantity.canonical.replace(".", decimal_mark) if quantity else ""


class PartRow(_LimitFields):
    """One of several things that are asked together."""

    needed = "subject_name"
    rare = ("choice_list", "other_name", "factor", "offset", "measuring_point", "readings_wanted")
    with_above = forms.BooleanField(label=_("Goes with the line above"), required=False)
    subject_name = forms.CharField(
        label=_("Subject"), max_length=80, required=False, widget=forms.TextInput(attrs={"list": "register"})
    )
    comparator = forms.ChoiceField(
        label=_("Comparator"),
        required=False,
        choices=[(one.value, Clause.Comparator(one.value).label) for one in _PART_COMPARATORS],
    )
    choice_list = forms.CharField(
        label=_("Shared list"), max_length=120, required=False, widget=forms.TextInput(attrs={"list": "lists"})
    )
    other_name = forms.CharField(
        label=_("Compared with"), max_length=80, required=False, widget=forms.TextInput(attrs={"list": "register"})
    )
    factor = forms.CharField(label=_("Times"), max_length=20, required=False)
    offset = forms.CharField(label=_("Plus"), max_length=40, required=False)
    measuring_point = forms.CharField(label=_("Measuring point"), max_length=300, required=False)
    readings_wanted = forms.IntegerField(label=_("Readings"), min_value=1, max_value=10, required=False)
    field_order = [
        *("with_above", "subject_name", "comparator", "value", "second", "choices", "choice_list"),
        *("other_name", "factor", "offset", "measuring_point", "readings_wanted"),
    ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if self.is_there and not self.errors:
            cleaned["part"] = self._part(cleaned)
        return cleaned

    def _part(self, cleaned: Mapping[str, Any]) -> Requirement:
        subject, other = self.subject("subject_name"), self.subject("other_name")
        comparator = Comparator(cleaned["comparator"])
        factor = plain_factor(self, cleaned["factor"], self.known.decimal_mark)
        choice_list, entries = named_list(self, "choice_list", self.known)
        usual = subject.measuring_point if subject and comparator.is_numeric else ""
        answer = cleaned["value"].strip().casefold()
        if comparator is Comparator.YES_NO and answer not in {"", *_YES, *_NO}:
            self.add_error("value", _("The answer that passes: yes or no."))
        return Requirement(
            characteristic=subject,
            measuring_point=cleaned["measuring_point"].strip() or usual,
            comparator=comparator,
            **self.limits(comparator, subject),
            other=other,
            factor=factor,
            offset=self.quantity("offset", subject, negative=True),
            choice_list=choice_list,
            entries=entries,
            expected_answer=answer not in _NO,
            readings_wanted=cleaned["readings_wanted"] or 1,
        )


_YES, _NO = {"yes", str(_("yes"))}, {"no", str(_("no"))}


def plain_factor(form: forms.Form, text: str, decimal_mark: DecimalMark) -> str:
    """A factor as stored, "" for 1; what cannot be read is an error of the field."""
    typed = text.strip().replace(decimal_mark, ".")
    try:
        parse_factor(typed)
    except RuleError as error:
        form.add_error("factor", _now(RULE_MESSAGES[error.code]) % error.params)
        return ""
    return typed


def named_list(form: forms.Form, name: str, known: Known) -> tuple[ChoiceList | None, tuple[EntryContent, ...]]:
    """The shared list of a name, whatever the case of its letters; one that is not there is an error of the field."""
    wanted = " ".join(form.cleaned_data.get(name, "").split()).casefold()
    if not wanted:
        return None, ()
    found = next((one for listed, one in known.lists.items() if listed.casefold() == wanted), None)
    if found is None:
        form.add_error(name, _("There is no list of this name."))
    return found or (None, ())


class _PartSet(_RowSet):
    def parts(self, comparator: Comparator | None) -> tuple[Requirement, ...]:
        """The parts of a group; lines that go with the one above make a group of the other kind."""
        groups: list[list[Requirement]] = []
        for row in self.there():
            if "part" not in row.cleaned_data:
                continue
            if not groups or not row.cleaned_data["with_above"]:
                groups.append([])
            groups[-1].append(row.cleaned_data["part"])
        inner = Comparator.ANY_OF if comparator is Comparator.ALL_OF else Comparator.ALL_OF
        return tuple(one[0] if len(one) == 1 else Requirement(comparator=inner, parts=tuple(one)) for one in groups)


def parts_initial(content: ClauseContent, known: Known) -> list[dict[str, Any]] | None:
    """The rows of a group's parts; None where a part says more than a row can show."""
    inner = Comparator.ANY_OF if content.comparator is Comparator.ALL_OF else Comparator.ALL_OF
    rows: list[dict[str, Any]] = []
    for part in content.parts:
        group = part.parts if part.comparator is inner else (part,)
        for place, one in enumerate(group):
            if one.comparator not in _PART_COMPARATORS or one.rows or one.applies_when or one.unless:
                return None
            if one.allowance or one.counts != "each":
                return None
            rows.append({"with_above": bool(place)} | _part_initial(one, known))
    return rows


def _part_initial(one: Requirement, known: Known) -> dict[str, Any]:
    shown = limits_initial(one, one.comparator, known)
    if one.comparator is Comparator.YES_NO:
        shown["value"] = "yes" if one.expected_answer else "no"
    return shown | {
        "subject_name": one.characteristic.name if one.characteristic else "",
        "comparator": one.comparator.value if one.comparator else "",
        "choice_list": one.choice_list.name if one.choice_list else "",
        "other_name": one.other.name if one.other else "",
        "factor": one.factor.replace(".", known.decimal_mark),
        "offset": _shown(one.offset, known.decimal_mark),
        "measuring_point": one.measuring_point,
        "readings_wanted": one.readings_wanted,
    }


class LimitRowForm(_LimitFields, ConditionRow):
    """Limits that hold under one condition."""

    joined = None
    field_order = ["about", "name", "op", "values", "value", "second", "choices"]


class _LimitSet(_RowSet):
    def rows(self, comparator: Comparator | None, subject: Characteristic | None) -> tuple[LimitRow, ...]:
        return tuple(
            LimitRow(when=row.cleaned_data.get("atom", {}), **row.limits(comparator, subject)) for row in self.there()
        )


def rows_initial(content: ClauseContent, known: Known) -> list[dict[str, Any]] | None:
    """The rows of limits by condition; None where a condition is of several."""
    if any("about" not in row.when for row in content.rows):
        return None
    return [atom_initial(row.when, known) | limits_initial(row, content.comparator, known) for row in content.rows]


_ConditionRows = forms.formset_factory(ConditionRow, formset=_ConditionSet, extra=1, max_num=20, absolute_max=40)
_PartRows = forms.formset_factory(PartRow, formset=_PartSet, extra=2, max_num=20, absolute_max=40)
_LimitRows = forms.formset_factory(LimitRowForm, formset=_LimitSet, extra=1, max_num=60, absolute_max=90)


class ClauseForm(forms.Form):
    """One clause of a draft. What is missing may stay missing; what cannot be read is refused."""

    number = forms.CharField(label=_("Number"), max_length=12, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    text = forms.CharField(
        label=_("Text"), max_length=1000, widget=forms.Textarea(attrs={"rows": 3}), help_text=_("As it is printed.")
    )
    characteristic = CharacteristicField(
        label=_("Subject"),
        queryset=Characteristic.objects.none(),
        required=False,
        empty_label=_("Nothing is measured or looked at"),
    )
    measuring_point = forms.CharField(
        label=_("Measuring point"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Where it is measured, and whether gears, pins or tape count."),
    )
    comparator = forms.ChoiceField(
        label=_("Comparator"), required=False, choices=[("", _("None: the clause only informs"))]
    )
    lower = forms.CharField(label=_("Lower limit"), max_length=40, required=False)
    upper = forms.CharField(label=_("Upper limit"), max_length=40, required=False)
    nominal = forms.CharField(label=_("Value"), max_length=40, required=False)
    tolerance = forms.CharField(
        label=_("Tolerance"), max_length=40, required=False, help_text=_("To either side of the value.")
    )
    choices = forms.CharField(
        label=_("What is allowed"),
        max_length=8000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("One a line."),
    )
    expected_answer = forms.TypedChoiceField(
        label=_("The answer that passes"),
        required=False,
        coerce=lambda value: value == "yes",
        empty_value=True,
        choices=[("yes", _("Yes")), ("no", _("No"))],
        widget=forms.RadioSelect,
    )
    choice_list = forms.ModelChoiceField(
        label=_("Or a shared list"),
        queryset=ChoiceList.objects.none(),
        required=False,
        empty_label=_("None: the lines above"),
    )
    other = CharacteristicField(
        label=_("Compared with"),
        queryset=Characteristic.objects.none(),
        required=False,
        empty_label=_("Nothing: the limit is written"),
        help_text=_("Instead of a written limit: so many times what is found there, plus so much."),
    )
    factor = forms.CharField(label=_("Times"), max_length=20, required=False, help_text=_("Left empty: once."))
    offset = forms.CharField(
        label=_("Plus"), max_length=40, required=False, help_text=_("Such as 2 mm, or -2 mm for less.")
    )
    tolerance_style = forms.ChoiceField(label=_("Tolerance"), required=False, choices=Clause.Tolerance.choices)
    allowance = forms.CharField(
        label=_("Its own tolerance"), max_length=40, required=False, help_text=_("Such as 10 % or 0.5 g.")
    )
    decision_rule = forms.ChoiceField(
        label=_("Decision rule"),
        required=False,
        choices=[("", _("as the sheet says")), *RuleSheetRevision.Decision.choices],
    )
    counts = forms.ChoiceField(
        label=_("Of several readings"), required=False, choices=Clause.Counts.choices, initial=Clause.Counts.EACH
    )
    judge = forms.CharField(
        label=_("Who judges"), max_length=80, required=False, help_text=_("A name or an office, such as scrutineer.")
    )
    keep_parts = forms.BooleanField(label=_("Keep the parts as they are"), required=False, initial=True)
    keep_rows = forms.BooleanField(label=_("Keep the limits by condition as they are"), required=False, initial=True)
    keep_applies_when = forms.BooleanField(label=_("Keep this condition as it is"), required=False, initial=True)
    keep_unless = forms.BooleanField(label=_("Keep this exception as it is"), required=False, initial=True)
    judge_reason = forms.CharField(
        label=_("Why a judge decides"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    gauge = forms.ModelChoiceField(
        label=_("Gauge"),
        queryset=Gauge.objects.none(),
        required=False,
        empty_label=_("The usual one of the subject"),
    )
    readings_wanted = forms.IntegerField(label=_("Readings to take"), min_value=1, max_value=10, initial=1)
    phases = forms.MultipleChoiceField(
        label=_("Checked"),
        required=False,
        choices=list(PHASE_WORDS.items()),
        widget=forms.CheckboxSelectMultiple,
        initial=["before"],
    )
    consequence = forms.CharField(label=_("What follows when it fails"), max_length=200, required=False)
    version = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(
        self, *args: Any, club: Club, clause: Clause | None = None, start: ClauseContent | None = None, **kwargs: Any
    ) -> None:
        self.club, self.clause = club, clause
        self.stored = content_of(clause) if clause is not None else start
        if self.stored is not None:
            version = version_of(clause) if clause is not None else ""
            kwargs["initial"] = _initial(self.stored, club) | {"version": version} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.fields["characteristic"].queryset = self.fields["other"].queryset = characteristics_of(club)
        self.fields["choice_list"].queryset = ChoiceList.objects.of(club).select_related("keyed_by").order_by("name")
        in_use = Q(retired_at__isnull=True) | Q(pk=clause.gauge_id if clause else None)
        self.fields["gauge"].queryset = Gauge.objects.of(club).filter(in_use).order_by("name")
        self.fields["comparator"].choices = [
            self.fields["comparator"].choices[0],
            *((value, words) for value, words in Clause.Comparator.choices if value in set(Comparator)),
        ]
        example = gettext("Such as 19.00 mm, .040 in, 2 1/16 in, 85 g.").replace("19.00", f"19{club.decimal_mark}00")
        for name in ("lower", "upper", "nominal"):
            self.fields[name].help_text = example
        for name in (*LIMIT_NAMES, "factor", "offset", "allowance"):
            self.fields[name].widget.attrs |= {"autocomplete": "off", "spellcheck": "false"}
        self.known = known_of(club)
        self._make_rows()

    def _make_rows(self) -> None:
        """The sets of rows. One that cannot show what is stored is None, and a field asks whether to keep that."""
        stored = self.stored or ClauseContent(number="", text="")
        parts, rows = parts_initial(stored, self.known), rows_initial(stored, self.known)
        self.parts = None if parts is None else self._set(_PartRows, "parts", parts)
        self.rows = None if rows is None else self._set(_LimitRows, "rows", rows)
        self.conditions: dict[str, _ConditionSet | None] = {}
        for name in ("applies_when", "unless"):
            condition = getattr(stored, name)
            shown = ways_of(condition) is not None
            self.conditions[name] = (
                self._set(_ConditionRows, name, condition_initial(condition, self.known)) if shown else None
            )

    def _set(self, factory: Any, prefix: str, initial: list[dict[str, Any]]) -> Any:
        """A set of rows; one that was not sent keeps what is stored."""
        was_sent = self.is_bound and f"{prefix}-TOTAL_FORMS" in self.data
        data = self.data if was_sent else None
        return factory(data, prefix=prefix, initial=initial, form_kwargs={"known": self.known})

    @property
    def sets(self) -> list[Any]:
        """The sets of rows that the page shows."""
        return [one for one in (self.parts, self.rows, *self.conditions.values()) if one is not None]

    def is_valid(self) -> bool:
        is_good = super().is_valid()
        wrong = [one for one in self.sets if one.is_bound and not one.is_valid()]  # each is read, not up to the first
        if wrong or (is_good and not self._rows_fit()):
            self.add_error(None, _("Not saved yet: look at the lines marked below. What you typed is still here."))
        return is_good and not self.errors

    def _rows_fit(self) -> bool:
        """Read the limits by condition, which depend on the subject and the comparator above them."""
        self.content()
        return self.rows is None or not any(row.errors for row in self.rows.forms if self.rows.is_bound)

    def clean_choices(self) -> tuple[str, ...]:
        lines = [" ".join(line.split()) for line in self.cleaned_data["choices"].splitlines()]
        allowed = tuple(line for line in lines if line)
        if len(allowed) > 200 or any(len(line) > 80 for line in allowed):
            raise forms.ValidationError(_("At most 200 lines of at most 80 characters each."))
        return allowed

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        characteristic = cleaned.get("characteristic")
        kind = quantity_kind_of(characteristic) if characteristic else None
        for name in LIMIT_NAMES:
            if name in cleaned:
                cleaned[name] = self._quantity(name, cleaned[name], characteristic)
        cleaned["factor"] = plain_factor(self, cleaned.get("factor", ""), self.club.decimal_mark)
        if "offset" in cleaned:
            cleaned["offset"] = self._quantity("offset", cleaned["offset"], characteristic, negative=True)
        cleaned["allowance"] = self._allowance(cleaned.get("allowance", ""), characteristic)
        gauge = cleaned.get("gauge")
        if gauge and kind and not can_measure(gauge, kind):
            self.add_error("gauge", _("This gauge does not measure the subject. Choose another, or the usual one."))
        return cleaned

    def _allowance(self, text: str, characteristic: Characteristic | None) -> str:
        """As stored: a share in percent, or a quantity of the subject's kind."""
        typed = text.strip().lstrip("±").strip()
        if not typed.endswith("%"):
            found = self._quantity("allowance", typed, characteristic)
            return found.canonical if found else ""
        try:
            return read_typed(typed, kind=Kind.RATIO, decimal_mark=self.club.decimal_mark).canonical
        except UnitsError as error:
            self.add_error("allowance", units_words(error))
            return ""

    def _quantity(
        self, name: str, text: str, characteristic: Characteristic | None, *, negative: bool = False
    ) -> Quantity | None:
        if not text:
            return None
        kind = quantity_kind_of(characteristic) if characteristic else None
        if characteristic is not None and kind is None:
            self.add_error(name, _("The subject is answered, not measured: leave this empty, or change the subject."))
            return None
        unit = characteristic.unit if characteristic else ""
        try:
            return read_typed(text, kind=kind, unit=unit, decimal_mark=self.club.decimal_mark, allow_negative=negative)
        except UnitsError as error:
            self.add_error(name, units_words(error))
            return None

    def content(self) -> ClauseContent:
        """The clause as typed; fields that could not be read are as if empty."""
        not_content = {"version", "keep_parts", "keep_rows", "keep_applies_when", "keep_unless"}
        said = {name: value for name, value in self.cleaned_data.items() if name not in not_content}
        typed = said.pop("comparator", "")
        comparator = Comparator(typed) if typed else None
        choice_list = said.get("choice_list")
        return ClauseContent(
            **{"number": "", "text": ""}
            | said
            | {
                "comparator": comparator,
                "counts": said.get("counts") or Clause.Counts.EACH.value,
                "phases": tuple(said.get("phases", ())),
                "entries": self.known.lists[choice_list.name][1] if choice_list else (),
                "parts": self._said_parts(comparator),
                "rows": self._said_rows(comparator, said.get("characteristic")),
                **{name: self._said_condition(name) for name in self.conditions},
                "spoken_of": self.known.register,
            }
        )

    def _kept(self, name: str) -> Any:
        """What is stored of a set of rows that was not sent, or that no rows can show."""
        is_kept = name not in {"parts", "rows", *self.conditions} or self.cleaned_data.get(f"keep_{name}", True)
        return getattr(self.stored, name) if self.stored is not None and is_kept else None

    def _said_parts(self, comparator: Comparator | None) -> tuple[Requirement, ...]:
        if comparator is None or not comparator.is_group:
            return ()
        if self.parts is not None and self.parts.is_bound:
            return self.parts.parts(comparator)
        return self._kept("parts") or ()

    def _said_rows(self, comparator: Comparator | None, subject: Characteristic | None) -> tuple[LimitRow, ...]:
        if self.rows is not None and self.rows.is_bound:
            return self.rows.rows(comparator, subject) if self.rows.is_valid() else ()
        return self._kept("rows") or ()

    def _said_condition(self, name: str) -> Mapping[str, Any]:
        shown = self.conditions[name]
        if shown is not None and shown.is_bound:
            return shown.condition() if shown.is_valid() else {}
        return self._kept(name) or {}

    def show_version(self, version: str) -> None:
        """Let the next saving of what is typed stand against what is stored now."""
        self.data = self.data.copy()
        self.data["version"] = version


def _initial(content: ClauseContent, club: Club) -> dict[str, Any]:
    names = ("number", "text", "characteristic", "measuring_point", "judge_reason", "judge", "gauge", "consequence")
    same = (*names, "other", "choice_list", "readings_wanted", "counts", "tolerance_style", "decision_rule")
    return {name: getattr(content, name) for name in same} | {
        "comparator": content.comparator.value if content.comparator else "",
        **{name: _shown(getattr(content, name), club.decimal_mark) for name in (*LIMIT_NAMES, "offset")},
        "factor": content.factor.replace(".", club.decimal_mark),
        "allowance": content.allowance.replace(".", club.decimal_mark),
        "choices": "\n".join(content.choices),
        "expected_answer": "yes" if content.expected_answer else "no",
        "phases": list(content.phases) or ["before"],
    }

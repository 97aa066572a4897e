"""Clauses in words: the limit of every kind in both systems of measures, and the conditions."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.dateparse import parse_date
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext, gettext_lazy, ngettext

from inspection.conformity.clauses import Comparator
from inspection.contents.selectors import LIMIT_NAMES, ClauseContent, LimitRow, Requirement, content_of
from inspection.gauges.selectors import quantity_kind_of, read_stored
from inspection.models import Characteristic, Clause
from inspection.units import DecimalMark, Quantity, both_systems, format_quantity, make_quantity

BEFORE = "before"  # a clause that names no phase is checked before the race

PHASE_WORDS = {
    "before": gettext_lazy("before the race"),
    "impound": gettext_lazy("in impound"),
    "during": gettext_lazy("during the race"),
    "after": gettext_lazy("after the race"),
}


@dataclass(frozen=True, slots=True)
class _Writer:
    """How quantities are written: in both systems or as printed only, with the club's decimal mark."""

    decimal_mark: DecimalMark
    both: bool
    spoken_of: Mapping[str, Characteristic]

    def quantity(self, quantity: Quantity) -> str:
        write: Callable[..., str] = both_systems if self.both else format_quantity
        return write(quantity, decimal_mark=self.decimal_mark)

    def limits(self, one: Requirement | LimitRow) -> dict[str, str]:
        found = {name: getattr(one, name) for name in LIMIT_NAMES}
        return {name: self.quantity(value) for name, value in found.items() if value is not None}

    def stored(self, text: str, about: Characteristic | None) -> str:
        """A value in a condition: a quantity as this club writes it, else the words themselves."""
        kind = quantity_kind_of(about) if about else None
        found = read_stored(text, kind, about.unit if about else "") if kind else None
        return self.quantity(found) if found else text


def limit_words(clause: Clause | ClauseContent, *, decimal_mark: DecimalMark = ".") -> str:
    """What is asked, in both systems of measures: "At least 19.00 mm (0.748 in)".

    "If open cockpit is yes: yes", "One of the list Motors, revision 3", "Either motor type: ...; or motor speed: ...",
    "At most 2.00 mm (0.079 in) more than the rear width"; "" for a clause that only informs.
    """
    return _limit_words(clause, decimal_mark, both=True)


def limit_words_short(clause: Clause | ClauseContent, *, decimal_mark: DecimalMark = ".") -> str:
    """The same as written and in one system, for a row of a card: "at least 19.00 mm"."""
    words = _limit_words(clause, decimal_mark, both=False)
    return uncapped(words)


def _limit_words(clause: Clause | ClauseContent, decimal_mark: DecimalMark, *, both: bool) -> str:
    content = content_of(clause) if isinstance(clause, Clause) else clause
    if content.is_struck:
        return gettext("Does not apply here")
    return capfirst(_whole_words(content, _Writer(decimal_mark, both, content.spoken_of)))


def _whole_words(one: Requirement, writer: _Writer) -> str:
    """A requirement with its tolerance and its conditions."""
    words = _with_rows(one, writer)
    if not words:
        return ""
    if one.allowance and one.comparator is not Comparator.JUDGE_DECIDES:
        shown = one.allowance.replace(".", writer.decimal_mark)
        words = gettext("%(limit)s, with a tolerance of %(allowance)s") % {"limit": words, "allowance": shown}
    if one.unless:
        condition = condition_words(one.unless, writer)
        words = gettext("%(limit)s; not if %(condition)s") % {"limit": words, "condition": condition}
    if one.applies_when:
        condition = condition_words(one.applies_when, writer)
        words = gettext("if %(condition)s: %(limit)s") % {"condition": condition, "limit": words}
    return words


def _with_rows(content: Requirement, writer: _Writer) -> str:
    words = requirement_words(content, writer)
    if not content.rows:
        return words
    said = []
    for row in content.rows:
        narrowed = _narrowed(content, row)
        condition = condition_words(row.when, writer)
        said.append(
            gettext("if %(condition)s: %(limit)s")
            % {"condition": condition, "limit": requirement_words(narrowed, writer)}
        )
    has_own = any(getattr(content, name) is not None for name in (*LIMIT_NAMES, "other")) or content.choices
    if has_own or content.choice_list:
        said.append(gettext("otherwise %(limit)s") % {"limit": words})
    return "; ".join(said)


def _narrowed(content: Requirement, row: LimitRow) -> Requirement:
    return Requirement(
        characteristic=content.characteristic,
        comparator=content.comparator,
        expected_answer=content.expected_answer,
        choices=row.choices,
        **{name: getattr(row, name) for name in LIMIT_NAMES},
    )


_SENTENCES = {
    Comparator.AT_LEAST: gettext_lazy("at least %(lower)s"),
    Comparator.AT_MOST: gettext_lazy("at most %(upper)s"),
    Comparator.BETWEEN: gettext_lazy("between %(lower)s and %(upper)s"),
    Comparator.EQUAL_WITHIN: gettext_lazy("%(nominal)s, give or take %(tolerance)s"),
}


def requirement_words(one: Requirement, writer: _Writer) -> str:
    """What is asked of one characteristic."""
    if one.comparator is None:
        return gettext(", ").join(writer.limits(one).values())
    if one.comparator.is_numeric:
        return _numeric_words(one, writer)
    if one.comparator.is_group:
        return _group_words(one, writer)
    if one.comparator is Comparator.ONE_OF:
        return _list_words(one)
    if one.comparator is Comparator.YES_NO:
        return gettext("yes") if one.expected_answer else gettext("no")
    return _supplied_words(one) if one.comparator is Comparator.AS_SUPPLIED else _judge_words(one, writer)


def _supplied_words(one: Requirement) -> str:
    listed = _list_words(one) if one.choice_list else _joined(one)
    if not listed:
        return gettext("as supplied")
    return gettext("as supplied, but for: %(changes)s") % {"changes": listed}


def _judge_words(one: Requirement, writer: _Writer) -> str:
    written = gettext(", ").join(writer.limits(one).values())
    return gettext("judge decides; written: %(limits)s") % {"limits": written} if written else gettext("judge decides")


def _numeric_words(one: Requirement, writer: _Writer) -> str:
    given = dict.fromkeys(LIMIT_NAMES, "?") | writer.limits(one)
    if one.other is not None or (one.choice_list and one.comparator is not Comparator.BETWEEN):
        compared = other_words(one, writer) if one.other else _sizes_words(one)
        given |= {"lower": compared, "upper": compared, "nominal": compared}
    if one.comparator is Comparator.EQUAL_WITHIN and one.tolerance is None:
        is_number = one.other is None and one.choice_list is None
        words = gettext("exactly %(nominal)s") % given if is_number else given["nominal"]
    else:
        words = _SENTENCES[one.comparator] % given if one.comparator else ""
    if one.readings_wanted > 1 and one.counts == "mean":
        words = gettext("%(limit)s, as the mean of %(count)s readings") % {"limit": words, "count": one.readings_wanted}
    return str(words)


def _sizes_words(one: Requirement) -> str:
    """A limit that stands in a list, such as the axle width by body model."""
    return gettext("what the list says (%(list)s)") % {"list": _list_words(one)}


def other_words(one: Requirement, writer: _Writer) -> str:
    """What it is compared with: "2 mm more than the rear width", "0.8 times the body length"."""
    name = gettext("the %(name)s") % {"name": uncapped(one.other.name)} if one.other else "?"
    if one.factor and one.factor != "1":
        factor = one.factor.replace(".", writer.decimal_mark)
        name = gettext("%(factor)s times %(name)s") % {"factor": factor, "name": name}
    if one.offset is None or not one.offset.magnitude:
        return name
    size = writer.quantity(_size_of(one.offset))
    words = (
        gettext("%(size)s more than %(name)s") if one.offset.magnitude > 0 else gettext("%(size)s less than %(name)s")
    )
    return words % {"size": size, "name": name}


def _size_of(quantity: Quantity) -> Quantity:
    if quantity.magnitude >= 0:
        return quantity
    positive = quantity.number.lstrip("-")
    return (
        Quantity(-quantity.magnitude, quantity.unit, positive, positive)
        if positive
        else make_quantity(-quantity.magnitude, quantity.unit)
    )


def _joined(one: Requirement) -> str:
    listed = one.choices or tuple(dict.fromkeys(entry.value for entry in one.entries))
    separator = "; " if any("," in choice for choice in listed) else gettext(", ")
    return separator.join(listed)


def _list_words(one: Requirement) -> str:
    if one.choice_list is not None:
        name = one.choice_list.name
        words = gettext("one of the list %(name)s") % {"name": name}
        if one.list_revision is not None:
            words = gettext("one of the list %(name)s, revision %(number)s") % {
                "name": name,
                "number": one.list_revision,
            }
        if one.choice_list.keyed_by_id:
            key = uncapped(one.choice_list.keyed_by.name)
            words = gettext("%(list)s, for its %(key)s") % {"list": words, "key": key}
        return words
    if len(one.choices) == 1:
        return one.choices[0]
    return gettext("one of: %(choices)s") % {"choices": _joined(one)}


def _group_words(one: Requirement, writer: _Writer) -> str:
    said = [part_words(part, writer) for part in one.parts]
    if one.comparator is Comparator.ANY_OF and said:
        return gettext("either %(parts)s") % {"parts": gettext("; or ").join(said)}
    return gettext("; and ").join(said)


def part_words(part: Requirement, writer: _Writer) -> str:
    """One part of a group: "motor speed at most 26000 rpm"."""
    if part.parts:
        return _group_words(part, writer)
    name = uncapped(part.characteristic.name) if part.characteristic else "?"
    return gettext("%(name)s: %(limit)s") % {"name": name, "limit": _whole_words(part, writer)}


# Conditions.


def condition_words(condition: Mapping[str, Any], writer: _Writer) -> str:
    """A condition in words: "body is Plover or Heron and it is after the race"."""
    for group, between in (("all", gettext(" and ")), ("any", gettext(" or "))):
        if group in condition:
            return between.join(condition_words(one, writer) for one in condition[group])
    return _atom_words(condition, writer) if condition else ""


_COMPARED = {
    "one_of": gettext_lazy("%(name)s is %(values)s"),
    "none_of": gettext_lazy("%(name)s is not %(values)s"),
    "at_least": gettext_lazy("%(name)s is at least %(values)s"),
    "at_most": gettext_lazy("%(name)s is at most %(values)s"),
    "above": gettext_lazy("%(name)s is above %(values)s"),
    "below": gettext_lazy("%(name)s is below %(values)s"),
    "between": gettext_lazy("%(name)s is between %(values)s"),
    "yes": gettext_lazy("%(name)s is yes"),
    "no": gettext_lazy("%(name)s is no"),
    "passed": gettext_lazy("%(name)s passed"),
    "failed": gettext_lazy("%(name)s failed"),
}
_DATED = {
    "at_least": gettext_lazy("from %(values)s"),
    "at_most": gettext_lazy("until %(values)s"),
    "above": gettext_lazy("after %(values)s"),
    "below": gettext_lazy("before %(values)s"),
    "between": gettext_lazy("between %(values)s"),
    "one_of": gettext_lazy("on %(values)s"),
    "none_of": gettext_lazy("not on %(values)s"),
}
_SUBJECTS = {
    "class": gettext_lazy("the class"),
    "scale": gettext_lazy("the scale"),
    "grade": gettext_lazy("the driver's grade"),
    "junior": gettext_lazy("the driver's being a junior"),
    "track": gettext_lazy("the track"),
}


def _atom_words(atom: Mapping[str, Any], writer: _Writer) -> str:
    about, name, how = atom.get("about", ""), str(atom.get("name", "")), str(atom.get("is", ""))
    values = [str(value) for value in atom.get("values", ())]
    if about == "phase":
        return _either([str(PHASE_WORDS.get(value, value)) for value in values], negated=how == "none_of")
    if about == "flag":
        words = gettext("the night has “%(name)s”") if how == "yes" else gettext("the night has not “%(name)s”")
        return words % {"name": name}
    if about == "junior":
        return gettext("the driver is a junior") if how == "yes" else gettext("the driver is no junior")
    if about == "restricted":
        found = writer.spoken_of.get(name)
        words = gettext("a clause limits the %(name)s") if how == "yes" else gettext("no clause limits the %(name)s")
        return words % {"name": uncapped(found.name) if found else name}
    if about == "date":
        days = [date_format(day) if (day := parse_date(value)) else value for value in values]
        return str(_DATED.get(how, "%(values)s")) % {"values": _joined_values(days, how)}
    subject = str(_SUBJECTS.get(about, name))
    if about == "clause":
        subject = gettext("clause %(number)s") % {"number": name}
    elif about == "characteristic":
        found = writer.spoken_of.get(name)
        subject = uncapped(found.name) if found else name
        values = [writer.stored(value, found) for value in values]
    return str(_COMPARED.get(how, "%(name)s")) % {"name": subject, "values": _joined_values(values, how)}


def _either(values: list[str], *, negated: bool) -> str:
    words = gettext(" or ").join(values)
    return gettext("not %(values)s") % {"values": words} if negated else words


def _joined_values(values: list[str], how: str) -> str:
    return (gettext(" and ") if how == "between" else gettext(" or ")).join(values)


def uncapped(text: str) -> str:
    """The words as they stand within a sentence: the first letter small, unless the word is all capitals."""
    return text if len(text) > 1 and text[1].isupper() else text[:1].lower() + text[1:]


# When and how often.


def phase_words(phases: Iterable[str]) -> str:
    """When a clause is checked: "Before the race, after the race"; before the race when nothing is said."""
    named = set(phases) or {BEFORE}
    return capfirst(gettext(", ").join(str(words) for phase, words in PHASE_WORDS.items() if phase in named))


def readings_words(count: int, counts: str = "each") -> str:
    """How many readings are taken and which counts; "" for one."""
    if count <= 1:
        return ""
    words = ngettext("%(count)s reading", "%(count)s readings", count) % {"count": count}
    return gettext("%(readings)s, their mean") % {"readings": words} if counts == "mean" else words

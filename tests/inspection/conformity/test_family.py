"""The effective sheet of a class, by clause number."""

import re
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.family import Origin, Placed, effective_sheet, number_order


@dataclass(frozen=True)
class Row:
    number: str
    sheet: str
    is_struck: bool = False


def general(*numbers: str) -> list[Row]:
    return [Row(number, "general") for number in numbers]


def own(*numbers: str) -> list[Row]:
    return [Row(number.removeprefix("-"), "class", number.startswith("-")) for number in numbers]


def told(parent: list[Row], child: list[Row]) -> list[tuple[str, str]]:
    return [(placed.clause.number, placed.origin.value) for placed in effective_sheet(parent, child).clauses]


def test_a_class_sheet_overrides_adds_and_strikes_by_number():
    found = effective_sheet(general("1", "2", "3"), own("2", "-3", "4"))
    assert told(general("1", "2", "3"), own("2", "-3", "4")) == [
        ("1", "inherited"), ("2", "overrides"), ("4", "added"),
    ]  # fmt: skip
    assert found.clauses[1] == Placed(Row("2", "class"), Origin.OVERRIDES, Row("2", "general"))
    assert found.struck == (Row("3", "general"),)


def test_numbers_are_compared_without_blanks_round_them():
    assert told(general("4.2 "), own(" 4.2")) == [(" 4.2", "overrides")]


def test_the_order_is_that_of_the_numbers():
    numbers = ["12a", "4.10", "A1", "4.2", "12", "4.2.1", "4", "R10", "R9"]
    assert sorted(numbers, key=number_order) == ["4", "4.2", "4.2.1", "4.10", "12", "12a", "A1", "R9", "R10"]
    assert [number for number, _ in told(general("4.10", "4.2"), own("4.3"))] == ["4.2", "4.3", "4.10"]


def test_a_number_that_is_struck_and_written_anew_is_overridden():
    found = effective_sheet(general("1"), own("-1", "1"))
    assert [placed.origin for placed in found.clauses] == [Origin.OVERRIDES]
    assert found.struck == ()


def test_without_a_general_sheet_it_is_the_sheet_without_what_it_strikes():
    assert told([], own("1", "-2")) == [("1", "added")]
    assert effective_sheet([], own("-2")).struck == ()


def test_a_general_sheet_that_strikes_hands_nothing_down():
    assert told([Row("1", "general", is_struck=True)], own("2")) == [("2", "added")]


def test_a_number_given_twice_stays_twice():
    assert told(general("1", "1"), []) == [("1", "inherited")] * 2
    assert told(general("1"), own("1", "1")) == [("1", "overrides")] * 2


def test_a_sheet_of_three_generations_is_built_from_the_top():
    first = [placed.clause for placed in effective_sheet(general("1", "2", "3"), own("2", "-3")).clauses]
    grandchild = [Row("1", "grandchild"), Row("3", "grandchild")]
    assert [(p.clause.number, p.clause.sheet, p.origin.value) for p in effective_sheet(first, grandchild).clauses] == [
        ("1", "grandchild", "overrides"), ("2", "class", "inherited"), ("3", "grandchild", "added"),
    ]  # fmt: skip


NUMBERS = st.sampled_from(["1", "2", "3", "3.1", "3.2", "3.10", "4", "10", "11"])
SHEETS = st.lists(NUMBERS, unique=True)


@given(SHEETS, SHEETS, st.sets(NUMBERS))
def test_it_equals_the_sheet_merged_by_hand(parent_numbers, child_numbers, struck):
    """By hand: a table by number, the class sheet written over it, what is struck rubbed out, read from the top."""
    parent = general(*parent_numbers)
    child = [Row(number, "class", number in struck) for number in child_numbers]
    table = dict.fromkeys(parent_numbers, "general")
    for number in child_numbers:
        if number in struck:
            table.pop(number, None)
        else:
            table[number] = "class"
    by_hand = sorted(table.items(), key=lambda item: [int(part) for part in re.split(r"\.", item[0])])
    assert [(p.clause.number, p.clause.sheet) for p in effective_sheet(parent, child).clauses] == by_hand


@pytest.mark.parametrize("number", ["", " ", ".", "§ 4", "4..2", "½", "²"])
def test_any_number_has_a_place(number):
    assert sorted([number, "1", "a"], key=number_order)

"""Figures side by side that are not the same."""

import pytest

from inspection.conformity.printed import disagree, disagreements, exact_words, figures_in, rounded_among
from inspection.units import Kind, Quantity, parse_quantity


def size(text: str, kind: Kind = Kind.LENGTH) -> Quantity:
    return parse_quantity(text, kind, default_unit=None)


def told(text: str, *limits: str) -> list[tuple[str, str]]:
    found = disagreements(text, [size(limit) for limit in limits])
    return [(one.canonical, other.canonical) for one, other in found]


# Pairs as they are printed, and whether they are the same.
PRINTED = [
    ("3.25 in (82.5 mm)", False), ("3.25 in (82.55 mm)", True), ("1.5 mm/.060 in", False), ("1.524 mm/.060 in", True),
    (".060 in = 1.52 mm", True), (".025 in (.6 mm)", False), (".025 in (.635 mm)", True), ("2.5 in = 64 mm", False),
    ("2.5 in or 63.5 mm", True), ("5 in (12.7 cm)", True), ("12.7 mm (1/2 in)", True), ("19 mm, 3/4 in", False),
    ("19.05 mm, 3/4 in", True), ("2 1/16 in (52.39 mm)", True), ("9/16 in (14.29 mm)", True),
    ("9/16 in (14.3 mm)", False), ("7/32 in (5.56 mm)", True),
    ('82.5 mm "3.25 in"', True), ("1.0 mm or 1.25 mm", True), ("62.5 mm front, 2.5 in rear", True),
    ("1 oz (28.35 g)", True), ("1 oz (28.3 g)", True), ("1 oz (28 g)", False), ('3.25" (82.5 mm)', False),
    ("between 60 mm and 2.5 in", True), ("0.4 mm, 2 in", True),
]  # fmt: skip


@pytest.mark.parametrize(("text", "agrees"), PRINTED)
def test_pairs_in_a_text(text, agrees):
    assert (told(f"At most {text} wide.") == []) is agrees


def test_the_pair_is_told_as_printed():
    assert told("Clearance 1.5 mm/.060 in.") == [("1.5 mm", "0.060 in")]


def test_a_limit_that_the_text_only_has_rounded():
    assert told("At most 82.5 mm wide.", "3.25 in") == [("3.25 in", "82.5 mm")]
    assert told("At most 82.55 mm wide.", "3.25 in") == []
    assert told("At most 3.25 in wide.", "3.25 in") == []
    assert told("At most 82.5 mm wide.", "82.5 mm") == []
    assert told("At most as wide as the gauge.", "3.25 in") == []


def test_limits_of_one_characteristic_in_two_systems():
    limits = [size(text) for text in (".060 in", "1.5 mm", "2 in")]
    assert [(one.canonical, other.canonical) for one, other in rounded_among(limits)] == [("0.060 in", "1.5 mm")]


@pytest.mark.parametrize(
    ("text", "figures"),
    [
        ("at least 2 in all", ["2 in"]),
        ("3,25 in", ["3.25 in"]),
        ("2-1/16 in", ["2 1/16 in"]),
        ("a 20,000 rpm motor at 12 V", []),
        ("class 1:24, module 0.5", []),
        ("60min 5 mmm", []),
        ("1/0 in and 3 ½ in", []),
    ],
)
def test_figures_in_a_text(text, figures):
    assert [figure.canonical for figure, _, _ in figures_in(text)] == figures


def test_kinds_and_systems_are_kept_apart():
    assert not disagree(size("82.5 mm"), size("82.6 mm"))
    assert not disagree(size("3.25 in"), size("0.27 ft"))
    assert not disagree(size("82.5 mm"), size("3.25 oz", Kind.MASS))
    assert not disagree(size("0 mm"), size("0 in"))


@pytest.mark.parametrize(
    ("one", "other", "words"),
    [("3.25 in", "82.5 mm", "82.55 mm"), (".060 in", "1.5 mm", "1.524 mm"), ("1.5 mm", ".060 in", "0.05906 in")],
)
def test_the_exact_figure(one, other, words):
    assert exact_words(size(one), size(other)) == words

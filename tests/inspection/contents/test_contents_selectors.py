"""What a clause says as plain values, and the mark by which a form knows it again."""

from inspection.conformity.clauses import Comparator
from inspection.contents import selectors
from inspection.contents.selectors import ClauseContent
from inspection.models import Characteristic, Clause
from inspection.units import Kind, parse_quantity

WIDTH = Characteristic(
    code="w", name="Width", kind="length", unit="mm", plausible_low="20 mm", plausible_high="130 mm", group="across"
)
TEETH = Characteristic(code="t", name="Pinion", kind="count")
TIRES = Characteristic(code="m", name="Tire material", kind="choice")
DRIVER = Characteristic(code="d", name="Driver figure", kind="yes_no")


def clause(**fields):
    return Clause(**{"number": "1", "text": "Words.", "measuring_point": "at the widest"} | fields)


def test_the_mark_of_a_version_changes_with_the_form_of_a_limit():
    decimal = clause(characteristic=WIDTH, comparator="at_most", upper="2.0625 in")
    fraction = clause(characteristic=WIDTH, comparator="at_most", upper="2 1/16 in")

    assert selectors.version_of(decimal) != selectors.version_of(fraction)


def test_a_content_says_itself_in_plain_values():
    content = ClauseContent(
        number="3",
        text="Width.",
        characteristic=WIDTH,
        comparator=Comparator.AT_MOST,
        upper=parse_quantity("2 1/16 in", Kind.LENGTH, default_unit=None),
        phases=("before",),
    )

    assert selectors.plain_content(content) == {
        "number": "3",
        "text": "Width.",
        "characteristic": "w",
        "comparator": "at_most",
        "upper": "2 1/16 in",
        "phases": ["before"],
    }

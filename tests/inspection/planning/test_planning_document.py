"""A bench document is read strictly, and what is wrong is said with its place."""

from fractions import Fraction

import pytest

from inspection.planning.document import read_bench
from inspection.planning.errors import MESSAGES, PlanningCode, PlanningError
from inspection.planning.told import LENGTH_WITHIN
from tests.inspection.planning.benches import document, with_value, without


def test_every_refusal_has_its_words():
    assert set(MESSAGES) == set(PlanningCode)


def test_an_empty_document_is_an_empty_bench():
    bench = read_bench({})
    assert not bench.parts
    assert bench.precision.length == LENGTH_WITHIN


def test_sizes_are_exact_and_know_how_far_they_may_be_off():
    bench = read_bench(with_value("chassis.sizes.center_distance", "12.05 mm ± 0.02 mm"))
    size = bench.chassis.size("center_distance")
    assert (size.value, size.within) == (Fraction("12.05"), Fraction("0.02"))
    assert read_bench(with_value("chassis.sizes.wheelbase", "3 1/8 in")).chassis.base("wheelbase") == Fraction("79.375")


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("parts.pinion.sizes.teeth", "eleven", PlanningCode.UNREADABLE),
        ("parts.pinion.sizes.teeth", 11, PlanningCode.NOT_TEXT),
        ("parts.pinion.sizes.wings", "2", PlanningCode.UNKNOWN_KEY),
        ("parts.pinion.kind", "tire", PlanningCode.KIND_DOES_NOT_FIT),
        ("parts.pinion.kind", "cog", PlanningCode.NOT_ONE_OF),
        ("parts.pinion.stock", -1, PlanningCode.NOT_A_NUMBER),
        ("parts.wing", {}, PlanningCode.UNKNOWN_KEY),
        ("chassis.sizes.layout", "upside down", PlanningCode.NOT_ONE_OF),
        ("chassis.sizes.wheelbase", "-80 mm", PlanningCode.UNREADABLE),
        ("chassis.sizes.wheelbase", "80 g", PlanningCode.UNREADABLE),
        ("chassis.runs_free", [{"pinion": {"teeth": "9"}}], PlanningCode.LACKS),
        ("chassis.zones", [{"name": "nose", "begin": "9 mm", "end": "3 mm"}], PlanningCode.IMPOSSIBLE),
        ("spacers.rear_left_inner", {}, PlanningCode.NOT_A_LIST),
        ("spacers.rear_left_inner", [{}], PlanningCode.LACKS),
        ("spacers.rear_left_inner", [{"thickness": "1 mm"}] * 21, PlanningCode.TOO_MANY),
        ("track.sections", [{"radius": "1 m", "angle": "90", "turn": "up"}], PlanningCode.NOT_ONE_OF),
        ("track.sections", [{"length": "0 m"}], PlanningCode.IMPOSSIBLE),
        ("ballast", [{"mass": "2 g"}], PlanningCode.LACKS),
        ("mounting", [], PlanningCode.NOT_AN_OBJECT),
    ],
)
def test_what_is_wrong_is_named_with_its_place(path, value, code):
    with pytest.raises(PlanningError) as refused:
        read_bench(with_value(path, value))
    assert refused.value.code is code
    assert path.split(".")[0] in refused.value.params["path"]


def test_what_is_null_or_empty_is_not_told():
    bench = read_bench(with_value("parts.rear_tires.sizes.width", ""))
    assert "width" not in bench.parts["rear_tires"].sizes
    assert read_bench(with_value("parts.rear_tires", None)).parts.get("rear_tires") is None
    assert read_bench(without("parts.rear_tires.sizes.width")).parts["rear_tires"].sizes.size("width") is None


def test_a_document_that_is_no_object_is_refused():
    for plain in ([], "text", 3):
        with pytest.raises(PlanningError):
            read_bench(plain)
    assert read_bench(document()).name == "Our sidewinder"

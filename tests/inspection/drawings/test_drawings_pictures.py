"""Where a car is measured, drawn by our own hand."""

import pytest
from django.template.loader import render_to_string

from inspection.drawings.pictures import DRAWINGS, drawing_of
from inspection.gauges.selectors import built_in_register


@pytest.mark.parametrize("name", DRAWINGS)
def test_each_drawing_marks_a_distance_inside_its_picture(name):
    drawing = DRAWINGS[name]

    assert (drawing.x1, drawing.y1) != (drawing.x2, drawing.y2)
    assert {drawing.x1, drawing.x2} <= set(range(241))
    assert {drawing.y1, drawing.y2} <= set(range(117))
    svg = render_to_string("inspection/drawings/_drawing.html", {"drawing": drawing, "ink": "#000"})
    assert svg.count(f'x1="{drawing.x1}" y1="{drawing.y1}" x2="{drawing.x2}" y2="{drawing.y2}"') == 1
    assert str(drawing.words) in svg
    assert "style=" not in svg


def test_what_is_built_in_names_drawings_that_there_are():
    named = {one["drawing"] for one in built_in_register()["characteristics"] if one.get("drawing")}

    assert named
    assert all(drawing_of(name) for name in named)
    assert drawing_of("no such drawing") is None

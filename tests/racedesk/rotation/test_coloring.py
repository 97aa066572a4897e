from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.coloring import color_edges, largest_degree

EDGES = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 7)), unique=True, max_size=70)


@given(edges=EDGES)
def test_as_many_colors_as_the_largest_degree_are_enough(edges):
    # König 1916.
    colors = color_edges(edges)

    assert len(colors) == len(edges)
    assert all(0 <= color < largest_degree(edges) for color in colors)
    assert len({(a, color) for (a, _), color in zip(edges, colors, strict=True)}) == len(edges)
    assert len({(b, color) for (_, b), color in zip(edges, colors, strict=True)}) == len(edges)


@given(edges=EDGES)
def test_the_same_edges_get_the_same_colors(edges):
    assert color_edges(edges) == color_edges(list(edges))


def test_the_largest_degree_is_counted_at_both_ends():
    assert largest_degree([]) == 0
    assert largest_degree([("a", 1), ("b", 1), ("c", 1), ("a", 2)]) == 3
    assert largest_degree([("a", 1), ("a", 2)]) == 2

"""Edge coloring: give each of a driver's runs a slot of its own where the other side has one slot a run, too.

The edges of a bipartite graph can always be colored with as many colors as the largest degree, no two at one
end alike (König 1916). Seen from drivers and heats the colors are lanes; from drivers and lanes, heats.
"""

from collections.abc import Hashable, Sequence
from typing import TypeVar

A = TypeVar("A", bound=Hashable)
B = TypeVar("B", bound=Hashable)


def largest_degree(edges: Sequence[tuple[A, B]]) -> int:
    """How many edges meet at the busiest end: the least number of colors. 0 without edges."""
    left: dict[A, int] = {}
    right: dict[B, int] = {}
    for a, b in edges:
        left[a] = left.get(a, 0) + 1
        right[b] = right.get(b, 0) + 1
    return max([*left.values(), *right.values()], default=0)


def color_edges(edges: Sequence[tuple[A, B]]) -> list[int]:
    """A color from 0 on for each edge, in their order: as few as `largest_degree`, and none twice at one end.

    An edge takes a color free at both ends; where there is none, the path that changes between a color free at
    one end and one free at the other is turned over first. The same edges give the same colors.
    """
    colors = range(largest_degree(edges))
    at_left: dict[A, dict[int, int]] = {a: {} for a, _ in edges}
    at_right: dict[B, dict[int, int]] = {b: {} for _, b in edges}
    result = [-1] * len(edges)

    def turn_over(start: B, free_left: int, free_right: int) -> None:
        """Swap the two colors along the path that leaves `start` by the color free at the left end."""
        path: list[int] = []
        at: dict[int, int] = at_right[start]
        color, goes_left = free_left, True
        while (edge := at.get(color)) is not None:
            path.append(edge)
            a, b = edges[edge]
            at = at_left[a] if goes_left else at_right[b]
            color, goes_left = (free_right if color == free_left else free_left), not goes_left
        for edge in path:
            a, b = edges[edge]
            del at_left[a][result[edge]], at_right[b][result[edge]]
            result[edge] = free_right if result[edge] == free_left else free_left
        for edge in path:
            a, b = edges[edge]
            at_left[a][result[edge]] = at_right[b][result[edge]] = edge

    for number, (a, b) in enumerate(edges):
        free_left = next(color for color in colors if color not in at_left[a])
        free_right = next(color for color in colors if color not in at_right[b])
        both = next((color for color in colors if color not in at_left[a] and color not in at_right[b]), None)
        if both is None:
            turn_over(b, free_left, free_right)
            both = free_left
        result[number] = both
        at_left[a][both] = at_right[b][both] = number
    return result

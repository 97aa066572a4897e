"""The order in which a driver works through the lanes."""

from collections.abc import Sequence

from racedesk.rotation.errors import DrawError


def odd_up_even_down(lanes: int) -> tuple[int, ...]:
    """The order most clubs call aloud: odd lanes up, even lanes down (1 3 5 6 4 2 on six lanes).

    No move is longer than two lanes and, in a full group, every pair of drivers is side by side exactly twice:
    it is the zig-zag of E. J. Williams, "Experimental designs balanced for the estimation of residual effects
    of treatments", Australian Journal of Scientific Research A2 (1949). Lanes are numbered from 1.
    """
    up = tuple(range(1, lanes + 1, 2))
    down = tuple(range(lanes - lanes % 2, 0, -2))
    return up + down


def checked_lane_order(lane_order: Sequence[int], *, lanes: int) -> tuple[int, ...]:
    """A club's own order, each lane from 1 to `lanes` named exactly once.

    Raises DrawError("bad_lane_order") otherwise.
    """
    order = tuple(lane_order)
    if sorted(order) != list(range(1, lanes + 1)):
        written = " ".join(str(lane) for lane in order) or "nothing"
        raise DrawError(
            "bad_lane_order",
            f"A lane order for {lanes} lanes names each lane from 1 to {lanes} once; this one is {written}.",
            lane_order=order,
            lanes=lanes,
        )
    return order

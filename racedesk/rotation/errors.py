"""What can be wrong with a request for a draw or a roster."""


class RotationError(ValueError):
    """Base of this package's errors: `code` never changes, `params` says what was asked, str() is English."""

    def __init__(self, code: str, message: str, **params: object) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.params = params


class DrawError(RotationError):
    """A draw that cannot be made.

    Codes: too_few_drivers, too_many_drivers, too_few_lanes, too_many_lanes, bad_lane_order, bad_seed, bad_steps,
    bad_rounds, bad_lanes_each, bad_empty, bad_groups, bad_wish.
    """


class RosterError(RotationError):
    """A marshal roster that cannot be made.

    Codes: bad_posts, bad_driver.
    """


class RedrawError(RotationError):
    """A night whose heats left cannot be drawn again.

    Codes: bad_lanes, bad_drivers, bad_heat, unknown_driver, unknown_lane, unknown_heat, bad_pair, run_twice,
    bad_steps, bad_heats, bad_rounds.
    """


class StateFileError(RotationError):
    """A file that tells no state of a night.

    Codes: not_json, bad_state. params: where, the place in the file as `heats_run[2][0]`, for bad_state.
    """

"""The typed errors of the timing engine: a stable code, parameters, and an English explanation."""


class TimingError(ValueError):
    """Base of every refusal of this package.

    code: stable, for tests and for translation at the edge. params: the values the explanation names.
    str() gives an English explanation.
    """

    def __init__(self, code: str, explanation: str, **params: object) -> None:
        super().__init__(explanation)
        self.code = code
        self.explanation = explanation
        self.params = params


class LapsError(TimingError):
    """A lap count that cannot be, or that was written so that it cannot be understood."""


class ClockError(TimingError):
    """A heat event that does not fit what has happened in the heat so far."""

"""The typed errors of the forecast engine: a stable code, parameters, and an English explanation."""


class ForecastError(ValueError):
    """A timetable that cannot be worked out.

    code: stable, for tests and for translation at the edge. params: the values the explanation names.
    str() gives an English explanation.
    """

    def __init__(self, code: str, explanation: str, **params: object) -> None:
        super().__init__(explanation)
        self.code = code
        self.explanation = explanation
        self.params = params

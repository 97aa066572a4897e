"""The typed errors of the scoring engine: a stable code, parameters, and an English explanation."""


class ScoringError(ValueError):
    """A field, table or season that cannot be scored as stated.

    code: stable, for tests and for translation at the edge. params: the values the explanation names.
    str() gives an English explanation.
    """

    def __init__(self, code: str, explanation: str, **params: object) -> None:
        super().__init__(explanation)
        self.code = code
        self.explanation = explanation
        self.params = params

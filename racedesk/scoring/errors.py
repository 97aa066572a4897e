"""The typed errors of the scoring engine: a stable code, parameters, and an English explanation."""

from collections.abc import Iterable
from decimal import Decimal


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


def refuse_no_number(points: Iterable[Decimal]) -> None:
    """Raises ScoringError "bad_points" if any of the points is infinite or not a number."""
    for each in points:
        if not each.is_finite():
            raise ScoringError("bad_points", f"{each} is not a number of points.", points=each)

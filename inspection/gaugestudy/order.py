"""In which order a study is measured: by lot, from a seed, so that nobody meets a part again with its reading in mind.

The generator is SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014) and the
shuffle that of Fisher and Yates, from the last place down; a number below n is drawn without favor.
"""

from dataclasses import dataclass
from typing import Final

from inspection.gaugestudy.errors import StudyCode, StudyError

_WORD: Final = (1 << 64) - 1


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """One reading to be taken; all three count from 0."""

    inspector: int
    part: int
    trial: int


def measuring_order(*, seed: int, parts: int, inspectors: int, trials: int) -> tuple[Place, ...]:
    """Every reading of a study once: trial by trial, in it inspector by inspector, in it the parts by lot.

    So everybody has measured everything once before anybody measures anything again. Where one inspector follows on
    themself, the part in hand does not come again at once. The same seed gives the same order on every machine.
    parts, inspectors, trials: 1 or more. Raises StudyError bad_seed, too_few_parts, too_few_inspectors, too_few_trials.
    """
    if seed < 0:
        raise StudyError(StudyCode.BAD_SEED)
    for count, code in (
        (parts, StudyCode.TOO_FEW_PARTS),
        (inspectors, StudyCode.TOO_FEW_INSPECTORS),
        (trials, StudyCode.TOO_FEW_TRIALS),
    ):
        if count < 1:
            raise StudyError(code)
    lot = _Lot(seed)
    order: list[Place] = []
    for trial in range(trials):
        for inspector in lot.shuffled(inspectors):
            drawn = lot.shuffled(parts)
            last = order[-1] if order else None
            if last is not None and parts > 1 and (last.inspector, last.part) == (inspector, drawn[0]):
                drawn[0], drawn[-1] = drawn[-1], drawn[0]
            order += [Place(inspector, part, trial) for part in drawn]
    return tuple(order)


class _Lot:
    """A stream of numbers from a seed; its low 64 bits count."""

    __slots__ = ("_state",)

    def __init__(self, seed: int) -> None:
        self._state = seed & _WORD

    def _word(self) -> int:
        self._state = (self._state + 0x9E3779B97F4A7C15) & _WORD
        z = self._state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _WORD
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _WORD
        return z ^ (z >> 31)

    def _below(self, n: int) -> int:
        limit = (_WORD + 1) - (_WORD + 1) % n
        while (word := self._word()) >= limit:
            pass
        return word % n

    def shuffled(self, count: int) -> list[int]:
        """0 to count - 1, every order equally likely."""
        result = list(range(count))
        for i in range(count - 1, 0, -1):
            j = self._below(i + 1)
            result[i], result[j] = result[j], result[i]
        return result

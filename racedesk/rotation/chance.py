"""The lot: a small generator of our own, so that a seed gives the same draw on any machine and version.

The generator is SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
All arithmetic is on 64-bit unsigned integers, everything modulo 2**64:

    state = state + 0x9E3779B97F4A7C15
    z = state
    z = (z xor (z >> 30)) * 0xBF58476D1CE4E5B9
    z = (z xor (z >> 27)) * 0x94D049BB133111EB
    result = z xor (z >> 31)

A number below n is result modulo n, where results at or above the largest multiple of n are thrown away, so
that no number is likelier than another. A shuffle is that of Fisher and Yates from the last place down: for
i = last ... 1, swap places i and a number below i + 1.
"""

from collections.abc import Iterable
from typing import Final, TypeVar

T = TypeVar("T")

_WORD: Final = (1 << 64) - 1
_INCREMENT: Final = 0x9E3779B97F4A7C15
_FIRST_FACTOR: Final = 0xBF58476D1CE4E5B9
_SECOND_FACTOR: Final = 0x94D049BB133111EB


class Chance:
    """A stream of numbers from a seed; only the seed's low 64 bits count."""

    __slots__ = ("_state",)

    def __init__(self, seed: int) -> None:
        self._state = seed & _WORD

    def word(self) -> int:
        """The next number from 0 to 2**64 - 1, each equally likely."""
        self._state = (self._state + _INCREMENT) & _WORD
        z = self._state
        z = ((z ^ (z >> 30)) * _FIRST_FACTOR) & _WORD
        z = ((z ^ (z >> 27)) * _SECOND_FACTOR) & _WORD
        return z ^ (z >> 31)

    def below(self, n: int) -> int:
        """The next number from 0 to n - 1, each equally likely.

        n: 1 to 2**64. Raises ValueError outside that.
        """
        if not 1 <= n <= _WORD + 1:
            raise ValueError(f"no number lies below {n}")
        limit = (_WORD + 1) - (_WORD + 1) % n
        while (word := self.word()) >= limit:
            pass
        return word % n

    def shuffled(self, items: Iterable[T]) -> list[T]:
        """The items in an order by lot, every order equally likely; the items given stay as they were."""
        result = list(items)
        for i in range(len(result) - 1, 0, -1):
            j = self.below(i + 1)
            result[i], result[j] = result[j], result[i]
        return result


def shuffled(seed: int, items: Iterable[T]) -> list[T]:
    """The items in the order that this seed gives: the same on every machine, for ever."""
    return Chance(seed).shuffled(items)

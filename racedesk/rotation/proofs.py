"""Where a draw as even as the floor/ceil bound cannot exist at all, shown with exact arithmetic.

Write the draw as the matrix N of drivers by heats, 1 where a driver is in a heat. N is square and N N' holds the
meetings: k on the diagonal and, at the bound, q or q + 1 elsewhere, with k (k - 1) = q (v - 1) + r. Where r is
0, 1 or v - 2 that matrix is known up to the names of the drivers, and N shows it to be congruent to the unit
matrix over the rational numbers: its determinant is a square and its Hasse invariants are all 1. Where that
fails there is no such draw (Bruck and Ryser 1949, Chowla and Ryser 1950 for r = 0; Bose and Connor 1952 for
r = 1 and r = v - 2).
"""

from enum import StrEnum
from fractions import Fraction
from math import isqrt


class Argument(StrEnum):
    """Why the bound cannot be met."""

    ALL_EQUAL = "bruck-ryser-chowla"
    """Every pair would have to meet equally often, as in a symmetric design that does not exist."""
    ALL_BUT_PAIRS = "bose-connor"
    """All pairs but one for each driver would have to meet equally often, in a design that does not exist."""


def unreachable_by(*, drivers: int, lanes: int) -> Argument | None:
    """The argument by which no draw meets the floor/ceil bound; None where none of these applies.

    drivers: 3 or more. lanes: 2 to drivers - 1.
    """
    _, above = divmod(lanes * (lanes - 1), drivers - 1)
    if above not in {0, 1, drivers - 2}:
        return None
    meetings = meetings_at_bound(drivers=drivers, lanes=lanes)
    slack = lanes - meetings[0][-1]
    # Its eigenvalues are k^2, slack - 1 and slack + 1 with pairs, k^2 and slack without: with a 0 it says nothing.
    if slack == (1 if above else 0) or congruent_to_unit(meetings):
        return None
    return Argument.ALL_EQUAL if above == 0 else Argument.ALL_BUT_PAIRS


def meetings_at_bound(*, drivers: int, lanes: int) -> list[list[int]]:
    """The table of meetings at the bound, k on its diagonal, where r is 0, 1 or v - 2 (see the module)."""
    mean, above = divmod(lanes * (lanes - 1), drivers - 1)
    usual, paired = (mean, mean + 1) if above < 2 else (mean + 1, mean)
    return [
        [lanes if a == b else paired if above and a ^ 1 == b else usual for b in range(drivers)] for a in range(drivers)
    ]


def congruent_to_unit(matrix: list[list[int]]) -> bool:
    """Is this symmetric, positive definite matrix congruent to the unit matrix over the rational numbers?

    By Hasse and Minkowski that is so exactly if its determinant is a square and its Hasse invariant is 1 at 2
    and at each odd prime that divides the determinant (at the others it is 1 in any case).
    """
    pivots = _pivots(matrix)
    determinant = Fraction(1)
    for pivot in pivots:
        determinant *= pivot
    if determinant.denominator != 1 or determinant <= 0:
        raise ValueError("the matrix is not whole, symmetric and positive definite")
    whole = determinant.numerator
    if isqrt(whole) ** 2 != whole:
        return False
    return all(_hasse(pivots, prime) == 1 for prime in {2, *_prime_factors(whole)})


def _pivots(matrix: list[list[int]]) -> list[Fraction]:
    """The diagonal form by symmetric elimination."""
    rows = [[Fraction(entry) for entry in row] for row in matrix]
    pivots = []
    for step, row in enumerate(rows):
        pivot = row[step]
        pivots.append(pivot)
        for below in rows[step + 1 :]:
            factor = below[step] / pivot
            if factor:
                for column in range(step, len(row)):
                    below[column] -= factor * row[column]
    return pivots


def _hasse(pivots: list[Fraction], prime: int) -> int:
    """The product of the Hilbert symbols of all pairs of pivots."""
    sign, product = 1, Fraction(1)
    for pivot in pivots:
        sign *= hilbert(product, pivot, prime)
        product *= pivot
    return sign


def hilbert(a: Fraction, b: Fraction, prime: int) -> int:
    """The Hilbert symbol (a, b) at a prime: 1 where a x^2 + b y^2 = z^2 can be solved there, else -1.

    a, b: not 0. Serre, A Course in Arithmetic, chapter III, theorem 1.
    """
    power_a, unit_a = _split(a, prime)
    power_b, unit_b = _split(b, prime)
    if prime == 2:
        exponent = (unit_a - 1) // 2 * ((unit_b - 1) // 2)
        exponent += power_a * ((unit_b * unit_b - 1) // 8) + power_b * ((unit_a * unit_a - 1) // 8)
        return -1 if exponent % 2 else 1
    sign = -1 if power_a * power_b * ((prime - 1) // 2) % 2 else 1
    if power_b % 2:
        sign *= _legendre(unit_a, prime)
    if power_a % 2:
        sign *= _legendre(unit_b, prime)
    return sign


def _split(number: Fraction, prime: int) -> tuple[int, int]:
    """The power of the prime in the number times a square, and what is left as a whole number."""
    whole = number.numerator * number.denominator
    power = 0
    while whole % prime == 0:
        whole //= prime
        power += 1
    return power, whole


def _legendre(number: int, prime: int) -> int:
    return 1 if pow(number, (prime - 1) // 2, prime) == 1 else -1


def _prime_factors(number: int) -> set[int]:
    factors, candidate = set(), 2
    while number > 1:
        if number % candidate == 0:
            factors.add(candidate)
            number //= candidate
        elif candidate * candidate > number:
            factors.add(number)
            break
        else:
            candidate += 1
    return factors

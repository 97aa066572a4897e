from fractions import Fraction
from math import isqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.proofs import Argument, congruent_to_unit, hilbert, unreachable_by

NUMBERS = st.integers(-60, 60).filter(bool)


@pytest.mark.parametrize(("drivers", "lanes"), [(22, 7), (29, 8), (43, 7), (46, 10), (67, 12)])
def test_symmetric_designs_that_do_not_exist_are_excluded(drivers, lanes):
    # Bruck and Ryser 1949, Chowla and Ryser 1950; (43, 7, 1) is the projective plane of order 6.
    assert unreachable_by(drivers=drivers, lanes=lanes) is Argument.ALL_EQUAL


@pytest.mark.parametrize(("drivers", "lanes"), [(44, 7), (58, 8), (22, 5), (20, 8)])
def test_designs_in_which_all_but_one_opponent_are_met_equally_often_are_excluded(drivers, lanes):
    # Bose and Connor 1952; the tables of symmetric configurations know no 44_7, 58_8 or 22_5.
    assert unreachable_by(drivers=drivers, lanes=lanes) is Argument.ALL_BUT_PAIRS


@pytest.mark.parametrize(
    ("drivers", "lanes"),
    [(7, 3), (13, 4), (21, 5), (31, 6), (57, 8), (16, 6), (25, 9), (31, 10), (37, 9), (11, 5), (15, 7), (19, 9)],
)
def test_symmetric_designs_that_exist_are_not_excluded(drivers, lanes):
    assert unreachable_by(drivers=drivers, lanes=lanes) is None


def test_no_cyclic_rotation_at_the_bound_is_said_not_to_exist():
    # Sizes at the bound by a base block counted elsewhere: a proof against them would be wrong.
    for drivers, lanes in [(8, 4), (12, 4), (10, 6), (24, 8), (40, 8), (14, 4), (22, 4), (6, 3), (8, 3), (32, 8)]:
        assert unreachable_by(drivers=drivers, lanes=lanes) is None


def is_solvable_modulo(a, b, modulus):
    return any(
        (a * x * x + b * y * y - z * z) % modulus == 0 and any(n % p for n in (x, y, z) for p in [PRIME_OF[modulus]])
        for x in range(modulus)
        for y in range(modulus)
        for z in range(modulus)
    )


PRIME_OF = {27: 3, 32: 2}


@pytest.mark.parametrize(("prime", "modulus"), [(3, 27), (2, 32)])
@pytest.mark.parametrize(("a", "b"), [(1, 2), (-1, -1), (2, 3), (3, 3), (5, 6), (-3, 6), (6, 10), (3, -1)])
def test_the_hilbert_symbol_says_whether_the_equation_has_a_solution(a, b, prime, modulus):
    expected = 1 if is_solvable_modulo(a, b, modulus) else -1

    assert hilbert(Fraction(a), Fraction(b), prime) == expected


@given(a=NUMBERS, b=NUMBERS)
def test_the_product_of_all_hilbert_symbols_is_one(a, b):
    # Hilbert's reciprocity; at infinity the symbol is -1 where both are negative.
    primes = {p for p in range(2, 61) if all(p % q for q in range(2, isqrt(p) + 1)) and (p == 2 or a * b % p == 0)}
    product = -1 if a < 0 and b < 0 else 1
    for prime in primes:
        product *= hilbert(Fraction(a), Fraction(b), prime)

    assert product == 1


@given(rows=st.lists(st.lists(st.integers(-3, 3), min_size=4, max_size=4), min_size=4, max_size=4))
def test_what_is_congruent_by_its_making_is_found_congruent(rows):
    matrix = [[sum(x * y for x, y in zip(one, other, strict=True)) for other in rows] for one in rows]
    try:
        answer = congruent_to_unit(matrix)
    except (ValueError, ZeroDivisionError):
        return  # singular
    assert answer


def test_what_is_not_congruent_is_found_so():
    assert not congruent_to_unit([[2, 0], [0, 1]])
    assert not congruent_to_unit([[3, 0], [0, 3]])
    assert congruent_to_unit([[2, 0], [0, 2]])

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.chance import Chance, shuffled

# Reference output of SplitMix64 as published with S. Vigna's reference code and its many ports.
PUBLISHED = {
    1234567: [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ],
    0: [0xE220A8397B1DCDAF, 0x6E789E6AA1B965F4, 0x06C45D188009454F, 0xF88BB8A8724C81EC],
}


@pytest.mark.parametrize("seed", PUBLISHED)
def test_the_generator_gives_the_published_numbers(seed):
    chance = Chance(seed)

    assert [chance.word() for _ in PUBLISHED[seed]] == PUBLISHED[seed]


def test_only_the_low_64_bits_of_a_seed_count():
    assert Chance(7 + 2**64).word() == Chance(7).word()
    assert Chance(-1).word() == Chance(2**64 - 1).word()


@given(seed=st.integers(0, 2**63 - 1), n=st.integers(1, 2**64))
def test_a_number_below_n_lies_below_n(seed, n):
    assert 0 <= Chance(seed).below(n) < n


@pytest.mark.parametrize("n", [0, -3, 2**64 + 1])
def test_there_is_no_number_below_nothing_or_beyond_64_bits(n):
    with pytest.raises(ValueError, match="below"):
        Chance(1).below(n)


def test_numbers_that_would_favor_some_results_are_thrown_away():
    n = 2**63 + 1
    words = Chance(99)
    kept = [word for word in (words.word() for _ in range(200)) if word < n]
    chance = Chance(99)

    assert 50 < len(kept) < 150
    assert [chance.below(n) for _ in kept] == kept


def test_every_order_of_three_comes_up_about_equally_often():
    chance = Chance(2024)
    counts: dict[tuple[str, ...], int] = {}
    for _ in range(6_000):
        order = tuple(chance.shuffled("abc"))
        counts[order] = counts.get(order, 0) + 1

    assert len(counts) == 6
    assert all(850 < times < 1_150 for times in counts.values())


def test_a_seed_gives_the_same_order_for_ever():
    assert shuffled(1, range(1, 11)) == [5, 3, 9, 2, 10, 4, 1, 7, 8, 6]


@given(seed=st.integers(0, 2**63 - 1), items=st.lists(st.integers()))
def test_a_shuffle_loses_nothing_and_leaves_the_items_alone(seed, items):
    before = list(items)

    assert sorted(shuffled(seed, items)) == sorted(before)
    assert items == before

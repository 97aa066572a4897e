from itertools import permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation import interleave as interleaves
from racedesk.rotation.draw import draw
from racedesk.rotation.interleave import interleave, runs_on_end

HEATS = st.lists(st.frozensets(st.integers(1, 6), max_size=3), max_size=4)
CLASSES = st.lists(HEATS, max_size=3)


def is_an_order(order, classes):
    """Every heat once, each class in its own order."""
    for number, heats in enumerate(classes):
        if [heat for which, heat in order if which == number] != list(range(len(heats))):
            return False
    return len(order) == sum(map(len, classes))


@settings(max_examples=60)
@given(CLASSES, st.frozensets(st.integers(1, 6), max_size=3))
def test_no_way_of_taking_them_in_turn_has_fewer_runs_on_end(classes, before):
    order = interleave(classes, before=before)

    assert is_an_order(order, classes)
    turns = [number for number, heats in enumerate(classes) for _ in heats]
    if len(turns) <= 7:
        others = []
        for way in set(permutations(turns)):
            over = [0] * len(classes)
            heats = []
            for number in way:
                heats.append((number, over[number]))
                over[number] += 1
            others.append(runs_on_end(heats, classes, before=before))
        assert runs_on_end(order, classes, before=before) == min(others)


@given(CLASSES)
def test_without_looking_ahead_it_is_an_order_too(classes):
    assert is_an_order(interleaves._one_by_one(classes, frozenset()), classes)


def test_two_classes_with_nobody_in_common_keep_pace():
    order = interleave([[frozenset({1})] * 4, [frozenset({2})] * 4])

    assert [number for number, _heat in order] in ([0, 1] * 4, [1, 0] * 4)


def test_two_classes_that_share_three_drivers():
    one = draw(drivers=12, lanes=4, seed=1)
    two = draw(drivers=10, lanes=4, seed=2)
    classes = [
        [frozenset(heat) for heat in one.heats],
        # Drivers 1 to 3 of the second class are 1 to 3 of the first as well.
        [frozenset(who if who <= 3 else who + 100 for who in heat) for heat in two.heats],
    ]
    after_another = [(0, heat) for heat in range(12)] + [(1, heat) for heat in range(10)]

    assert runs_on_end(interleave(classes), classes) < runs_on_end(after_another, classes)


def test_very_many_heats_are_ordered_all_the_same(monkeypatch):
    monkeypatch.setattr(interleaves, "MOST_STATES", 10)
    classes = [[frozenset({1, 2})] * 3, [frozenset({1})] * 3]

    assert not interleaves.is_exact(classes)
    assert is_an_order(interleave(classes), classes)


def test_no_heats_make_no_order():
    assert interleave([]) == interleave([[], []]) == []

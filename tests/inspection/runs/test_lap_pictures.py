from fractions import Fraction

from inspection.runs.pictures import LEFT, WIDTH, draw_laps


def laps(text):
    return [Fraction(lap) for lap in text.split()]


def test_laps_stand_to_scale_on_one_axis():
    picture = draw_laps([("A", laps("6.0 6.2"), ()), ("B", laps("6.1 6.4"), ())])
    (first, second), (third, fourth) = (row.dots for row in picture.rows)

    assert second.x - first.x == 2 * (third.x - first.x)
    assert fourth.x - second.x == second.x - first.x
    assert [words for _x, words in picture.ticks] == ["6.0", "6.1", "6.2", "6.3", "6.4"]


def test_the_axis_holds_every_lap():
    picture = draw_laps([("", laps("5.987 6.031 9.44"), (2,))])

    assert all(LEFT <= dot.x <= WIDTH - LEFT for row in picture.rows for dot in row.dots)
    assert [dot.is_slow for dot in picture.rows[0].dots] == [False, False, True]


def test_one_lap_and_laps_alike_are_drawn():
    for times in ("6.1", "6.1 6.1 6.1", "6", "0.5 3599"):
        picture = draw_laps([("", laps(times), ())])
        assert 2 <= len(picture.ticks) <= 12
        assert all(0 <= dot.x <= WIDTH for dot in picture.rows[0].dots)

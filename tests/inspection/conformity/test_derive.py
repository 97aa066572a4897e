"""Worked-out characteristics: exact values, and variances by first-order propagation."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.assess import Measurement
from inspection.conformity.conditions import Lacking, Missing
from inspection.conformity.derive import PI, Known, work_out
from inspection.conformity.subjects import CharacteristicKind, Derivation, DerivationForm, Subject, settled_kind
from inspection.units import Kind

K = CharacteristicKind


def subject(code: str, kind: CharacteristicKind, form: DerivationForm | None = None, *of: str, value: str = ""):
    return Subject(code=code, name=code, kind=kind, derivation=Derivation(form, of, value) if form else None)


REGISTER = {
    one.code: one
    for one in [
        subject("tire", K.LENGTH),
        subject("front", K.LENGTH),
        subject("rear", K.LENGTH),
        subject("pinion", K.COUNT),
        subject("gear", K.COUNT),
        subject("front-weight", K.MASS),
        subject("rear-weight", K.MASS),
        subject("pull", K.MAGNETIC_PULL),
        subject("ratio", K.RATIO, DerivationForm.RATIO, "gear", "pinion"),
        subject("rollout", K.LENGTH, DerivationForm.ROLLOUT, "tire", "pinion", "gear"),
        subject("weight", K.MASS, DerivationForm.SUM, "front-weight", "rear-weight"),
        subject("rear-share", K.RATIO, DerivationForm.SHARE, "rear-weight", "front-weight"),
        subject("step", K.LENGTH, DerivationForm.DIFFERENCE, "rear", "front"),
        subject("travel", K.LENGTH, DerivationForm.PRODUCT, "rollout", "ratio"),
        subject("supply", K.CURRENT, DerivationForm.TRACK, value="supply_a"),
        subject("spacing", K.LENGTH, DerivationForm.TRACK, value="lane_spacing_mm"),
        subject("room", K.LENGTH, DerivationForm.DIFFERENCE, "spacing", "rear"),
        subject("egg", K.LENGTH, DerivationForm.SUM, "hen", "front"),
        subject("hen", K.LENGTH, DerivationForm.SUM, "egg", "front"),
        subject("mixed", K.LENGTH, DerivationForm.SUM, "front", "front-weight"),
        subject("wrong", K.MASS, DerivationForm.SUM, "front", "rear"),
        subject("lost", K.LENGTH, DerivationForm.SUM, "front", "nowhere"),
    ]
}
U2 = Fraction("0.0001")


def observed(**found: Measurement):
    by_code = {code.replace("_", "-"): one for code, one in found.items()}

    def look(code: str):
        return by_code.get(code) or (Missing(Lacking.CHARACTERISTIC, code),)

    return look


def mm(value: str, variance: Fraction = U2) -> Measurement:
    return Measurement(kind=Kind.LENGTH, value=Fraction(value), variance=variance)


def grams(value: str) -> Measurement:
    return Measurement(kind=Kind.MASS, value=Fraction(value), variance=Fraction("0.01"))


def teeth(count: int) -> Measurement:
    return Measurement(kind=Kind.COUNT, value=Fraction(count))


def known(code: str, track: dict[str, Fraction] | None = None, **found: Measurement) -> tuple[Fraction, Fraction]:
    result = work_out(code, REGISTER, observed(**found), track or {})
    assert isinstance(result, Known), result
    assert result.kind is REGISTER[code].kind.quantity_kind
    return result.value, result.variance(observed(**found))


class TestForms:
    @pytest.mark.parametrize(
        ("pinion", "gear", "printed"), [(12, 34, "2.8333"), (9, 27, "3.0000"), (8, 27, "3.3750"), (7, 38, "5.4286")]
    )
    def test_a_gear_ratio_is_exact_and_without_doubt(self, pinion, gear, printed):
        value, variance = known("ratio", pinion=teeth(pinion), gear=teeth(gear))
        assert value == Fraction(gear, pinion)
        assert f"{float(value):.4f}" == printed
        assert variance == 0

    @pytest.mark.parametrize(
        ("tire", "pinion", "gear", "printed"),
        [("20.5", 12, 34, "22.73"), ("19", 11, 28, "23.45"), ("20", 12, 34, "22.18"), ("27", 12, 44, "23.13")],
    )
    def test_rollouts_of_the_trade(self, tire, pinion, gear, printed):
        value, variance = known("rollout", tire=mm(tire), pinion=teeth(pinion), gear=teeth(gear))
        assert f"{float(value):.2f}" == printed
        assert variance == U2 * (PI * pinion / gear) ** 2

    def test_a_sum_and_a_difference_add_variances(self):
        assert known("weight", front_weight=grams("40"), rear_weight=grams("60")) == (100, Fraction("0.02"))
        assert known("step", rear=mm("64"), front=mm("62.5")) == (Fraction("1.5"), 2 * U2)

    def test_a_share_by_its_slopes(self):
        """d/da of a / (a + b) is b / (a + b)2, d/db is -a / (a + b)2."""
        value, variance = known("rear-share", front_weight=grams("40"), rear_weight=grams("60"))
        assert value == Fraction(3, 5)
        assert variance == Fraction("0.01") * (Fraction(40, 10**4) ** 2 + Fraction(60, 10**4) ** 2)

    def test_an_input_used_twice_is_one_thing(self):
        """rollout * ratio is pi * tire, whatever the gears: the slope of the tire alone stays."""
        value, variance = known("travel", tire=mm("20"), pinion=teeth(12), gear=teeth(34))
        assert value == PI * 20
        assert variance == PI**2 * U2

    def test_the_track_is_exact(self):
        assert known("supply", {"supply_a": Fraction(4)}) == (4, 0)
        assert known("room", {"lane_spacing_mm": Fraction(100)}, rear=mm("64")) == (36, U2)

    def test_pi_to_fifty_digits(self):
        assert str(Decimal(PI.numerator) / PI.denominator).startswith("3.14159265358979323846264338")
        assert abs(PI * 10**15 - 3141592653589793) < 1


class TestWhatCannotBeWorkedOut:
    def test_everything_missing_is_named(self):
        assert work_out("rollout", REGISTER, observed(pinion=teeth(12)), {}) == (
            Missing(Lacking.CHARACTERISTIC, "tire"),
            Missing(Lacking.CHARACTERISTIC, "gear"),
        )

    def test_a_track_that_does_not_say(self):
        assert work_out("room", REGISTER, observed(rear=mm("64")), {}) == (
            Missing(Lacking.TRACK_VALUE, "lane_spacing_mm"),
        )

    def test_division_by_nothing(self):
        found = work_out("ratio", REGISTER, observed(pinion=teeth(0), gear=teeth(34)), {})
        assert found == (Missing(Lacking.FITTING, "ratio"),)

    @pytest.mark.parametrize("code", ["egg", "hen", "mixed", "wrong"])
    def test_circles_and_kinds_that_do_not_go_together(self, code):
        found = work_out(code, REGISTER, observed(front=mm("1"), rear=mm("1"), front_weight=grams("1")), {})
        assert isinstance(found, tuple)
        assert {missing.lacking for missing in found} == {Lacking.RULE}

    def test_what_was_measured_itself_counts(self):
        assert known("step", step=mm("1.4")) == (Fraction("1.4"), U2)


@pytest.mark.parametrize(
    ("code", "kind"),
    [
        ("ratio", Kind.RATIO),
        ("travel", Kind.LENGTH),
        ("supply", Kind.CURRENT),
        ("room", Kind.LENGTH),
        ("tire", Kind.LENGTH),
        ("egg", None),
        ("mixed", None),
        ("wrong", None),
        ("lost", None),
        ("nowhere", None),
    ],
)
def test_the_register_knows_before_the_night_what_can_be_worked_out(code, kind):
    assert settled_kind(code, REGISTER) is kind


@given(
    st.lists(st.fractions(min_value=1, max_value=100), min_size=2, max_size=2),
    st.lists(st.fractions(min_value=0, max_value=1), min_size=2, max_size=2),
    st.fractions(min_value=Fraction(1, 100), max_value=100),
)
def test_a_change_of_unit_scales_value_and_doubt_alike(values, variances, factor):
    def of(scale: Fraction):
        return {
            code: Measurement(kind=Kind.LENGTH, value=value * scale, variance=variance * scale**2)
            for code, value, variance in zip(("rear", "front"), values, variances, strict=True)
        }

    plain, scaled = known("step", **of(Fraction(1))), known("step", **of(factor))
    assert scaled == (plain[0] * factor, plain[1] * factor**2)

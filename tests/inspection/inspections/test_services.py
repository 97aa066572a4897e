"""Readings on the tech line: understood exactly, decided at once, corrected without loss, signed, inspected again."""

import datetime as dt

import pytest

from inspection.inspections import services
from inspection.inspections.errors import (
    BuildChanged,
    BuildIsCurrent,
    ClauseNotOnCard,
    NotAllChecked,
    NothingFailed,
    OccasionNameMissing,
    SheetNotPublished,
)
from inspection.inspections.selectors import Standing, clearances
from inspection.models import Car, Finding, LogEntry, Role, RuleSheetRevision
from inspection.readings.errors import (
    AnswerNotKnown,
    DidYouMean,
    GaugeOfWrongKind,
    ReadingNotUnderstood,
    ReasonMissing,
)
from inspection.units import UnitsCode
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


@pytest.fixture
def open_card(club, inspector):
    """open_card(spec, ...) gives a card and its clauses."""

    def make(*specs, **fields):
        occasion = worlds.occasion(club, *specs, **fields)
        car = factories.car(club)
        return services.open_inspection(occasion=occasion, car=car, by=inspector), worlds.clauses_of(occasion)

    return make


def record(card, clause, text, by, **more):
    return services.record_measurement(inspection=card, clause=clause, text=text, by=by, **more).finding


class TestReadings:
    def test_a_reading_is_kept_as_typed_and_as_understood_with_all_it_was_decided_by(self, club, inspector, open_card):
        caliper = worlds.caliper(club, name="Caliper 2")
        card, (clause,) = open_card(worlds.WIDTH)
        found = record(card, clause, "63,4", inspector, gauge=caliper)
        assert (found.answer, found.reading, found.unit) == ("63,4", "63.4 mm", "mm")
        assert (found.outcome, found.zone, found.is_too_close) == ("pass", "conforming", False)
        assert found.limit_text == "At most 64.00 mm (2.520 in)"
        assert (found.gauge_name, found.clause_number, found.subject) == ("Caliper 2", "1", "Overall width")
        # 0.01^2 / 12 + 0.03^2 / 3 = 0.000308333...
        assert found.variance == "37/120000"
        assert found.by == inspector

    @pytest.mark.parametrize(
        ("text", "understood"),
        [
            ("63.4 mm", "63.4 mm"),
            ("63,4 mm", "63.4 mm"),
            ("2.5 in", "2.5 in"),
            ("2 1/2 in", "2 1/2 in"),
            ('2-1/2"', "2 1/2 in"),
            ("2500 thou", "2500 thou"),
            ("6.34 cm", "6.34 cm"),
        ],
    )
    def test_units_and_fractions_are_read_as_typed(self, inspector, open_card, text, understood):
        card, (clause,) = open_card(worlds.WIDTH)
        assert record(card, clause, text, inspector).reading == understood

    def test_the_unit_is_that_of_the_gauge_when_none_is_typed(self, club, inspector, open_card):
        inch_caliper = worlds.caliper(club, unit="in", resolution="0.001 in", max_permissible_error="0.001 in")
        card, (clause,) = open_card(worlds.WIDTH)
        assert record(card, clause, "2.510", inspector, gauge=inch_caliper).reading == "2.510 in"

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("", UnitsCode.EMPTY),
            ("   ", UnitsCode.EMPTY),
            ("NaN", UnitsCode.NOT_A_NUMBER),
            ("NaN mm", UnitsCode.NOT_A_NUMBER),
            ("1e999", UnitsCode.EXPONENT),
            ("-63.4", UnitsCode.NEGATIVE),
            ("63.4 g", UnitsCode.WRONG_KIND),
            ("63.4 furlongs", UnitsCode.UNKNOWN_UNIT),
            ("1,234", UnitsCode.AMBIGUOUS_MARK),
            ("sixty", UnitsCode.NOT_A_NUMBER),
            ("<script>alert(1)</script>", UnitsCode.NOT_A_NUMBER),
        ],
    )
    def test_what_is_no_reading_is_refused_and_nothing_is_recorded(self, inspector, open_card, text, code):
        card, (clause,) = open_card(worlds.WIDTH)
        with pytest.raises(ReadingNotUnderstood) as refused:
            record(card, clause, text, inspector)
        assert refused.value.units_code == code
        assert str(refused.value)
        assert not Finding.objects.exists()

    def test_an_absurd_reading_asks_what_was_meant(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        with pytest.raises(DidYouMean) as asked:
            record(card, clause, "634", inspector)
        assert asked.value.suggestions == ("63.40 mm",)
        assert "Did you mean 63.40 mm?" in str(asked.value)
        assert not Finding.objects.exists()

    def test_each_suggestion_can_be_sent_as_it_stands(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        with pytest.raises(DidYouMean) as asked:
            record(card, clause, "2.5", inspector)
        assert "2.500 in" in asked.value.suggestions
        for text in asked.value.suggestions:
            assert record(card, clause, text, inspector).reading

    def test_an_absurd_reading_that_is_confirmed_is_recorded_with_a_note(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        found = record(card, clause, "634", inspector, confirmed=True)
        assert (found.reading, found.outcome) == ("634 mm", "fail")
        assert "confirmed" in found.reason

    def test_a_reading_on_the_limit_passes(self, inspector, open_card):
        card, (clause,) = open_card(worlds.TIRE)
        assert record(card, clause, "19.00", inspector).outcome == "pass"
        assert record(card, clause, "18.999999999", inspector).outcome == "fail"

    @pytest.mark.parametrize(("text", "outcome"), [("64.03", "fail"), ("63.97", "pass"), ("64", "pass")])
    def test_within_the_gauges_doubt_result_and_too_close_are_both_kept(
        self, club, inspector, open_card, text, outcome
    ):
        card, (clause,) = open_card(worlds.WIDTH)
        found = record(card, clause, text, inspector, gauge=worlds.caliper(club))
        assert (found.outcome, found.is_too_close) == (outcome, True)

    def test_the_doubt_ends_at_twice_the_standard_uncertainty(self, club, inspector, open_card):
        # u = sqrt(37/120000) = 0.017559 mm, so U = 0.035119 mm
        card, (clause,) = open_card(worlds.WIDTH)
        caliper = worlds.caliper(club)
        assert record(card, clause, "63.9649", inspector, gauge=caliper).is_too_close
        assert not record(card, clause, "63.9648", inspector, gauge=caliper).is_too_close

    def test_a_count_has_no_doubt(self, inspector, open_card):
        card, (clause,) = open_card(worlds.PINION)
        found = record(card, clause, "12", inspector)
        assert (found.outcome, found.is_too_close, found.reading, found.unit) == ("pass", False, "12", "")
        assert record(card, clause, "11", inspector).outcome == "fail"
        with pytest.raises(ReadingNotUnderstood):
            record(card, clause, "11.5", inspector)

    def test_a_gauge_for_something_else_is_refused(self, club, inspector, open_card):
        scale = factories.gauge(club, measures="mass", unit="g", resolution="0.1 g", max_permissible_error="0.2 g")
        card, (clause,) = open_card(worlds.WIDTH)
        with pytest.raises(GaugeOfWrongKind):
            record(card, clause, "63", inspector, gauge=scale)

    def test_a_sheet_that_asks_for_certainty_does_not_clear_what_the_gauge_cannot_decide(
        self, club, inspector, open_card
    ):
        card, (clause,) = open_card(worlds.WIDTH | {"decision_rule": "certain_pass"})
        found = record(card, clause, "63.99", inspector, gauge=worlds.caliper(club))
        assert (found.zone, found.outcome, found.is_too_close) == ("indeterminate", "fail", True)


class TestAnswers:
    @pytest.mark.parametrize(("text", "outcome"), [("yes", "pass"), ("No", "fail"), ("y", "pass")])
    def test_yes_or_no(self, inspector, open_card, text, outcome):
        card, (clause,) = open_card(worlds.LABEL)
        assert record(card, clause, text, inspector).outcome == outcome

    def test_where_no_is_what_passes_yes_fails(self, inspector, open_card):
        card, (clause,) = open_card(worlds.LABEL | {"expected_answer": False})
        assert record(card, clause, "yes", inspector).outcome == "fail"
        assert record(card, clause, "no", inspector).outcome == "pass"

    @pytest.mark.parametrize("text", ["", "perhaps", "63.4"])
    def test_another_word_is_no_answer(self, inspector, open_card, text):
        card, (clause,) = open_card(worlds.LABEL)
        with pytest.raises(AnswerNotKnown):
            record(card, clause, text, inspector)

    @pytest.mark.parametrize(("text", "outcome"), [(" Rubber ", "pass"), ("silicone", "fail")])
    def test_one_of_a_list(self, inspector, open_card, text, outcome):
        card, (clause,) = open_card(worlds.TIRES)
        assert record(card, clause, text, inspector).outcome == outcome

    def test_a_block_goes_or_does_not_and_a_reading_may_be_typed_instead(self, club, inspector, open_card):
        block = worlds.caliper(club, kind="go_no_go", unit="", resolution="", max_permissible_error="")
        card, (clause,) = open_card(worlds.WIDTH | {"gauge": block})
        assert record(card, clause, "go", inspector).outcome == "pass"
        assert record(card, clause, "no-go", inspector).outcome == "fail"
        typed = record(card, clause, "63.4", inspector)
        assert (typed.outcome, typed.reading, typed.variance) == ("pass", "63.4 mm", "0")

    def test_go_says_nothing_to_a_caliper(self, club, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        with pytest.raises(ReadingNotUnderstood):
            record(card, clause, "go", inspector, gauge=worlds.caliper(club))

    def test_a_judge_decides_with_a_reason_and_by_name(self, inspector, open_card):
        card, (clause,) = open_card(worlds.LOOKS)
        with pytest.raises(ReasonMissing):
            record(card, clause, "pass", inspector)
        found = record(card, clause, "pass", inspector, reason="Head and hands are painted.")
        assert (found.outcome, found.by, found.reason) == ("pass", inspector, "Head and hands are painted.")

    def test_a_judge_may_rule_on_any_clause_and_the_reading_is_kept(self, club, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        reading = record(card, clause, "64.01", inspector, gauge=worlds.caliper(club))
        ruled = services.record_ruling(
            inspection=card, clause=clause, passes=True, reason="The channel lets it through.", by=inspector
        )
        reading.refresh_from_db()
        assert ruled.finding.outcome == "pass"
        assert reading.superseded_at is not None

    def test_a_ruling_without_reason_is_refused(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        with pytest.raises(ReasonMissing):
            services.record_ruling(inspection=card, clause=clause, passes=True, reason=" ", by=inspector)


class TestTwice:
    def test_a_double_tap_records_once(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        first = services.record_measurement(inspection=card, clause=clause, text="63.4", client_key="k1", by=inspector)
        again = services.record_measurement(inspection=card, clause=clause, text="63.4", client_key="k1", by=inspector)
        assert again.was_sent_before
        assert again.finding == first.finding
        assert Finding.objects.count() == 1

    def test_a_reading_sent_late_does_not_strike_out_what_was_found_since(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63.4", inspector, client_key="k1")
        later = record(card, clause, "63.6", inspector, client_key="k2")
        services.record_measurement(inspection=card, clause=clause, text="63.4", client_key="k1", by=inspector)
        later.refresh_from_db()
        assert later.superseded_at is None

    def test_the_same_key_with_another_text_is_a_correction(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63.4", inspector, client_key="k1")
        assert record(card, clause, "63.5", inspector, client_key="k1").reading == "63.5 mm"
        assert Finding.objects.count() == 2

    def test_a_second_inspector_is_told_whose_finding_is_replaced_and_both_are_kept(self, club, inspector, open_card):
        second = factories.member(club, Role.TECH_INSPECTOR)
        card, (clause,) = open_card(worlds.WIDTH)
        first = record(card, clause, "63.4", inspector)
        recorded = services.record_measurement(inspection=card, clause=clause, text="64.4", by=second)
        assert recorded.replaced == first
        assert recorded.replaced.by == inspector
        kept = Finding.objects.order_by("pk")
        assert [(f.reading, f.superseded_at is None) for f in kept] == [("63.4 mm", False), ("64.4 mm", True)]
        entry = LogEntry.objects.get(action="corrected finding")
        assert (entry.detail["before"], entry.detail["answer"]) == ("63.4", "64.4")

    def test_a_clause_of_another_phase_or_sheet_is_not_on_the_card(self, club, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH | {"phases": ["after"]})
        with pytest.raises(ClauseNotOnCard):
            record(card, clause, "63", inspector)
        other = worlds.clauses_of(worlds.occasion(club, worlds.WIDTH))[0]
        with pytest.raises(ClauseNotOnCard):
            record(card, other, "63", inspector)


class TestSigning:
    def test_a_card_with_every_clause_passed_is_signed_clear(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63", inspector)
        signed = services.sign_card(inspection=card, by=inspector)
        assert (signed.signed_clear, signed.signed_by) == (True, inspector)
        assert clearances(card.occasion, [card.car_id])[card.car_id].is_clear

    def test_not_checked_never_counts_as_passed(self, inspector, open_card):
        card, (clause, _) = open_card(worlds.WIDTH, worlds.LOOKS)
        record(card, clause, "63", inspector)
        with pytest.raises(NotAllChecked) as refused:
            services.sign_card(inspection=card, by=inspector)
        assert refused.value.params["numbers"] == "2"
        assert services.sign_card(inspection=card, not_clear=True, by=inspector).signed_clear is False
        assert clearances(card.occasion, [card.car_id])[card.car_id].state is Standing.NOT_CLEAR

    def test_a_failed_clause_is_signed_not_clear(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "65", inspector)
        assert services.sign_card(inspection=card, by=inspector).signed_clear is False

    def test_a_pass_that_is_too_close_clears_by_simple_acceptance(self, club, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63.99", inspector, gauge=worlds.caliper(club))
        assert services.sign_card(inspection=card, by=inspector).signed_clear is True
        assert clearances(card.occasion, [card.car_id])[card.car_id].too_close == ("1 Overall width",)

    def test_signing_twice_changes_nothing(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63", inspector)
        first = services.sign_card(inspection=card, by=inspector)
        assert services.sign_card(inspection=card, by=inspector).signed_at == first.signed_at
        assert LogEntry.objects.filter(action="signed card clear").count() == 1

    def test_a_new_finding_reopens_a_signed_card(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63", inspector)
        services.sign_card(inspection=card, by=inspector)
        recorded = services.record_measurement(inspection=card, clause=clause, text="63.1", by=inspector)
        card.refresh_from_db()
        assert recorded.reopened
        assert card.signed_at is None
        assert LogEntry.objects.filter(detail__dropped_signature=True).exists()

    def test_what_failed_is_inspected_again_and_what_passed_stays(self, inspector, open_card):
        card, (width, tire) = open_card(worlds.WIDTH, worlds.TIRE)
        passed = record(card, width, "63", inspector)
        failed = record(card, tire, "18", inspector)
        services.sign_card(inspection=card, by=inspector)
        again = services.inspect_again(inspection=card, by=inspector)
        passed.refresh_from_db()
        failed.refresh_from_db()
        assert (again.attempt, again.signed_at) == (2, None)
        assert passed.superseded_at is None
        assert failed.superseded_at is not None
        assert clearances(card.occasion, [card.car_id])[card.car_id].not_checked == 1
        assert record(card, tire, "19.4", inspector).attempt == 2
        assert services.sign_card(inspection=card, by=inspector).signed_clear is True

    def test_nothing_is_inspected_again_when_nothing_failed(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63", inspector)
        with pytest.raises(NothingFailed):
            services.inspect_again(inspection=card, by=inspector)


class TestBuilds:
    @pytest.fixture
    def signed(self, club, inspector):
        occasion = worlds.occasion(club, worlds.WIDTH)
        car = factories.car(club)
        factories.build(car)
        card = services.open_inspection(occasion=occasion, car=car, by=inspector)
        record(card, worlds.clauses_of(occasion)[0], "63", inspector)
        return services.sign_card(inspection=card, by=inspector)

    def test_a_card_is_for_the_latest_build(self, signed):
        assert signed.build.number == 1

    def test_a_changed_build_drops_the_clearance_and_says_so(self, signed):
        factories.build(signed.car)
        found = clearances(signed.occasion, [signed.car_id])[signed.car_id]
        assert (found.is_clear, found.state) == (False, Standing.BUILD_CHANGED)

    def test_the_changed_build_is_inspected_afresh(self, signed, inspector):
        factories.build(signed.car)
        card = services.take_up_build(inspection=signed, by=inspector)
        found = clearances(card.occasion, [card.car_id])[card.car_id]
        assert (card.build.number, card.signed_at, found.not_checked) == (2, None, 1)

    def test_a_card_for_an_old_build_is_not_signed(self, club, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63", inspector)
        factories.build(card.car)
        with pytest.raises(BuildChanged):
            services.sign_card(inspection=card, by=inspector)

    def test_a_first_build_declared_later_leaves_the_findings_standing(self, inspector, open_card):
        card, (clause,) = open_card(worlds.WIDTH)
        record(card, clause, "63", inspector)
        factories.build(card.car)
        card = services.take_up_build(inspection=card, by=inspector)
        assert services.sign_card(inspection=card, by=inspector).signed_clear is True

    def test_the_build_at_hand_is_not_taken_up_again(self, signed, inspector):
        with pytest.raises(BuildIsCurrent):
            services.take_up_build(inspection=signed, by=inspector)

    def test_opening_a_card_again_gives_the_same_one_with_the_build_of_now_while_it_is_blank(self, club, inspector):
        occasion = worlds.occasion(club, worlds.WIDTH)
        car = factories.car(club)
        card = services.open_inspection(occasion=occasion, car=car, by=inspector)
        build = factories.build(car)
        again = services.open_inspection(occasion=occasion, car=car, by=inspector)
        assert (again.pk, again.build) == (card.pk, build)

    def test_a_car_of_another_club_gets_no_card(self, club, inspector):
        occasion = worlds.occasion(club, worlds.WIDTH)
        with pytest.raises(Car.DoesNotExist):
            services.open_inspection(occasion=occasion, car=factories.car(factories.club()), by=inspector)


class TestOccasions:
    def test_a_tech_day_needs_no_race(self, club, inspector):
        revision = factories.published_sheet(club)
        day = services.open_occasion(
            club=club, name=" Tech day ", date=dt.date(2026, 11, 20), revision=revision, by=inspector
        )
        assert (day.name, day.revision) == ("Tech day", revision)

    def test_a_draft_cannot_be_inspected_by(self, club, inspector):
        sheet = factories.published_sheet(club).rule_sheet
        draft = RuleSheetRevision.objects.create(rule_sheet=sheet, number=2)
        with pytest.raises(SheetNotPublished):
            services.open_occasion(club=club, name="Day", date=dt.date(2026, 11, 20), revision=draft, by=inspector)

    def test_a_tech_day_needs_a_name(self, club, inspector):
        revision = factories.published_sheet(club)
        with pytest.raises(OccasionNameMissing):
            services.open_occasion(club=club, name=" ", date=dt.date(2026, 11, 20), revision=revision, by=inspector)

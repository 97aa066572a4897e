"""What a study has found goes into its gauge, once, with a log, and can be taken back."""

import pytest

from inspection.gauges.selectors import gauge_spec
from inspection.models import LogEntry
from inspection.studyoutcomes.errors import NotTheLatest, StudyIncomplete
from inspection.studyoutcomes.services import adopt_study, release_study
from tests import factories
from tests.inspection.studies.measured import manual_bias_study, manual_study, measured

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club):
    return factories.member(club)


@pytest.fixture
def gauge(club):
    return factories.gauge(club)


def fed(gauge):
    gauge.refresh_from_db()
    return (gauge.repeatability, gauge.reproducibility, gauge.bias)


def test_a_crossed_study_gives_both_spreads_rounded_up(gauge, by):
    # sqrt(0.0399733) = 0.199933 and sqrt(0.0514553) = 0.226838 (checks G02b)
    study = adopt_study(study=manual_study(gauge), by=by)

    assert fed(gauge) == ("0.2 mm", "0.227 mm", "")
    assert study.adopted_by == by
    detail = LogEntry.objects.get(action="took over gauge study").detail
    assert detail["now"] == {"repeatability": "0.2 mm", "reproducibility": "0.227 mm"}
    assert detail["was"] == {"repeatability": "", "reproducibility": ""}


def test_the_gauge_is_less_sure_from_then_on(gauge, by):
    before = gauge_spec(gauge).variance
    adopt_study(study=manual_study(gauge), by=by)
    gauge.refresh_from_db()

    assert gauge_spec(gauge).variance == before + gauge_spec(gauge).repeatability ** 2 + (
        gauge_spec(gauge).reproducibility ** 2
    )


def test_a_bias_study_gives_the_bias_with_its_sign(gauge, by):
    # mean 6.006666... against 6 (check G05); against 6.02 it reads 0.01333... low
    adopt_study(study=manual_bias_study(gauge), by=by)
    assert fed(gauge) == ("", "", "0.00667 mm")

    adopt_study(study=manual_bias_study(gauge, reference="6.02 mm"), by=by)
    assert fed(gauge) == ("", "", "-0.0134 mm")


def test_taking_over_twice_changes_nothing(gauge, by):
    study = manual_study(gauge)
    first = adopt_study(study=study, by=by)

    assert adopt_study(study=study, by=None).adopted_at == first.adopted_at
    assert LogEntry.objects.filter(action="took over gauge study").count() == 1


def test_taking_back_gives_the_gauge_what_it_had(gauge, by):
    gauge.repeatability = "0.01 mm"
    gauge.save()
    study = adopt_study(study=manual_study(gauge), by=by)

    released = release_study(study=study, by=by)

    assert fed(gauge) == ("0.01 mm", "", "")
    assert (released.adopted_at, released.given) == (None, {})
    assert release_study(study=study, by=by).adopted_at is None
    assert LogEntry.objects.filter(action="took back gauge study").count() == 1


def test_only_the_latest_can_be_taken_back_and_then_the_one_before(gauge, by):
    older, newer = (adopt_study(study=manual_study(gauge, name=name), by=by) for name in ("older", "newer"))

    with pytest.raises(NotTheLatest):
        release_study(study=older, by=by)

    release_study(study=newer, by=by)
    release_study(study=older, by=by)
    assert fed(gauge) == ("", "", "")


def test_what_was_changed_by_hand_since_is_not_taken_back(gauge, by):
    study = adopt_study(study=manual_study(gauge), by=by)
    gauge.refresh_from_db()
    gauge.repeatability = "0.5 mm"
    gauge.save()

    with pytest.raises(NotTheLatest):
        release_study(study=study, by=by)


def test_a_study_with_readings_missing_gives_nothing(gauge, by):
    study = manual_study(gauge)
    study.readings.first().delete()

    with pytest.raises(StudyIncomplete) as refused:
        adopt_study(study=study, by=by)

    assert str(refused.value) == "1 of 90 readings are still to be taken."
    assert fed(gauge) == ("", "", "")


def test_a_perfect_gauge_is_taken_over_too(gauge, by):
    study = measured(factories.gauge_study(gauge), lambda place: 10 + place.part)

    adopt_study(study=study, by=by)

    assert fed(gauge) == ("0 mm", "0 mm", "")

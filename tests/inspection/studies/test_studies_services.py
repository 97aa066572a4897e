"""A study is begun, read place by place, corrected, dropped."""

import pytest

from inspection.gaugestudy.order import Place
from inspection.models import GaugeStudy, LogEntry, StudyReading
from inspection.studies import services
from inspection.studies.errors import AlreadyMeasured, FarFromOthers, NoSuchPlace, NothingToRead, StudyFinal
from inspection.studies.selectors import StudyContent, progress_of
from inspection.units import Kind, parse_quantity
from tests import factories

pytestmark = pytest.mark.django_db

CONTENT = StudyContent(kind="crossed", name="Tires", parts=("A", "B"), inspectors=("Lou", "Mo"), trials=2)
FIRST = Place(0, 0, 0)


def mm(text):
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club):
    return factories.member(club, name="Lou Quarrie")


@pytest.fixture
def study(club):
    return factories.gauge_study(factories.gauge(club))


def test_a_study_is_begun_with_its_seed_in_the_log(club, by):
    study = services.start_study(gauge=factories.gauge(club), content=CONTENT, seed=4471, by=by)

    assert (study.seed, study.parts, study.inspectors, study.started_by) == (4471, ["A", "B"], ["Lou", "Mo"], by)
    assert LogEntry.objects.get(action="started gauge study").detail == {"seed": 4471}


def test_what_only_goes_or_does_not_go_cannot_be_studied(club, by):
    with pytest.raises(NothingToRead):
        services.start_study(gauge=factories.gauge(club, kind="go_no_go"), content=CONTENT, seed=1, by=by)


def test_a_reading_is_kept_as_typed_with_who_took_it(study, by):
    services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)

    kept = StudyReading.objects.get()
    assert (kept.reading, kept.by, kept.part, kept.inspector, kept.trial) == ("19.40 mm", by, 0, 0, 0)


def test_the_same_reading_sent_twice_counts_once(study, by):
    for _ in range(2):
        services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)

    assert StudyReading.objects.count() == 1


def test_another_reading_for_a_place_that_is_taken_is_refused_and_says_who_took_it(study, by):
    services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)

    with pytest.raises(AlreadyMeasured) as refused:
        services.record_reading(study=study, place=FIRST, reading=mm("19.50"), by=None)

    assert "Lou Quarrie" in str(refused.value)
    assert StudyReading.objects.get().reading == "19.40 mm"


def test_a_correction_takes_its_place_and_the_log_keeps_what_stood(study, by):
    services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)

    services.record_reading(study=study, place=FIRST, reading=mm("19.04"), corrects=True, by=by)

    assert StudyReading.objects.get().reading == "19.04 mm"
    assert LogEntry.objects.get().detail == {"was": "19.40 mm", "now": "19.04 mm"}


def test_a_place_outside_the_study_is_refused(study, by):
    with pytest.raises(NoSuchPlace):
        services.record_reading(study=study, place=Place(2, 0, 0), reading=mm("19.40"), by=by)


@pytest.mark.parametrize("reading", ["194.0", "1.94"])
def test_a_decimal_mark_in_the_wrong_place_is_asked_about_and_taken_when_sure(study, by, reading):
    services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)
    other = Place(1, 0, 0)

    with pytest.raises(FarFromOthers):
        services.record_reading(study=study, place=other, reading=mm(reading), by=by)

    services.record_reading(study=study, place=other, reading=mm(reading), sure=True, by=by)
    assert StudyReading.objects.count() == 2


def test_a_reading_far_from_the_check_block_is_asked_about_at_once(club, by):
    study = factories.gauge_study(
        factories.gauge(club), kind="bias", parts=["20 mm"], inspectors=["Lou"], reference="20 mm"
    )

    with pytest.raises(FarFromOthers):
        services.record_reading(study=study, place=FIRST, reading=mm("200"), by=by)


def test_a_study_that_is_taken_over_is_final(study, by):
    GaugeStudy.objects.update(adopted_at=study.started_at)

    with pytest.raises(StudyFinal):
        services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)
    with pytest.raises(StudyFinal):
        services.discard_study(study=study, by=by)


def test_a_dropped_study_is_gone_and_the_log_says_how_much_it_held(study, by):
    services.record_reading(study=study, place=FIRST, reading=mm("19.40"), by=by)

    services.discard_study(study=study, by=by)

    assert not GaugeStudy.objects.exists()
    assert LogEntry.objects.get(action="discarded gauge study").detail == {"readings": 1}


def test_a_study_is_complete_after_its_last_reading(study, by):
    while (place := progress_of(study).next) is not None:
        services.record_reading(study=study, place=place, reading=mm(f"{19 + place.part}.40"), by=by)

    found = progress_of(study)
    assert (found.is_complete, found.done, found.missing) == (True, 12, 0)

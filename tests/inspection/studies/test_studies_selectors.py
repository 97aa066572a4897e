"""What a study asks for, and what it keeps from the eyes of who measures next."""

import pytest

from inspection.models import StudyReading
from inspection.studies import selectors
from inspection.units import base_unit
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def gauge():
    return factories.gauge(factories.club())


def read(study, places):
    for place in places:
        StudyReading.objects.create(
            study=study, part=place.part, inspector=place.inspector, trial=place.trial, reading="19.40 mm"
        )


def test_the_next_place_follows_the_drawn_order(gauge):
    study = factories.gauge_study(gauge)
    order = selectors.order_of(study)
    read(study, order[:2])

    progress = selectors.progress_of(study)

    assert (progress.next, progress.latest, progress.done, progress.total) == (order[2], order[1], 2, 12)


def test_progress_takes_one_query(gauge, django_assert_num_queries):
    study = factories.gauge_study(gauge)
    read(study, selectors.order_of(study))

    with django_assert_num_queries(1):
        selectors.progress_of(study)


def test_who_measures_next_does_not_see_what_the_one_before_read(gauge):
    study = factories.gauge_study(gauge)
    order = selectors.order_of(study)
    read(study, order[:2])
    same_hands = selectors.prompt_of(selectors.progress_of(study), order[2])
    read(study, order[2:3])
    handed_over = selectors.prompt_of(selectors.progress_of(study), order[3])

    assert order[2].inspector != order[3].inspector
    assert (same_hands.hands_over, same_hands.shown, same_hands.follows) == (False, "19.40 mm", "")
    assert (handed_over.hands_over, handed_over.shown) == (True, "")
    assert handed_over.follows == study.parts[order[4].part]


def test_an_address_names_a_place_or_the_next_one(gauge):
    study = factories.gauge_study(gauge)
    progress = selectors.progress_of(study)

    assert selectors.asked_place(progress, "1.2.0") == (selectors.Place(1, 2, 0))
    assert selectors.asked_place(progress, "9.9.9") == progress.next
    assert selectors.asked_place(progress, "") == progress.next


def test_the_blank_form_has_every_place_in_the_drawn_order(gauge):
    study = factories.gauge_study(gauge, parts=[f"P{n}" for n in range(12)])
    blocks = selectors.blocks_of(study)

    written = [(inspector, part) for _trial, inspector, parts in blocks for part in parts]
    order = selectors.order_of(study)
    assert written == [(study.inspectors[place.inspector], study.parts[place.part]) for place in order]
    assert max(len(parts) for _trial, _inspector, parts in blocks) == 10


def test_the_blank_form_of_a_bias_study_is_one_run_of_boxes(gauge):
    study = factories.gauge_study(gauge, kind="bias", parts=["20 mm"], inspectors=["Lou"], trials=12)

    boxes = [parts for _trial, _inspector, parts in selectors.blocks_of(study)]

    assert boxes == [[str(n) for n in range(1, 11)], ["11", "12"]]


def test_readings_are_written_without_the_unit_that_stands_over_them(gauge):
    study = factories.gauge_study(gauge)
    place = selectors.order_of(study)[0]
    read(study, [place])

    rows = selectors.reading_rows(selectors.progress_of(study), decimal_mark=",")

    texts = {key: text for row in rows for key, text in row.cells}
    assert texts.pop(selectors.key_of(place)) == "19,40"
    assert set(texts.values()) == {""}


def test_a_gauge_without_a_unit_shows_the_base_unit_of_its_kind(gauge):
    gauge.unit = ""
    assert selectors.unit_shown(gauge) == base_unit(selectors.kind_measured(gauge))
    gauge.unit = "bananas"
    assert selectors.unit_shown(gauge).symbol == "mm"
    gauge.measures = "nonsense"
    assert selectors.kind_measured(gauge) is None
    assert selectors.quantity_of("19 mm", gauge) is None

import pytest

from inspection.models import LogEntry, PrepTemplate
from inspection.prepsheets.errors import (
    PrepChangedMeanwhile,
    PrepNameTaken,
    StepsMissing,
    TooManySteps,
    UnknownPlaceholder,
)
from inspection.prepsheets.selectors import (
    MOST_STEPS,
    PrepContent,
    StepContent,
    steps_of,
    supplied_steps,
    template_version,
)
from inspection.prepsheets.services import change_template, create_template
from tests import factories


@pytest.fixture
def club(db):
    return factories.club()


@pytest.fixture
def owner(club):
    return factories.member(club)


def content(*titles, name="Ours", **fields):
    return PrepContent(name=name, steps=tuple(StepContent(title=title) for title in titles), **fields)


def test_a_template_keeps_its_steps_as_they_are_given(club, owner):
    made = create_template(club=club, content=PrepContent(name="Ours", steps=supplied_steps()), by=owner)

    assert steps_of(PrepTemplate.objects.get()) == supplied_steps()
    assert LogEntry.objects.filter(action="made prep sheet", subject_id=made.public_id).exists()


def test_a_value_that_no_bench_sheet_has_is_refused_in_words(club, owner):
    steps = (StepContent(title="Pinion", checks=("Gap of {gap}",)),)

    with pytest.raises(UnknownPlaceholder) as refused:
        create_template(club=club, content=PrepContent(name="Ours", steps=steps), by=owner)

    assert str(refused.value).startswith("“Pinion” asks for {gap}, which no bench sheet has.")


def test_a_name_is_the_clubs_own_once(club, owner):
    create_template(club=club, content=content("A"), by=owner)
    create_template(club=factories.club(), content=content("A"), by=None)

    with pytest.raises(PrepNameTaken):
        create_template(club=club, content=content("A", name="OURS"), by=owner)


def test_no_step_and_too_many_are_refused(club, owner):
    with pytest.raises(StepsMissing):
        create_template(club=club, content=content(), by=owner)
    with pytest.raises(TooManySteps):
        create_template(club=club, content=content(*["A"] * (MOST_STEPS + 1)), by=owner)


def test_a_template_is_changed_and_keeps_its_name(club, owner):
    made = create_template(club=club, content=content("A"), by=owner)

    change_template(template=made, content=content("B", "A"), version=template_version(made), by=owner)

    made.refresh_from_db()
    assert [step.title for step in steps_of(made)] == ["B", "A"]


def test_who_saves_second_is_told(club, owner):
    made = create_template(club=club, content=content("A"), by=owner)
    version = template_version(made)
    change_template(template=made, content=content("B"), version=version, by=owner)

    with pytest.raises(PrepChangedMeanwhile):
        change_template(template=made, content=content("C"), version=version, by=owner)

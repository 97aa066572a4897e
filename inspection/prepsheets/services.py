"""Keep the club's own wording of prep sheets."""

from django.db import transaction

from inspection.clubs.services import hold_club, write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import Club, PrepTemplate, User
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
    row_of,
    template_version,
    texts_of,
    unknown_in,
)


@transaction.atomic
def create_template(*, club: Club, content: PrepContent, by: User | None) -> PrepTemplate:
    """A template of the club's own.

    Refuses a name the club has (PrepNameTaken), no step or too many (StepsMissing, TooManySteps), and a text that asks
    for a value that no bench sheet has (UnknownPlaceholder).
    """
    _check(club, content, template=None)
    template = PrepTemplate.objects.create(club=club, **_fields(content))
    write_log(club=club, action="made prep sheet", subject=template, by=by)
    return template


@transaction.atomic
def change_template(*, template: PrepTemplate, content: PrepContent, version: str, by: User | None) -> PrepTemplate:
    """Save a template anew. version: `template_version` of what the form showed.

    Refuses when somebody saved meanwhile (PrepChangedMeanwhile), and as `create_template`.
    """
    template = PrepTemplate.objects.hold(template.pk, "club")
    if version != template_version(template):
        raise PrepChangedMeanwhile(who=last_editor_of(template.club, template))
    _check(template.club, content, template=template)
    for name, value in _fields(content).items():
        setattr(template, name, value)
    template.save()
    write_log(club=template.club, action="changed prep sheet", subject=template, by=by, is_active=content.is_active)
    return template


def _fields(content: PrepContent) -> dict[str, object]:
    return {
        "name": content.name,
        "racing_class": content.racing_class,
        "is_active": content.is_active,
        "steps": [row_of(step) for step in content.steps],
    }


def _check(club: Club, content: PrepContent, *, template: PrepTemplate | None) -> None:
    if not content.steps:
        raise StepsMissing
    if len(content.steps) > MOST_STEPS:
        raise TooManySteps(most=MOST_STEPS)
    for step in content.steps:
        if odd := unknown_in(texts_of(step)):
            raise UnknownPlaceholder(step=step.title, name=odd[0])
    hold_club(club)
    taken = PrepTemplate.objects.of(club).filter(name__iexact=content.name)
    if taken.exclude(pk=template.pk if template else None).exists():
        raise PrepNameTaken(name=content.name)

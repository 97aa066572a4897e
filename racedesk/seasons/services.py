"""Plan a season and say which races are its rounds."""

from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction

from inspection.clubs.services import hold_club, write_log
from inspection.models import Club, User
from racedesk.models import Race, ResultSheet, Round, Season
from racedesk.seasons import errors


@transaction.atomic
def create_season(
    *,
    club: Club,
    name: str,
    points: Sequence[Decimal],
    rounds_that_count: int | None = None,
    rounds_planned: int | None = None,
    by: User | None,
) -> Season:
    """Plan a season. points: from first place down. Raises SeasonNameTaken."""
    hold_club(club)
    if Season.objects.of(club).filter(name=name).exists():
        raise errors.SeasonNameTaken(name=name)
    season = Season.objects.create(
        club=club,
        name=name,
        points=[str(each) for each in points],
        rounds_that_count=rounds_that_count,
        rounds_planned=rounds_planned,
    )
    write_log(club=club, action="planned season", subject=season, by=by)
    return season


@transaction.atomic
def add_round(*, season: Season, race: Race, number: int, by: User | None) -> Round:
    """Let a race score in the season. Raises RoundTaken or RaceScoresAlready."""
    season = Season.objects.hold(season.pk, "club")
    taken = season.rounds.select_related("race").filter(number=number).first()
    if taken:
        raise errors.RoundTaken(number=number, season=season, race=taken.race)
    scores = season.rounds.filter(race=race).first()
    if scores:
        raise errors.RaceScoresAlready(race=race, number=scores.number, season=season)
    made = Round.objects.create(season=season, race=race, number=number)
    write_log(club=season.club, action="added round", subject=made, by=by)
    return made


@transaction.atomic
def remove_round(*, scored_round: Round, by: User | None) -> None:
    """Take a race out of the season while it has no published result. Raises RoundPublished."""
    if ResultSheet.objects.filter(race=scored_round.race).exists():
        raise errors.RoundPublished(number=scored_round.number)
    write_log(club=scored_round.season.club, action="removed round", subject=scored_round, by=by)
    scored_round.delete()

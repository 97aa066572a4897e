"""Read seasons: the table, computed from the published results of its rounds."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet

from inspection.models import Club, Driver
from racedesk.models import EntryDriver, Race, ResultRow, ResultSheet, Round, Season
from racedesk.scoring import standings as scoring
from racedesk.scoring.points import Placed, PlaceTable, award_points


@dataclass(frozen=True, slots=True)
class RoundCell:
    """One driver's points of one round; None where the round gave none. place: None without one."""

    number: int
    points: Decimal | None
    place: int | None
    is_dropped: bool


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line of the season table."""

    place: int
    is_shared: bool
    driver: Driver
    counted: Decimal
    gross: Decimal
    behind: Decimal
    rounds: tuple[RoundCell, ...]
    is_tied: bool


@dataclass(frozen=True, slots=True)
class SeasonTable:
    """A season's standings. rounds: all that are planned, in order; run: numbers of those with a result."""

    season: Season
    rounds: tuple[Round, ...]
    run: tuple[int, ...]
    rows: tuple[TableRow, ...]


def seasons_of(club: Club) -> QuerySet:
    """The club's seasons, running ones first, with their rounds. 2 queries."""
    return Season.objects.of(club).order_by("-is_active", "-id").prefetch_related("rounds")


def points_of(season: Season) -> PlaceTable:
    """The season's points by place, first place first. No query."""
    return PlaceTable(tuple(Decimal(str(each)) for each in season.points))


def rounds_of(season: Season) -> list[Round]:
    """Rounds in order, each with its race's current result and its rows. 5 queries whatever their number."""
    drivers = Prefetch("rows__entry__drivers", queryset=EntryDriver.objects.select_related("driver"))
    sheets = ResultSheet.objects.filter(superseded_at__isnull=True).prefetch_related("rows__entry", drivers)
    rounds = season.rounds.select_related("race__event").order_by("number")
    return list(rounds.prefetch_related(Prefetch("race__result_sheets", queryset=sheets, to_attr="current_sheets")))


def _round_results(sheet: ResultSheet, table: PlaceTable) -> list[tuple[Driver, scoring.RoundResult]]:
    """Every driver's points of one published result; the drivers of a team each get the team's."""
    rows = [row for row in sheet.rows.all() if row.status != ResultRow.Status.EXCLUDED]
    awards = award_points([Placed(row.entry_id, row.place) for row in rows], table=table)
    points = {award.key: award.points for award in awards}
    return [
        (each.driver, scoring.RoundResult(each.driver_id, points[row.entry_id], row.place))
        for row in rows
        for each in row.entry.drivers.all()
    ]


def standings_of(season: Season) -> SeasonTable:
    """The table over the rounds published so far, drops and countback by the season's rules. 5 queries."""
    rounds = rounds_of(season)
    table = points_of(season)
    drivers: dict[int, Driver] = {}
    scored = []
    for each in rounds:
        for sheet in each.race.current_sheets:
            results = _round_results(sheet, table)
            drivers |= {driver.pk: driver for driver, _ in results}
            scored.append(scoring.Round(each.number, tuple(result for _, result in results)))
    best = season.rounds_that_count
    rules = scoring.SeasonRules(blocks=(scoring.Block(best=best),) if best else ())
    ranked = scoring.rank_season(scored, rules=rules)
    leader = ranked[0].counted if ranked else Decimal(0)
    rows = tuple(
        TableRow(
            place=standing.place,
            is_shared=standing.shared,
            driver=drivers[standing.key],
            counted=standing.counted,
            gross=standing.gross,
            behind=leader - standing.counted,
            rounds=tuple(
                RoundCell(score.round_number, None if score.is_absent else score.points, score.place, score.is_dropped)
                for score in standing.rounds
            ),
            is_tied=bool(standing.tied_with),
        )
        for standing in ranked
    )
    return SeasonTable(season=season, rounds=tuple(rounds), run=tuple(one.number for one in scored), rows=rows)


def leaders_of(club: Club) -> list[tuple[Season, TableRow | None]]:
    """The leader of each running season, for the club's first page. 1 query and 5 for each running season."""
    running = seasons_of(club).filter(is_active=True)
    return [(season, next(iter(standings_of(season).rows), None)) for season in running]


def races_without_round(season: Season) -> QuerySet:
    """Races of the club that do not score in this season yet, the latest first. 1 query."""
    races = Race.objects.of(season.club).exclude(rounds__season=season).select_related("event")
    return races.order_by("-event__date", "position")

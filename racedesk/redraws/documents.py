"""A re-draw in words and tables: the heats to come, what changes for whom, and who is owed a lane."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import ngettext

from inspection.models import Lane
from racedesk.entries.selectors import shown_name
from racedesk.forecast.timetable import heat_starts
from racedesk.restplans.selectors import Choices, Night, Rest, address_of, with_more, without


@dataclass(frozen=True, slots=True)
class ComingHeat:
    """A heat of the plan. lanes: (number in the draw, name) a lane, None where nobody drives."""

    number: int
    about: dt.datetime | None
    lanes: tuple[tuple[int, str] | None, ...]
    marshals: str


@dataclass(frozen=True, slots=True)
class Changed:
    """What changes for a driver. before, after: his heats to come, each "7 on Red"."""

    number: int
    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Owed:
    """Drivers short of the same lanes. laps: what the lanes would be worth to each at the mean of his lanes so far."""

    lanes: str
    names: str
    laps: str


@dataclass(frozen=True, slots=True)
class RestWords:
    """A plan as the page shows it."""

    heats: tuple[ComingHeat, ...]
    changed: tuple[Changed, ...]
    same: int
    owed: tuple[Owed, ...]
    meets: str
    back_to_back: str
    heats_words: str
    fewest_words: str
    done_at: dt.datetime | None


@dataclass(frozen=True, slots=True)
class Said:
    """A choice that was made, in words, and the address without it; "" where the desk made it."""

    words: str
    take_back: str = ""


@dataclass(frozen=True, slots=True)
class GoingOn:
    """A driver who races on. out: the address of the plan without him."""

    number: int
    name: str
    lanes_left: int
    is_new: bool
    out: str


@dataclass(frozen=True, slots=True)
class LaneChoice:
    """A lane of the track and what was said of it. address: of the plan in which it is out, or in again."""

    lane: Lane
    is_out: bool
    back_from: int | None
    address: str


def rest_words(rest: Rest) -> RestWords:
    """A plan in words. Two queries."""
    night, plan = rest.night, rest.plan
    names = {number: shown_name(entry) for number, entry in night.entries.items()}
    times = _starts(night, len(plan.heats))
    race = night.race
    last = times[-1] if times else None
    low, high = (plan.meetings[0][0], plan.meetings[-1][0]) if plan.meetings else (0, 0)
    more = len(plan.heats) - plan.fewest
    return RestWords(
        heats=tuple(
            ComingHeat(
                number=night.last_number + place,
                about=times[place - 1],
                lanes=tuple(None if driver is None else (driver, names[driver]) for driver in row),
                marshals=", ".join(names[rest.going_on[one - 1]] for one in rest.roster[place - 1] if one is not None),
            )
            for place, row in enumerate(plan.heats, start=1)
        ),
        changed=_changed(rest, names),
        same=len(rest.going_on) - sum(change.driver in rest.going_on for change in plan.changes),
        owed=_owed(rest, names),
        meets=_("{low} to {high} times").format(low=low, high=high)
        if low != high
        else ngettext("{n} time", "{n} times", low).format(n=low),
        back_to_back=ngettext("{n} time", "{n} times", plan.back_to_back).format(n=plan.back_to_back)
        if plan.back_to_back
        else _("never"),
        heats_words=ngettext("{n} heat to come", "{n} heats to come", len(plan.heats)).format(n=len(plan.heats)),
        fewest_words=ngettext(
            "{n} more than without what was asked for", "{n} more than without what was asked for", more
        ).format(n=more)
        if more > 0
        else _("no plan has fewer"),
        done_at=last + dt.timedelta(seconds=race.heat_length_s) if last else None,
    )


def _starts(night: Night, heats: int) -> list[dt.datetime | None]:
    """When the heats to come should begin."""
    if night.start is None:
        return [None] * heats
    race = night.race
    lengths = {"heat_length_s": race.heat_length_s, "changeover_s": race.changeover_s}
    return list(heat_starts(start=night.start, heats=heats, **lengths))


def _changed(rest: Rest, names: dict[int, str]) -> tuple[Changed, ...]:
    night = rest.night
    lanes = {place: str(lane) for place, lane in enumerate(night.lanes, start=1)}

    def told(heats: Sequence[tuple[int, str]]) -> str:
        return ", ".join(_("{heat} on {lane}").format(heat=heat, lane=lane) for heat, lane in heats) or _("nothing")

    return tuple(
        Changed(
            number=change.driver,
            name=names[change.driver],
            before=told([(night.planned_number(heat), lanes[lane]) for heat, lane in change.before]),
            after=told([(night.number_of(heat), lanes[lane]) for heat, lane in change.after]),
        )
        for change in rest.plan.changes
    )


def _owed(rest: Rest, names: dict[int, str]) -> tuple[Owed, ...]:
    night = rest.night
    lanes: dict[int, list[int]] = {}
    for driver, lane in rest.plan.owed:
        lanes.setdefault(driver, []).append(lane)
    means = _mean_laps(night)
    groups: dict[tuple[str, str], list[str]] = {}
    for driver, owed in sorted(lanes.items()):
        laps = str(round(means[driver] * len(owed))) if driver in means else ""
        words = ", ".join(str(night.lanes[lane - 1]) for lane in sorted(owed))
        groups.setdefault((words, laps), []).append(f"{driver} {names[driver]}")
    return tuple(Owed(lanes=words, names=", ".join(who), laps=laps) for (words, laps), who in groups.items())


def _mean_laps(night: Night) -> dict[int, Fraction]:
    """What each has driven on a lane in the mean so far, in laps."""
    found: dict[int, list[Fraction]] = {}
    for heat, row in zip(night.frozen, night.state.run, strict=True):
        clock = night.clocks[heat.pk]
        for lane, driver in zip(night.lanes, row, strict=True):
            driven = clock.laps_on(lane.number) if driver is not None else None
            if driver is not None and driven is not None:
                found.setdefault(driver, []).append(Fraction(driven.laps.total_sections, driven.laps.divisor))
    return {driver: sum(each, Fraction(0)) / len(each) for driver, each in found.items()}


# ---- choices ---------------------------------------------------------------------------------------------------------


# What each choice is called: {one} is a driver or a lane, {other} a driver, {heat} the number of a heat.
_WORDS = {
    "out": _lazy("{one} races no more"),
    "later": _lazy("{one} cannot race before heat {heat}"),
    "until": _lazy("{one} has to leave after heat {heat}"),
    "apart": _lazy("{one} and {other} are in no heat together"),
    "lanes_out": _lazy("{one} is out for the night"),
    "lanes_back": _lazy("{one} is back from heat {heat} on"),
    "stay": _lazy("{one} is not let in"),
}


def choices_said(night: Night, choices: Choices) -> list[Said]:
    """Everything that makes this plan differ from the one that stands, in words."""
    drivers = {number: shown_name(entry) for number, entry in night.entries.items()}
    lanes = {lane.number: str(lane) for lane in night.lanes}
    said = [Said(_("{name} is out, by the entry desk").format(name=drivers[number])) for number in night.gone]
    for number in night.joined:
        words = _("{name} joins as number {number}").format(name=drivers[number], number=number)
        said.append(Said(words, address_of(with_more(choices, "stay", number))))
    for name, words in _WORDS.items():
        names = lanes if name.startswith("lanes") else drivers
        for value in getattr(choices, name):
            one, other = value if isinstance(value, tuple) else (value, 0)
            if one in names and (name != "apart" or other in names):
                text = words.format(one=names[one], other=names.get(other, ""), heat=other)
                said.append(Said(text, address_of(without(choices, name, value))))
    if choices.finish:
        said.append(Said(_finish_words(night, choices.finish), address_of(replace(choices, finish=""))))
    return said


def _finish_words(night: Night, finish: str) -> str:
    if night.heats_fit is None or night.runs_each is None:
        return _("Over by {time}: nobody said when racing starts, so it is not known what fits").format(time=finish)
    heats = ngettext("{n} heat fits", "{n} heats fit", night.heats_fit).format(n=night.heats_fit)
    if night.state.rounds == 1:
        runs = ngettext("everybody drives {n} lane", "everybody drives {n} lanes", night.runs_each)
    else:
        runs = ngettext("everybody drives {n} heat", "everybody drives {n} heats", night.runs_each)
    return _("Over by {time}: {heats}, {runs}").format(time=finish, heats=heats, runs=runs.format(n=night.runs_each))


def going_on(night: Night, choices: Choices) -> list[GoingOn]:
    """Those who race on, in the order of their numbers."""
    left = night.lanes_left()
    return [
        GoingOn(
            number=number,
            name=shown_name(night.entries[number]),
            lanes_left=left[number],
            is_new=number in night.joined,
            out=address_of(with_more(choices, "out", number)),
        )
        for number in night.state.going_on()
    ]


def lane_choices(night: Night, choices: Choices) -> list[LaneChoice]:
    """The track's lanes and what was said of each."""
    back = dict(choices.lanes_back)
    return [
        LaneChoice(
            lane=lane,
            is_out=lane.number in choices.lanes_out,
            back_from=back.get(lane.number),
            address=address_of(
                without(choices, "lanes_out", lane.number)
                if lane.number in choices.lanes_out
                else with_more(choices, "lanes_out", lane.number)
            ),
        )
        for lane in night.lanes
    ]


def reason_for(night: Night, choices: Choices) -> str:
    """What a re-draw is for, in a few words to begin with: who left, who came, which lane is out."""
    names = {number: str(entry) for number, entry in night.entries.items()}
    left = [names[number] for number in night.state.withdrawn if number in night.draw.report["seats"]]
    come = [names[number] for number in night.joined]
    out = [str(number) for number in choices.lanes_out]
    parts = [
        _("{names} out").format(names=", ".join(left)) if left else "",
        _("{names} in").format(names=", ".join(come)) if come else "",
        _("lane {lanes} out").format(lanes=", ".join(out)) if out else "",
    ]
    return "; ".join(part for part in parts if part)[:300]

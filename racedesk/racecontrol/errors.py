"""What race control refuses, and what it asks about before it saves."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from racedesk.timing.errors import ClockError, LapsError


class AnotherHeatRuns(Refused):
    code = "another_heat_runs"
    message = _("Heat {number} of {race} is still running on this track. End it first.")


class DrawSuperseded(Refused):
    code = "draw_superseded"
    message = _("The heats have been drawn again since: this heat is no longer raced. Go to the new draw.")


class NotInHeat(Refused):
    code = "not_in_heat"
    message = _("Nobody is on lane {lane} in this heat.")


class NotADriverHere(Refused):
    code = "not_a_driver_here"
    message = _("Choose a driver of this club who does not drive another lane of this heat.")


class ReasonMissing(Refused):
    code = "reason_missing"
    message = _("Say why: the reason is kept with it.")


class NotAllowedNow(Refused):
    """What the heat clock said no to; the code is the clock's."""

    messages = {
        "not_allowed": _("That cannot be done now: the heat is {phase_name}."),
        "reason_missing": ReasonMissing.message,
        "lane_unknown": NotInHeat.message,
        "lane_already_out": _("Lane {lane} is out already."),
        "lane_not_out": _("Lane {lane} is not out."),
        "laps_already_entered": _("Lane {lane} has its laps already: correct them, with a reason."),
        "no_laps_to_correct": _("Lane {lane} has no laps to correct yet."),
        "lanes_without_laps": _("No laps typed yet for lane {lane_list}."),
        "time_goes_back": _("The clock of this computer has been set back. Wait a moment, then try again."),
    }
    phase_names = {
        "waiting": _("waiting"),
        "ready": _("ready"),
        "countdown": _("counting down"),
        "running": _("running"),
        "track_call": _("held by a track call"),
        "ended": _("over"),
        "closed": _("over and its laps are in"),
    }

    def __init__(self, error: ClockError) -> None:
        params: dict[str, Any] = {"explanation": error.explanation} | error.params
        params["phase_name"] = self.phase_names.get(str(params.get("phase", "")), "")
        params["lane_list"] = ", ".join(str(lane) for lane in params.get("lanes", ()))
        super().__init__(**params)
        self.code = error.code
        self.message = self.messages.get(error.code, "{explanation}")


class LapsNotUnderstood(Refused):
    """What was typed is no lap count on this track by this race's method; the code is the engine's."""

    messages = {
        "empty": _("Type the laps, 0 if there were none."),
        "negative": _("A lap count cannot be below zero."),
        "not_a_number": _("{text} is not a lap count."),
        "not_understood": _("{text} is not a lap count. Write 18, 18.45, 18 + 9/20, 18 laps 9 or 18/9."),
        "part_not_counted": _("This race counts whole laps only: leave the part lap out."),
        "part_before_last_lane": _(
            "In this race the part lap is carried to the next lane and read once, after the driver's last lane: "
            "leave it out here."
        ),
        "part_not_on_track": _(
            "{text} is not a whole number of this track's {divisor} sections a lap. The nearest are {nearest_list}."
        ),
        "other_division": _("This track divides a lap into {divisor} sections, not {written}."),
        "section_too_big": _(
            "This track has {divisor} sections a lap, so a part lap is at most one less, not {sections}."
        ),
    }

    def __init__(self, error: LapsError, *, lane: int) -> None:
        params: dict[str, Any] = {"explanation": error.explanation, "lane": lane} | error.params
        params["nearest_list"] = _(" or ").join(str(count) for count in params.get("nearest", ()))
        super().__init__(**params)
        self.code = error.code
        self.message = self.messages.get(error.code, "{explanation}")


class MoreLapsThanTime(Refused):
    code = "more_laps_than_time"
    message = _("{laps} laps in {time} is more than the clock allows on lane {lane}. Type what was counted.")


class LapsNeedConfirming(Refused):
    """Unusual, yet possible: asked about once, saved when confirmed."""

    code = "laps_need_confirming"
    message = _("Lane {lane}: {question}")

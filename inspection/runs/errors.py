"""What cannot be done with runs."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class LapNotUnderstood(Refused):
    """One of the laps is no time; place is counted from 1."""

    code = "lap_not_understood"
    message = _("Lap {place}, “{text}”, is no lap time. Type seconds such as {example}, with a blank between laps.")


class LapsNotParted(Refused):
    """Commas everywhere: nobody can say which of them part laps."""

    code = "laps_not_parted"
    message = _("Lap {place}, “{text}”: a comma may part laps or decimals here. Put blanks between the laps.")


class LapsMissing(Refused):
    code = "laps_missing"
    message = _("A run needs at least one lap time.")


class TooManyLaps(Refused):
    code = "too_many_laps"
    message = _("A run holds {most} laps at most. Split it into two.")


class LaneNotOnTrack(Refused):
    code = "lane_not_on_track"
    message = _("{track} has no lane {lane}.")


class NotOfThisCar(Refused):
    """A bench sheet of another car."""

    code = "sheet_of_another_car"
    message = _("{sheet} belongs to another car.")


class RunChangedMeanwhile(ChangedMeanwhile):
    code = "run_changed_meanwhile"

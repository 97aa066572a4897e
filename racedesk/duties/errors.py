"""Why a roster does not take what was asked of it."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class ExemptionNeedsReason(Refused):
    code = "exemption_needs_reason"
    message = _("Say why {entry} does not marshal: the reason is kept with the entry.")


class HelperNeedsName(Refused):
    code = "helper_needs_name"
    message = _("Give the helper's name.")


class HelperRaces(Refused):
    code = "helper_races"
    message = _("{name} races here and is on the roster already. A helper is somebody who does not race.")


class HelperStandsElsewhere(Refused):
    code = "helper_stands_elsewhere"
    message = _("{name} stands at post {post} already. Release {name} from there first.")


class PostHasHelper(Refused):
    code = "post_has_helper"
    message = _("{name} stands at post {post} already. Release {name} from there first.")


class HelperGone(Refused):
    code = "helper_gone"
    message = _("This helper has been released already.")


class NoSuchDuty(Refused):
    code = "no_such_duty"
    message = _("That duty is not on the roster any more. Look at the roster as it stands.")


class NoTariff(Refused):
    code = "no_tariff"
    message = _("This race takes no laps for a missed duty. Give it a number of laps first, where the race is changed.")


class MissedAlready(Refused):
    code = "missed_already"
    message = _("{entry} has the penalty for this heat already.")


class NobodyMissedYet(Refused):
    code = "nobody_missed_yet"
    message = _("Heat {number} is not at the track yet: nobody can have missed it.")

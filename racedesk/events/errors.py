"""What the planning of events refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class EventRefused(Refused):
    """Base of the refusals of this slice."""


class TrackWithoutLayout(EventRefused):
    code = "track_without_layout"
    message = _("{track} has no layout yet: give its lanes first, then plan the night.")


class RaceNameTaken(EventRefused):
    code = "race_name_taken"
    message = _("This night already has a race called {name}. Give the new one another name.")


class NoRuleSheetGiven(EventRefused):
    code = "no_rule_sheet_given"
    message = _("Cars go through tech in this race, so choose the rule sheet, or say that there is no tech tonight.")


class NoRuleSheetInForce(EventRefused):
    code = "no_rule_sheet_in_force"
    message = _("No published revision of {sheet} is in force on {date}. Publish one, or choose another sheet.")


class FixedByTheDraw(EventRefused):
    code = "fixed_by_the_draw"
    message = _("The heats are drawn, so this can no longer change: {fields}.")


class FixedByTheHeats(EventRefused):
    code = "fixed_by_the_heats"
    message = _("Heats have been run by it, so this can no longer change: {fields}.")


class FixedByTech(EventRefused):
    code = "fixed_by_tech"
    message = _("Cars have been inspected for {race}, so this can no longer change: {fields}.")

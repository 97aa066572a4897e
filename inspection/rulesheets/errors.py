"""What the rule sheets' services refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NoClauses(Refused):
    code = "no_clauses"
    message = _("The sheet has no clause yet. Add one, then publish.")


class ProblemsRemain(Refused):
    code = "problems_remain"
    message = _("Clauses {numbers} cannot be published as they stand. Mend them, or let a judge decide and say why.")


class ChangeNoteMissing(Refused):
    code = "change_note_missing"
    message = _("Say in a few words what changed since revision {number}.")


class InForceTooEarly(Refused):
    code = "in_force_too_early"
    message = _("Revision {number} is in force from {day}. The next one cannot hold from an earlier day.")


class NotADraft(Refused):
    code = "not_a_draft"
    message = _("“{name}” has no draft to publish. Start the next draft first.")


class ClauseNotPublished(Refused):
    code = "clause_not_published"
    message = _("A ruling explains a published clause, and this sheet has none such.")

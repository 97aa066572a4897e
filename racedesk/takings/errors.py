"""What the cash box refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class PaymentRefused(Refused):
    """Base of the refusals of this slice."""


class AmountNotPositive(PaymentRefused):
    code = "amount_not_positive"
    message = _("Give an amount above zero. To take a line back, use its own button.")


class AmountTooLarge(PaymentRefused):
    code = "amount_too_large"
    message = _("The largest amount is {largest}.")


class CreditNotThere(PaymentRefused):
    code = "credit_not_there"
    message = _("{driver} has {credit} of credit, not {amount}.")


class MoreThanPaid(PaymentRefused):
    code = "more_than_paid"
    message = _("{driver} has paid {paid} tonight; {amount} cannot be paid back.")


class AlreadyTakenBack(PaymentRefused):
    code = "already_taken_back"
    message = _("This line has been taken back already.")


class OwedChanged(ChangedMeanwhile):
    """The same tap twice, or two desks at once: the second is told before money is written down twice."""

    code = "owed_changed"
    message = _(
        "Something was written down for {driver} meanwhile: {owed} is owed now. What you typed is still here; "
        "write it down again if it comes on top."
    )

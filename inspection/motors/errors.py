"""What cannot be done with single motors."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class MotorNumberTaken(Refused):
    code = "motor_number_taken"
    message = _("Number {number} is on another motor, {motor}. Each motor has one of its own.")


class StrangerInMotor(Refused):
    """The owner or the kind of motor is of another club, or the part is no motor."""

    code = "stranger_in_motor"
    message = _("{name} is not of this club, or no motor.")


class NothingMeasured(Refused):
    code = "nothing_measured"
    message = _("Give the speed or the current that was measured.")


class MotorChangedMeanwhile(ChangedMeanwhile):
    code = "motor_changed_meanwhile"

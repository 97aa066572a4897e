"""What the services of gauges and characteristics refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class GaugeNameTaken(Refused):
    code = "gauge_name_taken"
    message = _("There is already a gauge called “{name}”. Give this one another name, such as “{name} 2”.")


class CharacteristicCodeTaken(Refused):
    code = "characteristic_code_taken"
    message = _("“{name}” is already in the register.")

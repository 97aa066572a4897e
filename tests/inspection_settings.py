"""The inspection side alone: proof that a tech day or a bench needs no race."""

from copy import deepcopy

from django.utils.translation import gettext_lazy as _

from tests.settings import *  # noqa: F403
from tests.settings import INSTALLED_APPS, TEMPLATES

TEMPLATES = deepcopy(TEMPLATES)
for _engine in TEMPLATES:
    _processors = _engine["OPTIONS"]["context_processors"]
    _processors[:] = [name for name in _processors if not name.startswith("racedesk.")]
INSTALLED_APPS = [app for app in INSTALLED_APPS if not app.startswith("racedesk")]
ROOT_URLCONF = "inspection.urls"
CARS_BY_DECISION = ""  # a race side would name who decides that a car races all the same
NAVIGATION = [
    (_("Drivers"), "driver-list", "club.view_private"),
    (_("Cars"), "car-list", "club.view_private"),
    (_("Bench"), "bench", "club.use_bench"),
    (_("Rules"), "rulesheet-list", None),
    (_("Club"), "club-detail", "club.view_private"),
]

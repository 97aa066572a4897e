"""System checks of the installation: what is missing is said at start-up, with what to do about it.

racedesk.W001  libharfbuzz-subset is missing: PDFs still come out, about three times slower.
racedesk.W002  served over HTTPS, but it answers to any host name.
"""

import ctypes.util
from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core import checks


@checks.register(deploy=True)
def check_font_subsetter(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[checks.CheckMessage]:
    """WeasyPrint cuts fonts down with this library when the system has it, and in Python when not."""
    if ctypes.util.find_library("harfbuzz-subset"):
        return []
    return [
        checks.Warning(
            "libharfbuzz-subset is not installed: printing works, but each PDF takes about three times as long.",
            hint="On Debian or Ubuntu: apt-get install libharfbuzz-subset0.",
            id="racedesk.W001",
        )
    ]


@checks.register(checks.Tags.security, deploy=True)
def check_hosts_are_named(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[checks.CheckMessage]:
    """A club's own network changes its addresses; an installation on the open net has names, and says them."""
    if not settings.TLS or "*" not in settings.ALLOWED_HOSTS:
        return []
    return [
        checks.Warning(
            "This installation is served over HTTPS and answers to any host name.",
            hint="Name the hosts it answers to in RACEDESK_HOSTS.",
            id="racedesk.W002",
        )
    ]

"""The race side: events, entries, draws, heats, results and seasons."""

from django.apps import AppConfig


class RaceDeskConfig(AppConfig):
    name = "racedesk"
    label = "racedesk"
    verbose_name = "Races"

    def ready(self) -> None:
        from racedesk import checks  # noqa: F401, PLC0415  registers the system checks

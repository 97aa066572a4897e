"""The clock by which the invented past is written down: each thing carries the moment at which it would have happened.

Services write the log, findings and signatures with the time that Django's own clock tells, and what is written is
never changed. So the loader, which runs in a process of its own, tells that clock the time instead of mending rows.
"""

import datetime as dt
from types import TracebackType
from typing import Self

from django.utils import timezone


class ScenarioClock:
    """Inside `with`, `django.utils.timezone.now()` answers `now`, whose time only moves as it is told."""

    def __init__(self, now: dt.datetime) -> None:
        self.now = now

    def __enter__(self) -> Self:
        self._real = timezone.datetime
        timezone.datetime = _datetime_told_by(self)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        timezone.datetime = self._real

    def set(self, now: dt.datetime) -> None:
        """It is this moment now."""
        self.now = now

    def forward(self, seconds: float) -> dt.datetime:
        """So many seconds later."""
        self.now += dt.timedelta(seconds=seconds)
        return self.now

    @property
    def ms(self) -> int:
        """Milliseconds since 1970, as heat events count."""
        return int(self.now.timestamp() * 1000)


def _datetime_told_by(clock: ScenarioClock) -> type[dt.datetime]:
    class ToldDatetime(dt.datetime):
        @classmethod
        def now(cls, tz: dt.tzinfo | None = None) -> dt.datetime:  # type: ignore[override]
            return clock.now.astimezone(tz)

    return ToldDatetime

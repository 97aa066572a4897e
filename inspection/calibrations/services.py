"""Log the checks of gauges before the cars."""

import datetime as dt

from django.db import transaction
from django.utils import timezone

from inspection.calibrations.errors import ErrorNotStated
from inspection.calibrations.selectors import is_within
from inspection.clubs.services import write_log
from inspection.models import Gauge, GaugeCheck, User
from inspection.studies.errors import NothingToRead
from inspection.studies.selectors import kind_measured
from inspection.units import Quantity

SENT_TWICE = dt.timedelta(seconds=30)


@transaction.atomic
def record_check(*, gauge: Gauge, nominal: Quantity, reading: Quantity, note: str = "", by: User | None) -> GaugeCheck:
    """Log what a gauge showed for a check piece, and whether that is within its permissible error, decided exactly.

    The same check sent twice within half a minute is one. Raises NothingToRead and ErrorNotStated.
    """
    held = Gauge.objects.hold(gauge.pk, "club")
    if kind_measured(held) is None:
        raise NothingToRead(name=held.name)
    within = is_within(held, nominal, reading)
    if within is None:
        raise ErrorNotStated(name=held.name)
    now = timezone.now()
    same = {"nominal": nominal.canonical, "reading": reading.canonical, "note": note, "by": by}
    sent = held.checks.filter(at__gte=now - SENT_TWICE, **same).first()
    if sent is not None:
        return sent
    check = GaugeCheck.objects.create(gauge=held, is_within=within, at=now, **same)
    said = {"nominal": check.nominal, "reading": check.reading, "within": within}
    write_log(club=held.club, action="checked gauge", subject=held, by=by, **said)
    return check

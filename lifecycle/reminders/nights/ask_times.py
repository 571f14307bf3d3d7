"""The hours of a frost night: when people are asked, reminded, woken, and told to uncover."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from lifecycle.models import FrostNight
from lifecycle.reminders.clock import MORNING, QUIET_FROM, wall_time

LONG_STEP = timedelta(minutes=45)
SHORT_STEP = timedelta(minutes=20)
"""Time to answer before the next are asked; the short one where little is left of the day."""
LITTLE_TIME = timedelta(hours=4)
NO_TIME = timedelta(minutes=90)
"""Below this everybody on call and the coordinator are asked at once."""
BEGIN_BEFORE = timedelta(hours=4, minutes=30)
"""Asking begins so long before sunset: after midday's forecast, and with long steps."""
LAST_LOOK = timedelta(minutes=60)
PLAN_HOUR = time(16, 0)
UNCOVER_FROM = time(7, 30)
UNCOVER_BY = time(9, 30)
MIDDAY = time(12, 0)
_NO_SUNSET = time(18, 0)
"""Where the sun does not set that day, and where nobody has worked it out."""
_NO_LOW = time(6, 0)


@dataclass(frozen=True, slots=True)
class NightTimes:
    """Instants of one frost night, in UTC.

    ``dusk`` is sunset, or 21:00 where the sun sets later: nobody is asked in quiet hours.
    """

    morning: datetime
    begin: datetime
    last_look: datetime
    dusk: datetime
    quiet_from: datetime
    low: datetime
    plan_from: datetime
    plan_until: datetime
    uncover_from: datetime
    uncover_by: datetime
    midday_after: datetime

    def step_from(self, start: datetime) -> timedelta | None:
        """Return the time between two steps of asking that begins at ``start``.

        None: no time for steps, everybody at once.
        """
        left = self.dusk - start
        if left < NO_TIME:
            return None
        return LONG_STEP if left >= LITTLE_TIME else SHORT_STEP


def times_of(night: FrostNight) -> NightTimes:
    """Return the hours of a frost night on its site's clock."""
    zone = night.site.time_zone
    evening, next_day = night.night, night.night + timedelta(1)
    day_before = night.night - timedelta(1)
    morning = wall_time(evening, MORNING, zone)
    quiet_from = wall_time(evening, QUIET_FROM, zone)
    sunset = night.sunset_at or wall_time(evening, _NO_SUNSET, zone)
    dusk = min(sunset, quiet_from)
    return NightTimes(
        morning=morning,
        begin=max(dusk - BEGIN_BEFORE, morning),
        last_look=dusk - LAST_LOOK,
        dusk=dusk,
        quiet_from=quiet_from,
        low=max(night.low_at or wall_time(next_day, _NO_LOW, zone), dusk),
        plan_from=wall_time(day_before, PLAN_HOUR, zone),
        plan_until=wall_time(day_before, QUIET_FROM, zone),
        uncover_from=wall_time(next_day, UNCOVER_FROM, zone),
        uncover_by=wall_time(next_day, UNCOVER_BY, zone),
        midday_after=wall_time(next_day, MIDDAY, zone),
    )

"""Not seen yet: a resting plant past its expected first growth is late, not lost."""

from datetime import date, timedelta

from lifecycle.care.seasons import next_planting, season_at
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.spring import wake_window
from lifecycle.handbook import days
from lifecycle.life.fold import Life
from lifecycle.life.phases import Phase


def expected_first_growth(life: Life, dates: SiteDates) -> date | None:
    """Return the day by which a resting plant should show growth, or None if not resting."""
    if life.phase is not Phase.RESTING:
        return None
    coming = next_planting(dates, life.phase_since, life.phase_since)
    if life.under_roof:
        return wake_window(coming, dates.policy).latest
    spring = season_at(dates, coming.plant_out.best)
    return spring.spring_freeze_risk or coming.plant_out.earliest


def not_seen_yet(life: Life, dates: SiteDates, today: date) -> bool:
    """Return whether a resting plant is past its expected first growth by four weeks."""
    expected = expected_first_growth(life, dates)
    return expected is not None and today > expected + timedelta(days("wake.unseen_after"))

"""May tender plants go out? Seven nights and the record, crop by crop, and who is waiting."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.care import setting_out
from lifecycle.care.outlook import Ground, Nights
from lifecycle.care.readiness import Readiness, SevenNights, readiness
from lifecycle.care.seasons import Season, season, season_at
from lifecycle.care.site_dates import NAMES, PEPPER_NIGHTS, SiteDates, for_crop
from lifecycle.care.steps import Window
from lifecycle.handbook import CROPS, SOURCES, Crop
from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Plant, Site
from lifecycle.reminders.work.planning import climate_of
from lifecycle.web.door import enter, page, rows, site_or_404
from lifecycle.web.weather import nights_chart
from lifecycle.web.words import counted, day_words

ANSWERS = {
    Readiness.READY: "Ready",
    Readiness.ALLOWED: "Allowed, with a warning",
    Readiness.HOLD: "Hold",
}
_WAITING = (Phase.SEEDLING, Phase.HARDENING, Phase.WAKING)


@dataclass(frozen=True, slots=True)
class CropAnswer:
    """What a page says of one kind of crop."""

    name: str
    answer: str
    verdict: SevenNights | None
    window: Window
    reason: str
    source: str
    setting: str
    waiting: str
    depth: str


@require_safe
def planting_out(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show for each crop whether it may go out, by the coming nights and by the record."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    today = site.local_day(timezone.now())
    climate = climate_of(site)
    ahead = climate.nights is not None and climate.nights.still_ahead(today)
    nights = climate.nights if ahead else None
    wanted = climate.dates.planting_nights if climate.dates else PEPPER_NIGHTS
    context = {
        "site": site,
        "today": today,
        "basis": climate.basis,
        "planned": climate.dates is not None,
        "nights": nights
        and [(nights.first + timedelta(number), low) for number, low in enumerate(nights.lows_c)],
        "told_by": nights.told_by if nights else "",
        "chart": nights and nights_chart.seven_nights(nights, wanted, member.person),
        "crops": _answers(member, site, climate.dates, nights, today) if climate.dates else [],
    }
    return page(request, "planting_out.html", context)


def _answers(
    member: Membership, site: Site, dates: SiteDates, nights: Nights | None, today: date
) -> list[CropAnswer]:
    """Return an answer for peppers, and for each other crop that waits at the site."""
    waiting = _waiting(member, site)
    found = []
    for group, crop in _first_of_each().items():
        if group == "pepper" or waiting.get(group):
            found.append(_answer(group, crop, dates, nights, today, waiting.get(group, 0)))
    return found


def _first_of_each() -> dict[str, Crop]:
    """Return one crop for each group that is set out by its nights."""
    found: dict[str, Crop] = {}
    for crop in CROPS.values():
        if crop.group in NAMES:
            found.setdefault(crop.group, crop)
    return found


def _waiting(member: Membership, site: Site) -> dict[str, int]:
    """Return how many plants of each group wait under a roof, with one query."""
    counts = (
        rows(Plant, member)
        .filter(site=site, phase__in=_WAITING)
        .order_by()
        .values("variety__species")
        .annotate(number=Count("pk"))
    )
    found: dict[str, int] = {}
    for row in counts:
        group = CROPS[row["variety__species"]].group
        found[group] = found.get(group, 0) + row["number"]
    return found


def _answer(
    group: str,
    crop: Crop,
    dates: SiteDates,
    nights: Nights | None,
    today: date,
    waiting: int,
) -> CropAnswer:
    own = for_crop(dates, crop)
    coming = season_at(own, today)
    over = coming.autumn.best
    if coming.plant_out.latest < today and over <= today:
        coming = season(own, coming.year + 1)
    wanted = own.planting_nights
    verdict = None
    if nights is not None:
        verdict = readiness(nights.lows_c, wanted.ready_c, wanted.allowed_c)
    return CropAnswer(
        name=NAMES[group].capitalize(),
        answer=_answer_words(verdict, coming, today),
        verdict=verdict,
        window=coming.plant_out,
        reason=coming.plant_out_reason,
        source=SOURCES[coming.plant_out_source],
        setting="plant_out_night" if group == "pepper" else "",
        waiting=f"{counted(waiting, 'plant')} waiting" if waiting else "",
        depth=f"{setting_out.depth(crop, dates.policy, Ground())} Water in, and label each.",
    )


def _answer_words(verdict: SevenNights | None, coming: Season, today: date) -> str:
    """Return the answer: by the nights where they are typed and the season is near."""
    window = coming.plant_out
    if today > window.latest:
        return (
            f"Late, by the record: the window closed on {day_words(window.latest, today)}, and the "
            f"season ends about {day_words(coming.autumn.best, today)}"
        )
    if today < window.earliest - timedelta(14):
        return f"Too early: by the record from {day_words(window.earliest, today)}"
    if verdict is not None:
        return ANSWERS[verdict.answer]
    if today < window.earliest:
        return f"Hold: by the record from {day_words(window.earliest, today)}"
    if today < window.best:
        return "Allowed by the record, with a warning: type the coming nights"
    return "Ready by the record: type the coming nights to be sure"

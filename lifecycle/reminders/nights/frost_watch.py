"""Judge the coming nights of every site where something stands out, and keep what follows."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F, Max, OuterRef, Q, QuerySet, Subquery

from lifecycle.agronomy.night_odds import NightLow, low_after
from lifecycle.agronomy.night_prior import NightPrior
from lifecycle.agronomy.sun import sunrise_sunset
from lifecycle.care.frost_call import NIGHTS_AHEAD, Signs, State, next_state
from lifecycle.care.frost_night import PlaceVerdict, Ratios, SiteVerdict, Stock, judge
from lifecycle.care.frost_policy import needs_curve
from lifecycle.models import FrostBed, FrostNight, GardenCover, NightForecast, Site
from lifecycle.records.ground.out_there import OutPlace, has_plants_out, places_out, stock_of
from lifecycle.records.ground.settings import policy_in_force
from lifecycle.records.nights.frost_curve import is_missing, ratios_in_force, work_out
from lifecycle.records.weather.forecast_age import stale
from lifecycle.reminders.clock import MORNING, wall_time
from lifecycle.reminders.weather.forecast_skill import calm_of
from lifecycle.reminders.weather.night_forecasts import error_for, in_force, prior_of_site

log = logging.getLogger(__name__)

JUDGED_EVERY = timedelta(minutes=10)
OVER_AT = time(12, 0)
"""On the day after, by the site's clock: the night is past and its record closes."""

_ZONES_BEHIND, _ZONES_AHEAD = timedelta(hours=12), timedelta(hours=14)


def watch_all(*, now: datetime) -> int:
    """Close what is past and judge every site that has news; returns how many nights changed."""
    closed = close_past(FrostNight.objects.all(), now)
    changed = 0
    for site in sites_with_news(now):
        try:
            changed += watch_site(site, now)
        except Exception:  # one site that cannot be judged must not silence the others
            log.exception("The nights of site %s could not be judged.", site.pk)
    return closed + changed


def sites_with_news(now: datetime) -> list[Site]:
    """Return the sites to judge: those with a new forecast, or judged ten minutes ago.

    One query for all of them, so that a minute in which nothing happens costs next to nothing.
    """
    first, last = (now - _ZONES_BEHIND).date(), (now + _ZONES_AHEAD).date()
    nights = FrostNight.objects.filter(site=OuterRef("pk"))
    forecasts = NightForecast.objects.filter(
        site=OuterRef("pk"),
        received_at__lte=now,
        night__range=(first, last + timedelta(NIGHTS_AHEAD)),
    )
    sites = Site.objects.annotate(
        judged=_greatest(nights.filter(night__gte=first), "judged_at"),
        heard=_greatest(forecasts, "received_at"),
    )
    # Judged in the future: the clock was set back since.
    out_of_time = Q(judged__lte=now - JUDGED_EVERY) | Q(judged__gt=now)
    due = Q(judged__isnull=True) | out_of_time | Q(judged__lt=F("heard"))
    open_nights = FrostNight.objects.exclude(state=FrostNight.State.OVER)
    concerned = Q(has_plants_out(), heard__isnull=False) | Q(
        pk__in=open_nights.filter(night__gte=first - timedelta(1)).values("site_id")
    )
    return list(sites.filter(due & concerned).order_by("pk"))


def _greatest(rows: QuerySet[FrostNight] | QuerySet[NightForecast], column: str) -> Subquery:
    found = rows.order_by().values("site").annotate(newest=Max(column)).values("newest")
    return Subquery(found)


def watch_site(site: Site, now: datetime) -> int:
    """Judge the night under way, tonight and the next three; returns how many nights changed.

    Only what stands out and can be hurt makes a night; without a forecast there is none. The
    same forecasts, plants and hour change nothing.
    """
    changed = close_past(FrostNight.objects.filter(site=site), now)
    tonight = site.local_day(now)
    places = places_out(site)
    tender = any(plant.limits for each in places for plant in each.spot.plants)
    standing = FrostNight.objects.exclude(state=FrostNight.State.OVER)
    kept = standing.filter(site=site, night__gte=tonight - timedelta(1))
    rows = {row.night: row for row in kept}
    if not tender and not rows:
        return changed
    if needs_curve(policy_in_force(site)):
        _work_out_missing(site, now)
    setting = _Setting(
        site=site,
        places=places,
        ratios=ratios_in_force(site),
        stock=stock_of(GardenCover.objects.filter(site=site)),
        prior=prior_of_site(site),
        now=now,
    )
    for lead in range(-1, NIGHTS_AHEAD + 1):
        night = tonight + timedelta(lead)
        forecast = in_force(site, night, now)
        if forecast is None or not (tender or night in rows):
            continue
        if lead >= 0 or _low_is_to_come(site, rows.get(night), forecast, now):
            changed += _keep(setting, lead, forecast)
    _work_out_missing(site, now)
    return changed


def _work_out_missing(site: Site, now: datetime) -> None:
    """Work out the curve of a record that has none; the nights are judged even if that fails."""
    try:
        if is_missing(site):
            work_out_curve(site, now)
    except Exception:
        log.exception("What each rule costs at site %s could not be worked out.", site.pk)


def _low_is_to_come(
    site: Site, row: FrostNight | None, forecast: NightForecast, now: datetime
) -> bool:
    """Whether last evening's night has its low ahead; 07:00 where nobody knows its hour."""
    told = (_sun(site, forecast)["low_at"], row.low_at if row else None)
    unknown = wall_time(forecast.night + timedelta(1), MORNING, site.time_zone)
    return now < max((low for low in told if low is not None), default=unknown)


def work_out_curve(site: Site, now: datetime) -> None:
    """Work out what each rule costs on the site's record, by the errors of its forecasts."""
    work_out(site, error_for(site, 0, None, now).spread_c)


def close_past(nights: QuerySet[FrostNight], now: datetime) -> int:
    """End those of the nights whose next day's noon is past; returns how many."""
    latest = (now + _ZONES_AHEAD - timedelta(hours=OVER_AT.hour)).date() - timedelta(1)
    standing = nights.exclude(state=FrostNight.State.OVER).filter(night__lte=latest)
    over = [
        night.pk
        for night in standing.select_related("site")
        if now >= wall_time(night.night + timedelta(1), OVER_AT, night.site.time_zone)
    ]
    return FrostNight.objects.filter(pk__in=over).update(state=State.OVER) if over else 0


@dataclass(frozen=True, slots=True)
class _Setting:
    """What all nights of a site share while they are judged."""

    site: Site
    places: Sequence[OutPlace]
    ratios: Ratios
    stock: Sequence[Stock]
    prior: NightPrior | None
    now: datetime


@dataclass(frozen=True, slots=True)
class Judged:
    """A night as its forecast lets it be judged."""

    low: NightLow
    calm: bool | None
    verdict: SiteVerdict


def _judged(setting: _Setting, lead: int, forecast: NightForecast) -> Judged:
    calm = calm_of(forecast.wind_m_s)
    error = error_for(setting.site, lead, calm, setting.now)
    low = low_after(forecast.low_c, error, setting.prior, forecast.night)
    spots = [each.spot for each in setting.places]
    verdict = judge(spots, low, calm=calm, ratios=setting.ratios, stock=setting.stock)
    return Judged(low, calm, verdict)


def _keep(setting: _Setting, lead: int, forecast: NightForecast) -> int:
    """Write one night and its places; 1 if anything a person reads changed."""
    site, now = setting.site, setting.now
    judged = _judged(setting, lead, forecast)
    old = stale(forecast, now)
    signs = Signs(judged.verdict.fear, lead <= 0 and _is_of_today(forecast, now), old)
    with transaction.atomic():
        row = FrostNight.objects.select_for_update().filter(site=site, night=forecast.night).first()
        before = row.state if row else FrostNight.State.QUIET
        state = next_state(State(before), signs, by_hand=bool(row and row.called_by_id))
        values = {
            "garden_id": site.garden_id,
            "state": state.value,
            "forecast": forecast,
            "expected_c": judged.low.expected_c,
            "sd_c": judged.low.sd,
            "kill_chance": judged.verdict.kill_chance,
            "harm_chance": judged.verdict.harm_chance,
            "kill_ratio": setting.ratios.kill,
            "harm_ratio": setting.ratios.harm,
            "calm": judged.calm,
            "people_needed": judged.verdict.people,
            "stale": old,
            "judged_at": now,
            **_sun(site, forecast),
            **_turn(row, state, now),
        }
        kept, made = FrostNight.objects.update_or_create(
            site=site, night=forecast.night, defaults=values
        )
        beds = _keep_beds(kept, judged.verdict.places)
    return 1 if made or before != state or beds else 0


def _is_of_today(forecast: NightForecast, now: datetime) -> bool:
    """Whether the day's first forecast is in, or the morning has come without one."""
    site = forecast.site
    day = forecast.night
    return site.local_day(forecast.received_at) >= day or now >= wall_time(
        day, MORNING, site.time_zone
    )


def _turn(row: FrostNight | None, state: State, now: datetime) -> dict[str, datetime | None]:
    """Return when a night was called and called off, where that changes now."""
    before = row.state if row else FrostNight.State.QUIET
    if state is State.CALLED and before != State.CALLED:
        return {"called_at": (row.called_at if row else None) or now, "called_off_at": None}
    if state is State.CANCELLED and before != State.CANCELLED:
        return {"called_off_at": now}
    return {}


def _sun(site: Site, forecast: NightForecast) -> dict[str, datetime | None]:
    """Return sunset, and the hour of the low: told, or about sunrise (FAO 2005, ch. 5).

    Where the sun sets after midnight, an evening's sunset is that of the next date.
    """
    if site.longitude is None:
        return {"sunset_at": None, "low_at": forecast.low_at}
    zone = ZoneInfo(site.time_zone)
    evening = sunrise_sunset(site.latitude, site.longitude, forecast.night, zone)
    morning = sunrise_sunset(site.latitude, site.longitude, forecast.night + timedelta(1), zone)
    sunset = evening.sunset
    if sunset is None or sunset.hour < OVER_AT.hour:
        later = morning.sunset
        sunset = later if later is not None and later.hour < OVER_AT.hour else None
    return {"sunset_at": sunset, "low_at": forecast.low_at or morning.sunrise}


def _keep_beds(night: FrostNight, places: Sequence[PlaceVerdict]) -> bool:
    """Write what each place needs; returns whether anything changed.

    A place where nothing stands out any more goes, unless somebody marked it.
    """
    rows = {row.place_id: row for row in night.beds.all()}
    wanted = {place.key: _columns(place) for place in places if _is_tender(place)}
    changed = False
    for key, columns in wanted.items():
        row = rows.pop(key, None)
        if row is None:
            FrostBed.objects.create(
                garden_id=night.garden_id, frost_night=night, place_id=key, **columns
            )
            changed = True
        elif any(getattr(row, name) != value for name, value in columns.items()):
            FrostBed.objects.filter(pk=row.pk).update(**columns)
            changed = True
    idle = [row.pk for row in rows.values() if not row.mark]
    FrostBed.objects.filter(pk__in=idle).delete()
    return changed or bool(idle)


def _is_tender(place: PlaceVerdict) -> bool:
    return any(plant.limits is not None for plant in place.plants)


def _columns(place: PlaceVerdict) -> Mapping[str, str | int]:
    return {
        "action": place.action.value,
        "plants": place.count,
        "protection": place.protection,
        "pieces": place.pieces,
    }

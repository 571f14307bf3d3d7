"""Heat waves, hail and floods at a site: reported, ended, and withdrawn when mistaken."""

from datetime import date, datetime, timedelta

from django.db import transaction

from lifecycle.care.outlook import SiteEvent, Weather
from lifecycle.models import Membership, Site, SiteEventRow
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.refusal import Refused

LOOK_BACK = timedelta(days=60)
"""How long weather counts for the plan. One that nobody ended is let go after that."""

NOTICE = timedelta(days=14)
"""How long after its last day an event is still told of on the pages."""

SUDDEN = frozenset({Weather.HAIL})
"""Weather that is over on the day it comes."""


def begin(
    actor: Membership,
    site: Site,
    *,
    weather: str,
    began_on: date,
    ended_on: date | None,
    note: str,
    now: datetime,
) -> SiteEventRow:
    """Report bad weather at a site; its plants are planned again by the next tick.

    The same weather on the same day is one event. Raises Refused for a day that cannot be,
    or when the weather is on record for that day already.
    """
    require(actor, "weather.type")
    _own(actor, site)
    if weather not in SiteEventRow.Weather.values:
        raise Refused("Choose what befell the site.", "weather")
    kind = SiteEventRow.Weather(weather)
    if Weather(weather) in SUDDEN:
        ended_on = ended_on or began_on
    _check_days(site.local_day(now), began_on, ended_on)
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        for other in SiteEventRow.objects.filter(
            site=site, weather=weather, withdrawn_at__isnull=True
        ):
            if other.began_on == began_on:
                return other
            if other.covers(began_on) or (
                began_on < other.began_on and (ended_on is None or other.began_on <= ended_on)
            ):
                raise Refused(
                    f"{kind.label} from {other.began_on:%-d %B %Y} is on record for these days. "
                    "End or withdraw that one first.",
                    "began_on",
                )
        event = SiteEventRow.objects.create(
            garden_id=site.garden_id,
            site=site,
            weather=weather,
            began_on=began_on,
            ended_on=ended_on,
            note=_plain(note, 500, "note"),
            by=actor.person,
        )
        ledger.plan_again(site=site)
    return event


def end(actor: Membership, event: SiteEventRow, *, ended_on: date, now: datetime) -> SiteEventRow:
    """Give the last day of an event; the site's plants are planned again.

    Raises Refused for one that was ended on another day or withdrawn: it is not edited.
    """
    require(actor, "weather.type")
    _own(actor, event.site)
    with transaction.atomic():
        current = SiteEventRow.objects.select_for_update().get(pk=event.pk)
        _refuse_withdrawn(current)
        if current.ended_on == ended_on:
            return current
        if current.ended_on is not None:
            raise Refused(
                f"It ended on {current.ended_on:%-d %B %Y} already. If that is wrong, withdraw it "
                "and report it anew.",
                "ended_on",
            )
        _check_days(event.site.local_day(now), current.began_on, ended_on)
        current.ended_on = ended_on
        current.save(update_fields=["ended_on"])
        ledger.plan_again(site=event.site)
    return current


def withdraw(actor: Membership, event: SiteEventRow, reason: str, *, now: datetime) -> SiteEventRow:
    """Set a mistaken event aside with the reason; it stays readable. Twice is once."""
    require(actor, "weather.type")
    _own(actor, event.site)
    if event.by_id != actor.person_id:
        require(actor, "entry.strike_any")
    why = _plain(reason, 200, "reason")
    if not why:
        raise Refused("Say in a few words why it is withdrawn.", "reason")
    with transaction.atomic():
        current = SiteEventRow.objects.select_for_update().get(pk=event.pk)
        if current.withdrawn_at is not None:
            return current
        current.withdrawn_at, current.withdrawn_by = now, actor.person
        current.withdrawn_why = why
        current.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_why"])
        ledger.plan_again(site=event.site)
    return current


def events_of(site: Site) -> tuple[SiteEvent, ...]:
    """Return all that befell a site and was not withdrawn, oldest first, as the plan reads it."""
    rows = (
        SiteEventRow.objects.filter(site=site, withdrawn_at__isnull=True)
        .order_by("began_on", "pk")
        .values_list("weather", "began_on", "ended_on")
    )
    return tuple(SiteEvent(Weather(weather), began, ended) for weather, began, ended in rows)


def still_counts(event: SiteEvent, today: date) -> bool:
    """Whether an event counts for a plan made on ``today``."""
    return event.began <= today <= (event.ended or event.began) + LOOK_BACK


def notices_for(site: Site, today: date) -> list[SiteEventRow]:
    """Return the events to tell of at a site: while they last and for 14 days after."""
    rows = SiteEventRow.objects.filter(
        site=site,
        withdrawn_at__isnull=True,
        began_on__lte=today,
        began_on__gte=today - LOOK_BACK,
    ).exclude(ended_on__lt=today - NOTICE)
    return list(rows.order_by("began_on", "pk"))


def _own(actor: Membership, site: Site) -> None:
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")


def _check_days(today: date, began_on: date, ended_on: date | None) -> None:
    if began_on > today:
        raise Refused(
            f"{began_on:%-d %B %Y} is in the future at this site, where it is "
            f"{today:%-d %B %Y}. Give today or an earlier date.",
            "began_on",
        )
    if began_on < today - LOOK_BACK:
        raise Refused(
            f"{began_on:%-d %B %Y} is too long ago to change the plan. Give a day of the last "
            f"{LOOK_BACK.days} days.",
            "began_on",
        )
    if ended_on is not None and not began_on <= ended_on <= today:
        raise Refused(
            f"It cannot have ended on {ended_on:%-d %B %Y}. Give a day from {began_on:%-d %B %Y} "
            "to today.",
            "ended_on",
        )


def _refuse_withdrawn(event: SiteEventRow) -> None:
    if event.withdrawn_at is not None:
        raise Refused("This event was withdrawn. Report it anew if it did happen.")


def _plain(text: str, longest: int, field: str) -> str:
    clean = text.replace("\x00", " ").strip()
    if len(clean) > longest:
        raise Refused(f"The text has {len(clean)} characters; keep it to {longest}.", field)
    return clean

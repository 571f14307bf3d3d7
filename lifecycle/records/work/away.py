"""Members who are away for some days, and who does their work meanwhile."""

from collections import defaultdict
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q

from lifecycle.models import Away, Garden, Membership, Person
from lifecycle.permissions import require
from lifecycle.records.nights.rota import Stretch
from lifecycle.records.refusal import Refused
from lifecycle.records.work.cover import back_from, pass_for
from lifecycle.records.work.minding import worker_or_refuse
from lifecycle.records.work.task_rows import still_here

LONGEST = timedelta(days=366)
FARTHEST = timedelta(days=400)
"""Days away last a year at most and begin within this time."""

Days = tuple[date, date]


def away_on(garden_id: int, first: date, last: date) -> dict[int, list[Days]]:
    """Return by person the stretches from ``first`` to ``last`` on which they are away."""
    found: defaultdict[int, list[Days]] = defaultdict(list)
    rows = Away.objects.filter(garden=garden_id, first_day__lte=last, last_day__gte=first)
    for person, begins, ends in rows.values_list("person", "first_day", "last_day"):
        found[person].append((max(begins, first), min(ends, last)))
    return dict(found)


def garden_today(garden_id: int, now: datetime) -> date:
    """Return the local day at the garden's first site; a garden without ground keeps to UTC."""
    site = Garden.objects.get(pk=garden_id).sites.order_by("pk").first()
    return site.local_day(now) if site is not None else now.date()


def go_away(
    actor: Membership,
    *,
    first_day: date,
    last_day: date,
    now: datetime,
    cover: Person | None = None,
    person: Person | None = None,
) -> Away:
    """Note that the actor, or for a coordinator another member, is away; ``cover`` is asked.

    Raises Refused.
    """
    who = person or actor.person
    require(actor, "task.do" if who.pk == actor.person_id else "people.edit")
    today = garden_today(actor.garden_id, now)
    _check_days(first_day, last_day, today)
    with transaction.atomic():
        # The member's row keeps two of one person from being made at the same moment.
        still_here(actor, who)
        worker_or_refuse(who, actor.garden_id, "person")
        other = _touching(actor.garden_id, who, first_day, last_day)
        if other is not None:
            days = Stretch(other.first_day, other.last_day).words(today)
            raise Refused(f"{who} is away from {days} already. Change that first.", "first_day")
        if cover is not None:
            _check_cover(cover, who, actor.garden_id, first_day, last_day)
        return Away.objects.create(
            garden_id=actor.garden_id,
            person=who,
            first_day=first_day,
            last_day=last_day,
            cover=cover,
            made_at=now,
        )


def ask_to_cover(actor: Membership, away: Away, cover: Person, *, now: datetime) -> Away:
    """Name somebody else to cover, or somebody at all; they are asked. Raises Refused.

    From then on the days count as made now: who was asked before is asked anew.
    """
    with transaction.atomic():
        still_here(actor, cover)
        current = _lock(actor, away)
        _own_or_lead(actor, current)
        if current.last_day < garden_today(actor.garden_id, now):
            raise Refused("These days are over. There is nothing left to cover.")
        if current.cover_id == cover.pk:
            return current
        _check_cover(cover, current.person, actor.garden_id, current.first_day, current.last_day)
        current.cover, current.cover_agreed_at, current.made_at = cover, None, now
        current.save(update_fields=["cover", "cover_agreed_at", "made_at"])
        back_from(actor.garden_id, now=now)
    return current


def agree(actor: Membership, away: Away, *, now: datetime) -> Away:
    """Agree to cover, as the person who was asked; agreeing twice is agreeing once."""
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        current = _asked(actor, away)
        if current.cover_agreed_at is not None:
            return current
        today = garden_today(actor.garden_id, now)
        if current.last_day < today:
            raise Refused("These days are over. There is nothing left to cover.")
        current.cover_agreed_at = now
        current.save(update_fields=["cover_agreed_at"])
        if current.first_day <= today:
            pass_for(current, now=now)
    return current


def say_no(actor: Membership, away: Away, *, now: datetime) -> Away:
    """Decline to cover, or stop covering, as the person who was asked; tasks go back."""
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        current = _asked(actor, away)
        current.cover, current.cover_agreed_at = None, None
        current.save(update_fields=["cover", "cover_agreed_at"])
        back_from(actor.garden_id, now=now)
    return current


def come_back(actor: Membership, away: Away, *, now: datetime) -> None:
    """End days away: one's own, or anybody's for a coordinator. Open tasks go back at once.

    Days that have begun end yesterday, so that the record keeps them; others are taken back.
    """
    with transaction.atomic():
        still_here(actor)
        current = _lock(actor, away)
        _own_or_lead(actor, current)
        today = garden_today(actor.garden_id, now)
        if current.first_day >= today:
            current.delete()
        elif current.last_day >= today:
            current.last_day = today - timedelta(1)
            current.save(update_fields=["last_day"])
        back_from(actor.garden_id, now=now)


def _own_or_lead(actor: Membership, away: Away) -> None:
    require(actor, "task.do" if away.person_id == actor.person_id else "people.edit")


def _asked(actor: Membership, away: Away) -> Away:
    current = _lock(actor, away)
    if current.cover_id != actor.person_id:
        raise Refused("You are not asked to cover these days. Somebody else may be.")
    return current


def _lock(actor: Membership, away: Away) -> Away:
    rows = Away.objects.filter(pk=away.pk, garden_id=actor.garden_id)
    # Locked first and read then: what is joined is looked up before the wait for the lock.
    list(rows.select_for_update().values_list("pk"))
    found = rows.select_related("person", "cover").first()
    if found is None:
        raise Refused("These days were taken back meanwhile. Load the page again.")
    return found


def _check_days(first_day: date, last_day: date, today: date) -> None:
    if last_day < first_day:
        raise Refused("The last day lies before the first. Give a later one.", "last_day")
    if last_day < today:
        raise Refused("These days are over. Give days from today on.", "last_day")
    if last_day - first_day >= LONGEST:
        raise Refused("Give a year at most: an earlier last day.", "last_day")
    if first_day - today > FARTHEST:
        raise Refused("That is too far ahead. Give a day within 400 days.", "first_day")


def _check_cover(cover: Person, who: Person, garden_id: int, first: date, last: date) -> None:
    if cover.pk == who.pk:
        raise Refused("Nobody covers for themselves. Choose somebody else.", "cover")
    worker_or_refuse(cover, garden_id, "cover")
    if _touching(garden_id, cover, first, last) is not None:
        raise Refused(f"{cover} is away on some of these days. Choose somebody else.", "cover")


def _touching(garden_id: int, who: Person, first: date, last: date) -> Away | None:
    touching = Q(first_day__lte=last, last_day__gte=first)
    return Away.objects.filter(touching, garden=garden_id, person=who).first()

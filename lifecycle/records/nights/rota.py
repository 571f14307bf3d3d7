"""Who is on call on frost nights: members take turns themselves, coordinators edit for all."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Exists, Max, OuterRef, QuerySet

from lifecycle.care.wording import short_date
from lifecycle.models import Away, Membership, OnCallTurn, Person, Site
from lifecycle.permissions import ROLE_ACTIONS, require
from lifecycle.records.refusal import Refused

ACTING_ROLES = tuple(role for role, actions in ROLE_ACTIONS.items() if "frost.do" in actions)
LEADING_ROLES = tuple(role for role, actions in ROLE_ACTIONS.items() if "frost.lead" in actions)
LONGEST = timedelta(days=366)
FARTHEST = timedelta(days=400)
"""A turn lasts a year at most and begins within this time."""
LAST_POSITION = 99


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days from the first to the last, both counted."""

    first_day: date
    last_day: date

    def words(self, today: date) -> str:
        """Return "3 to 9 November", with the month said twice where it changes."""
        if self.first_day == self.last_day:
            return short_date(self.first_day, today)
        same = (self.first_day.year, self.first_day.month) == (
            self.last_day.year,
            self.last_day.month,
        )
        first = str(self.first_day.day) if same else short_date(self.first_day, today)
        return f"{first} to {short_date(self.last_day, today)}"


def turns_at(site: Site, first_day: date, last_day: date) -> QuerySet[OnCallTurn]:
    """Return the turns at a site that touch these days, of people who may act there today.

    In the order in which they are asked.
    """
    acting = Membership.objects.filter(
        garden=site.garden_id,
        person=OuterRef("person"),
        left_on__isnull=True,
        role__in=ACTING_ROLES,
    )
    return (
        OnCallTurn.objects.filter(
            Exists(acting),
            site=site,
            person__is_active=True,
            first_day__lte=last_day,
            last_day__gte=first_day,
        )
        .select_related("person")
        .order_by("position", "first_day", "pk")
    )


def on_call(site: Site, night: date) -> list[OnCallTurn]:
    """Return the turns of one night in the order in which people are asked, each person once.

    Who is away from the garden that day is left out.
    """
    away = Away.objects.filter(
        garden=site.garden_id, first_day__lte=night, last_day__gte=night
    ).values("person")
    first: dict[int, OnCallTurn] = {}
    for turn in turns_at(site, night, night).exclude(person__in=away):
        first.setdefault(turn.person_id, turn)
    return list(first.values())


def leads_of(garden_id: int) -> list[Person]:
    """Return the garden's coordinators; its owners where it has no coordinator."""
    members = list(
        Membership.objects.filter(
            garden=garden_id, left_on__isnull=True, role__in=LEADING_ROLES, person__is_active=True
        )
        .select_related("person")
        .order_by("pk")
    )
    coordinators = [member.person for member in members if member.role == "coordinator"]
    return coordinators or [member.person for member in members]


def gaps(served: Iterable[Stretch], first_day: date, last_day: date) -> list[Stretch]:
    """Return the stretches of days between two days on which nobody serves."""
    found: list[Stretch] = []
    free_from = first_day
    for each in sorted(served, key=lambda each: each.first_day):
        if each.first_day > free_from:
            found.append(Stretch(free_from, min(each.first_day - timedelta(1), last_day)))
        free_from = max(free_from, each.last_day + timedelta(1))
        if free_from > last_day:
            return found
    found.append(Stretch(free_from, last_day))
    return found


def join(
    actor: Membership,
    site: Site,
    *,
    first_day: date,
    last_day: date,
    wakes: bool,
    now: datetime,
    person: Person | None = None,
) -> OnCallTurn:
    """Put the actor, or for a coordinator another member, on call. Raises Refused.

    Only the person can allow to be woken: a turn made for somebody else does not.
    """
    who = person or actor.person
    own = who.pk == actor.person_id
    require(actor, "rota.join" if own else "rota.edit")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.", "site")
    today = site.local_day(now)
    _check_days(first_day, last_day, today)
    with transaction.atomic():
        # The site's row keeps two turns of one person from being made at the same moment.
        Site.objects.select_for_update(no_key=True).get(pk=site.pk)
        if not _acts(who, actor.garden_id):
            raise Refused(f"{who} may not work here, so cannot be on call.", "person")
        _check_free(site, who, first_day, last_day, today, apart_from=None)
        last = turns_at(site, first_day, last_day).aggregate(last=Max("position"))["last"] or 0
        return OnCallTurn.objects.create(
            garden_id=actor.garden_id,
            site=site,
            person=who,
            first_day=first_day,
            last_day=last_day,
            position=min(last + 1, LAST_POSITION),
            wakes=wakes and own,
        )


def change(
    actor: Membership,
    turn: OnCallTurn,
    *,
    first_day: date,
    last_day: date,
    wakes: bool,
    now: datetime,
    position: int | None = None,
) -> OnCallTurn:
    """Change a turn: one's own, or anybody's for a coordinator. Raises Refused.

    ``position`` is a coordinator's to set, ``wakes`` only the person's own.
    """
    own = _may_touch(actor, turn)
    today = turn.site.local_day(now)
    _check_days(first_day, last_day, today)
    if position is not None and position != turn.position:
        require(actor, "rota.edit")
    with transaction.atomic():
        Site.objects.select_for_update(no_key=True).get(pk=turn.site_id)
        _check_free(turn.site, turn.person, first_day, last_day, today, apart_from=turn.pk)
        turn.first_day, turn.last_day = first_day, last_day
        turn.position = turn.position if position is None else position
        turn.wakes = wakes if own else turn.wakes
        turn.save(update_fields=["first_day", "last_day", "position", "wakes"])
    return turn


def leave(actor: Membership, turn: OnCallTurn, *, now: datetime) -> None:
    """End a turn: one's own, or anybody's for a coordinator.

    A turn that has begun ends yesterday, so that the record keeps who was on call.
    """
    _may_touch(actor, turn)
    today = turn.site.local_day(now)
    if turn.first_day >= today:
        OnCallTurn.objects.filter(pk=turn.pk).delete()
    elif turn.last_day >= today:
        OnCallTurn.objects.filter(pk=turn.pk).update(last_day=today - timedelta(1))


def _may_touch(actor: Membership, turn: OnCallTurn) -> bool:
    """Return whether the turn is the actor's own; raises for one they may not touch."""
    own = turn.person_id == actor.person_id
    require(actor, "rota.join" if own else "rota.edit")
    if turn.garden_id != actor.garden_id:
        raise Refused("That turn does not belong to this garden.")
    return own


def _acts(person: Person, garden_id: int) -> bool:
    return Membership.objects.filter(
        garden=garden_id, person=person, left_on__isnull=True, role__in=ACTING_ROLES
    ).exists()


def _check_days(first_day: date, last_day: date, today: date) -> None:
    if last_day < first_day:
        raise Refused("The last day lies before the first. Give a later one.", "last_day")
    if last_day < today:
        raise Refused("These days are over. Give days from today on.", "last_day")
    if last_day - first_day >= LONGEST:
        raise Refused("A turn lasts a year at most. Give an earlier last day.", "last_day")
    if first_day - today > FARTHEST:
        raise Refused("That is too far ahead. Give a day within 400 days.", "first_day")


def _check_free(
    site: Site,
    who: Person,
    first_day: date,
    last_day: date,
    today: date,
    *,
    apart_from: int | None,
) -> None:
    own = OnCallTurn.objects.filter(site=site, person=who)
    if apart_from is not None:
        own = own.exclude(pk=apart_from)
    other = own.filter(first_day__lte=last_day, last_day__gte=first_day).first()
    if other is not None:
        days = Stretch(other.first_day, other.last_day).words(today)
        raise Refused(f"{who} is on call from {days} already. Give other days.", "first_day")

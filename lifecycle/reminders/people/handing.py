"""Hand-overs between people: who is told what and when, and what takes effect on its day."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db.models import Q

from lifecycle.models import Garden, HandOver, Membership, Message, Person
from lifecycle.records.nights.rota import leads_of
from lifecycle.records.people.handing import (
    PATIENCE,
    raise_unanswered,
    take_effect,
    unanswered,
)
from lifecycle.records.people.handing_rows import day_at
from lifecycle.records.people.leaving_ends import RECEIVER_LEFT
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.outbox import put

ABOUT = "hand_over"
KEPT = timedelta(days=14)


def hand_over_all(*, now: datetime) -> int:
    """Carry out what was accepted for today, and raise what nobody answered; returns how many."""
    return _take_effect(now) + _raise(now)


def tell(hand_over: HandOver, *, now: datetime) -> list[Message]:
    """Tell the other side of how a hand-over stands now. The same standing is told once."""
    made = []
    for person in _to_be_told(hand_over):
        made += _put([hand_over], person, Message.Kind.HANDED, hand_over.state, now)
    return made


def tell_after_leaving(member: Membership, *, now: datetime) -> int:
    """Tell of the hand-overs that somebody's leaving began or ended; returns messages written.

    However many they are, each person is told in one message of those that stand alike.
    """
    found = HandOver.objects.filter(
        Q(giver=member.person, state=HandOver.State.PROPOSED)
        | Q(to=member.person, state=HandOver.State.CANCELLED, why=RECEIVER_LEFT),
        garden=member.garden_id,
    )
    rows = found.select_related("garden", "by", "giver", "to").order_by("pk")
    alike: dict[tuple[str, Person], list[HandOver]] = {}
    for each in rows:
        for person in _to_be_told(each):
            alike.setdefault((each.state, person), []).append(each)
    made = 0
    for (news, person), some in alike.items():
        known = _known(member.garden_id, person, news)
        fresh = [each for each in some if each.pk not in known]
        if fresh:
            made += len(_put(fresh, person, Message.Kind.HANDED, news, now))
    return made


def _known(garden_id: int, person: Person, news: str) -> set[int]:
    """Return the hand-overs of whose standing somebody was told before."""
    rows = Message.objects.filter(garden=garden_id, person=person, about=ABOUT)
    told = [data for data in rows.values_list("data", flat=True) if data["news"] == news]
    return {pk for data in told for pk in data["hand_overs"]}


def _to_be_told(hand_over: HandOver) -> list[Person]:
    """Return who has not just seen it themselves: receiver, giver, and who proposed it for them."""
    giving = [each for each in (hand_over.giver, hand_over.by) if each is not None]
    taken_back = hand_over.state == HandOver.State.CANCELLED and not hand_over.why
    if hand_over.state == HandOver.State.PROPOSED or taken_back:
        people = [hand_over.to]
    elif hand_over.state in (HandOver.State.DONE, HandOver.State.CANCELLED):
        people = [hand_over.to, *giving]
    else:
        people = giving
    if hand_over.giver_id is None and hand_over.by_id == hand_over.to_id:
        people = []
    return list(dict.fromkeys(people))


def _put(
    hand_overs: Sequence[HandOver], person: Person, kind: str, news: str, now: datetime
) -> list[Message]:
    first = hand_overs[0]
    site = first.garden.sites.order_by("pk").first()
    zone = site.time_zone if site is not None else "UTC"
    not_before = next_open_hour(now, zone)
    return put(
        first.garden,
        person,
        # Each standing is told once, so the first of several tells them from any others.
        key=f"{ABOUT}:{first.pk}:{news}:{person.pk}",
        kind=kind,
        level=Message.Level.DUE if kind == Message.Kind.HANDED else Message.Level.NOTE,
        about=ABOUT,
        data={"hand_overs": [each.pk for each in hand_overs], "news": news},
        for_day=day_at(first, now),
        not_before=not_before,
        expires_at=not_before + KEPT,
        now=now,
    )


def _take_effect(now: datetime) -> int:
    # A site may be a day ahead of UTC; its own date decides.
    ahead = HandOver.objects.filter(
        state=HandOver.State.ACCEPTED, from_day__lte=now.date() + timedelta(1)
    ).order_by("from_day", "pk")
    done = 0
    for waiting in ahead:
        settled = take_effect(waiting, now=now)
        if settled is not None:
            tell(settled, now=now)
            done += 1
    return done


def _raise(now: datetime) -> int:
    waiting = HandOver.objects.filter(
        state=HandOver.State.PROPOSED, raised_at__isnull=True, made_at__lte=now - PATIENCE
    )
    raised = 0
    for garden in Garden.objects.filter(pk__in=waiting.values("garden")).order_by("pk"):
        leads = leads_of(garden.pk)
        for hand_over in unanswered(garden, now):
            if raise_unanswered(hand_over, now=now):
                for lead in leads:
                    _put([hand_over], lead, Message.Kind.LEAD, "raised", now)
                raised += 1
    return raised

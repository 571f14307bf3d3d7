"""What stops in a garden for somebody who goes: work, turns, asks, messages, plots, calendar."""

from datetime import date, datetime, timedelta

from django.db.models import F, Q

from lifecycle.models import (
    Ask,
    Away,
    BedHolding,
    CalendarItem,
    HandOver,
    Membership,
    Message,
    OnCallTurn,
    Task,
    TaskEvent,
    TaskOffer,
    WorkDraft,
)
from lifecycle.records.people.handing_effect import end_holding
from lifecycle.records.people.handing_rows import close
from lifecycle.records.work import task_history
from lifecycle.records.work.open_offers import let_lapse

RECEIVER_LEFT = "The receiver left the garden."


def end_all_work(member: Membership, today: date, *, now: datetime) -> None:
    """End everything that counts on the member being there, inside the caller's transaction."""
    refuse_what_is_offered(member, now)
    give_back_tasks(member, now)
    end_offers_and_drafts(member, now)
    end_turns(member, today)
    end_away(member, today)
    end_asks(member, today, now)
    end_holdings(member, today)
    cancel_messages(member)
    CalendarItem.objects.filter(garden=member.garden_id, person=member.person).delete()


def refuse_what_is_offered(member: Membership, now: datetime) -> None:
    """End the hand-overs to the member that have not taken effect."""
    ahead = HandOver.objects.filter(
        garden=member.garden_id,
        to=member.person,
        state__in=[HandOver.State.PROPOSED, HandOver.State.ACCEPTED],
    )
    for held in ahead.select_for_update(of=("self",)).order_by("pk"):
        close(held, HandOver.State.CANCELLED, RECEIVER_LEFT, now=now)


def give_back_tasks(member: Membership, now: datetime) -> None:
    """Give back the member's open tasks; each keeps in its history why."""
    mine = Task.objects.filter(
        garden=member.garden_id, assignee=member.person, state=Task.State.OPEN
    )
    tasks = list(mine.select_for_update(of=("self",)).order_by("pk"))
    ids = [task.pk for task in tasks]
    Task.objects.filter(pk__in=ids).update(assignee=None)
    let_lapse(ids, now=now)
    task_history.note(tasks, TaskEvent.Act.LEFT, now=now, by=member.person)


def end_offers_and_drafts(member: Membership, now: datetime) -> None:
    """End what the member offered and was offered, and what was drafted for them."""
    offers = TaskOffer.objects.filter(garden=member.garden_id, state=TaskOffer.State.OPEN)
    offers.filter(by=member.person).update(state=TaskOffer.State.WITHDRAWN, answered_at=now)
    offers.filter(to=member.person).update(state=TaskOffer.State.PAST, answered_at=now)
    WorkDraft.objects.filter(garden=member.garden_id, to=member.person).delete()


def end_turns(member: Membership, today: date) -> None:
    """Take the member off the rota; a turn that has begun ends yesterday and stays on record."""
    turns = OnCallTurn.objects.filter(garden=member.garden_id, person=member.person)
    turns.filter(first_day__gte=today).delete()
    turns.filter(last_day__gte=today).update(last_day=today - timedelta(1))


def end_away(member: Membership, today: date) -> None:
    """End the member's own absences, and what they were to cover for others."""
    rows = Away.objects.filter(garden=member.garden_id, last_day__gte=today)
    rows.filter(person=member.person, first_day__gte=today).delete()
    rows.filter(person=member.person).update(last_day=today - timedelta(1))
    rows.filter(cover=member.person).update(cover=None, cover_agreed_at=None)


def end_asks(member: Membership, today: date, now: datetime) -> None:
    """Call off the asks of the member for this night and later ones: others are asked instead."""
    waiting = [Ask.State.ASKED, Ask.State.UNANSWERED, Ask.State.ACCEPTED]
    Ask.objects.filter(
        garden=member.garden_id,
        person=member.person,
        state__in=waiting,
        frost_night__night__gte=today - timedelta(1),
    ).update(state=Ask.State.CALLED_OFF, answered_at=now)


def end_holdings(member: Membership, today: date) -> None:
    """End the member's holding of plots with today."""
    held = BedHolding.objects.filter(
        garden=member.garden_id, person=member.person, until__isnull=True
    )
    for holding in held.select_for_update():
        end_holding(holding, today)


def take_up_holdings(member: Membership, left_on: date) -> None:
    """Give back the plots that ended with leaving and that nobody has taken since."""
    ended = BedHolding.objects.filter(garden=member.garden_id, person=member.person).filter(
        Q(until=left_on) | Q(until=F("since"), until__gte=left_on)
    )
    taken = BedHolding.objects.filter(garden=member.garden_id, until__isnull=True)
    ended.exclude(place__in=taken.values("place")).update(until=None)


def cancel_messages(member: Membership) -> None:
    """Cancel what waits to be sent to the member about this garden."""
    Message.objects.filter(
        garden=member.garden_id, person=member.person, state=Message.State.PENDING
    ).update(state=Message.State.CANCELLED)

"""What stops in a garden for somebody who goes: work, turns, asks, messages, plots, calendar."""

from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Exists, Max, OuterRef, QuerySet

from lifecycle.models import (
    Ask,
    AuditNote,
    Away,
    BedHolding,
    CalendarItem,
    Garden,
    HandOver,
    Invitation,
    Joining,
    Membership,
    Message,
    OnCallTurn,
    Person,
    Place,
    Task,
    TaskEvent,
    TaskOffer,
    WorkDraft,
)
from lifecycle.records.people.handing_effect import end_holding
from lifecycle.records.people.handing_rows import close
from lifecycle.records.weather.sensors import end_addresses_of
from lifecycle.records.work import task_history
from lifecycle.records.work.cover import back_from, put_right
from lifecycle.records.work.minding import WORKING_ROLES
from lifecycle.records.work.open_offers import let_lapse

RECEIVER_LEFT = "The receiver left the garden."
RECEIVER_READS = "The receiver is here to read now, not to look after plants."

Act = TaskEvent.Act


def end_all_work(member: Membership, today: date, *, now: datetime) -> dict[str, Any]:
    """End everything that counts on the member being there, inside the caller's transaction.

    Returns which holdings of plots ended by it, as numbers for ``take_up_holdings``.
    """
    refuse_what_is_offered(member, now, RECEIVER_LEFT)
    back_from(member.garden_id, now=now, leaving=member.person_id)
    give_back_tasks(member, now)
    end_offers_and_drafts(member, now)
    end_turns(member, today)
    end_away(member, today)
    end_asks(member, today, now)
    ended = end_holdings(member, today)
    cancel_messages(member)
    CalendarItem.objects.filter(garden=member.garden_id, person=member.person).delete()
    # Whoever set up the thermometer knows the secret to which it sends.
    end_addresses_of(member, now=now)
    return ended


def stop_working(member: Membership, today: date, *, by: Person, now: datetime) -> None:
    """End what a member cannot do any more who is here only to read from now on."""
    refuse_what_is_offered(member, now, RECEIVER_READS)
    back_from(member.garden_id, now=now, leaving=member.person_id)
    give_back_tasks(member, now, by=by)
    end_offers_and_drafts(member, now)
    end_turns(member, today)
    end_covers(member, today)
    end_asks(member, today, now)
    end_holdings(member, today)


def refuse_what_is_offered(member: Membership, now: datetime, why: str) -> None:
    """End the hand-overs to the member that have not taken effect, saying ``why``."""
    ahead = HandOver.objects.filter(
        garden=member.garden_id,
        to=member.person,
        state__in=[HandOver.State.PROPOSED, HandOver.State.ACCEPTED],
    )
    for held in ahead.select_for_update(of=("self",)).order_by("pk"):
        close(held, HandOver.State.CANCELLED, why, now=now)


def give_back_tasks(member: Membership, now: datetime, *, by: Person | None = None) -> None:
    """Give back the member's open tasks; each keeps in its history why.

    ``by`` is who took the work from them; None: they go themselves.
    """
    mine = Task.objects.filter(
        garden=member.garden_id, assignee=member.person, state=Task.State.OPEN
    )
    tasks = list(mine.select_for_update(of=("self",)).order_by("pk"))
    _free(tasks, now)
    if by is None:
        task_history.note(tasks, Act.LEFT, now=now, by=member.person)
    else:
        task_history.note(tasks, Act.GIVEN_BACK, now=now, by=by, to=member.person)


def give_back_stranded(*, now: datetime) -> int:
    """Give back open tasks of people who do no work in the garden any more; returns how many."""
    working = Membership.objects.filter(
        garden=OuterRef("garden"),
        person=OuterRef("assignee"),
        left_on__isnull=True,
        role__in=WORKING_ROLES,
    )
    stranded = Task.objects.filter(
        ~Exists(working), assignee__isnull=False, state=Task.State.OPEN
    ).order_by("pk")
    if not stranded.exists():
        return 0
    with transaction.atomic():
        return put_right(stranded.select_for_update(of=("self",)), now=now)


def _free(tasks: list[Task], now: datetime) -> None:
    ids = [task.pk for task in tasks]
    Task.objects.filter(pk__in=ids).update(assignee=None)
    let_lapse(ids, now=now)


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
    end_covers(member, today)


def end_covers(member: Membership, today: date) -> None:
    """End what the member was to cover for others from today on."""
    rows = Away.objects.filter(garden=member.garden_id, last_day__gte=today)
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


def end_holdings(member: Membership, today: date) -> dict[str, Any]:
    """End the member's holding of plots with today.

    Returns the numbers of those that ended, and of the garden's newest holding.
    """
    rows = BedHolding.objects.filter(garden=member.garden_id)
    held = list(
        rows.filter(person=member.person, until__isnull=True).select_for_update().order_by("pk")
    )
    for holding in held:
        end_holding(holding, today)
    newest = rows.aggregate(newest=Max("pk"))["newest"]
    return {"holdings": [each.pk for each in held], "newest": newest or 0}


def take_up_holdings(member: Membership) -> None:
    """Give back the plots that ended by leaving, and that nobody took or made common since."""
    notes = AuditNote.objects.filter(garden=member.garden_id, about=member.person, act="left")
    note = notes.order_by("-at", "-pk").first()
    if note is None:
        return
    # Who held a plot beside them before holds it still, and has not taken it.
    since = BedHolding.objects.filter(
        garden=member.garden_id, until__isnull=True, pk__gt=note.detail.get("newest", 0)
    )
    common = Place.objects.filter(garden=member.garden_id, common=True)
    ended = BedHolding.objects.filter(
        garden=member.garden_id, person=member.person, pk__in=note.detail.get("holdings", [])
    )
    ended.exclude(place__in=since.values("place")).exclude(place__in=common).update(until=None)


def end_invitations_to(member: Membership, now: datetime, *, by: Person | None = None) -> None:
    """Take back the invitations that wait at a member's address, so that none brings them back."""
    _waiting_at(member.garden_id).filter(email__iexact=member.person.email).update(
        revoked_at=now, revoked_by=by
    )


def shut_empty_garden(garden_id: int, now: datetime) -> None:
    """Close the ways into a garden nobody is left in: who came would find it without an owner."""
    if Membership.objects.filter(garden=garden_id, left_on__isnull=True).exists():
        return
    Garden.objects.filter(pk=garden_id).update(joining=Joining.INVITED, join_nonce=None)
    _waiting_at(garden_id).update(revoked_at=now)


def _waiting_at(garden_id: int) -> QuerySet[Invitation]:
    return Invitation.objects.filter(
        garden=garden_id, used_at__isnull=True, revoked_at__isnull=True
    )


def cancel_messages(member: Membership) -> None:
    """Cancel what waits to be sent to the member about this garden."""
    Message.objects.filter(
        garden=member.garden_id, person=member.person, state=Message.State.PENDING
    ).update(state=Message.State.CANCELLED)

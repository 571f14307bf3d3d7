"""Leaving a garden: work goes back, plants are offered on, and for a while one can come back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.db import transaction

from lifecycle.models import (
    CalendarAddress,
    HandOver,
    Letter,
    Membership,
    Person,
    PushSubscription,
    Role,
)
from lifecycle.permissions import require
from lifecycle.records.people import (
    audit,
    letters,
    sessions,
)
from lifecycle.records.people.belongings import groups_of
from lifecycle.records.people.handing import propose
from lifecycle.records.people.handing_load import Load, in_a_hand_over
from lifecycle.records.people.handing_rows import close, site_of_load
from lifecycle.records.people.leaving_ends import (
    RECEIVER_LEFT,
    end_all_work,
    end_invitations_to,
    refuse_what_is_offered,
    shut_empty_garden,
    take_up_holdings,
)
from lifecycle.records.people.memberships import (
    check_may_take_out,
    close_earlier,
    held_member,
    hold_garden,
    keep_an_owner,
    local_day,
)
from lifecycle.records.refusal import Refused

WINDOW = timedelta(days=14)
"""How long somebody who left can come back, and nothing of theirs is erased."""


@dataclass(frozen=True, slots=True)
class Passing:
    """Who is asked to take what the leaver has in one place; ``place`` 0: with no place noted."""

    place: int
    to: Person


def leave(
    actor: Membership, *, passings: Sequence[Passing] = (), nameless: bool, now: datetime
) -> Membership:
    """Leave the garden: nothing more arrives from it, and nothing more of it can be seen.

    Each passing is proposed to its receiver, who can accept it after the leaver is gone; what
    nobody is asked to take has no holder from now on. ``nameless``: the name goes from the
    garden's record once WINDOW is past. Behind the last one the garden is shut. Raises Refused
    for the last owner of others' garden.
    """
    with transaction.atomic():
        member = depart(actor, passings=passings, nameless=nameless, now=now)
        letters.write(
            member.person.email,
            Letter.About.LEAVING,
            now=now,
            person=member.person,
            data={"membership": member.pk},
            lasts=WINDOW,
        )
    return member


def depart(
    actor: Membership, *, passings: Sequence[Passing], nameless: bool, now: datetime
) -> Membership:
    """Leave as ``leave`` does, without a letter, inside the caller's transaction."""
    require(actor, "garden.leave")
    hold_garden(actor.garden_id)
    member = _here(actor)
    _check_owner(member)
    refuse_what_is_offered(member, now, RECEIVER_LEFT)
    _pass_on(member, passings, now)
    ended = _end(member, nameless=nameless, back_by=now + WINDOW, now=now)
    end_invitations_to(member, now)
    shut_empty_garden(member.garden_id, now)
    audit.note(member, "left", now=now, about=member.person, **ended)
    return member


def take_out(actor: Membership, member: Membership, *, now: datetime) -> Membership:
    """Take a member out of the garden. They cannot come back of their own accord.

    What they had has no holder from now on, and an invitation that waits for them ends. Raises
    Refused for somebody who is gone already or for the actor, and PermissionDenied where the
    actor's role does not reach.
    """
    check_may_take_out(actor, member)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        found = held_member(actor, member)
        check_may_take_out(actor, found)
        if found.role == Role.OWNER:
            keep_an_owner(found)
        _end(found, nameless=False, back_by=None, now=now)
        end_invitations_to(found, now, by=actor.person)
        audit.note(actor, "removed", now=now, about=found.person)
    return found


def come_back(person: Person, member: Membership, *, now: datetime) -> Membership:
    """Take back having left, within WINDOW. An owner comes back as a coordinator.

    Plants and plots that nobody took meanwhile are theirs again, and so ends what was proposed
    to others on leaving. Raises Refused when it is too late.
    """
    with transaction.atomic():
        hold_garden(member.garden_id)
        found = (
            Membership.objects.select_for_update(of=("self",))
            .select_related("person", "garden")
            .get(pk=member.pk, person=person)
        )
        if not _may_come_back(found, now):
            raise Refused("It is too late to come back. Ask the garden for an invitation.")
        others = Membership.objects.filter(garden=found.garden_id, person=person)
        if others.filter(left_on__isnull=True).exists():
            raise Refused("You belong to this garden already.")
        assert found.come_back_by is not None
        _take_back_proposals(found, found.come_back_by - WINDOW, now)
        take_up_holdings(found)
        end_invitations_to(found, now)
        close_earlier(found)
        found.left_on, found.come_back_by, found.nameless = None, None, False
        if found.role == Role.OWNER and _has_owner(found.garden_id):
            found.role = Role.COORDINATOR
        found.save(update_fields=["left_on", "come_back_by", "nameless", "role"])
        # Who comes back does not mean to be erased.
        Person.objects.filter(pk=person.pk).update(erase_after=None)
        audit.note(found, "came_back", now=now, about=person)
    return found


def stop_everything(person: Person) -> None:
    """End what reaches or shows somebody: calendar address, push messages, every session."""
    CalendarAddress.objects.filter(person=person).delete()
    PushSubscription.objects.filter(person=person).delete()
    sessions.end_all(person)


def _here(actor: Membership) -> Membership:
    found = (
        Membership.objects.select_for_update(of=("self",))
        .select_related("person", "garden")
        .get(pk=actor.pk)
    )
    if found.left_on is not None:
        raise Refused("You left this garden already.")
    return found


def _check_owner(member: Membership) -> None:
    """Raise Refused for the last owner, unless nobody else is there to own the garden."""
    others = Membership.objects.filter(garden=member.garden_id, left_on__isnull=True)
    if member.role == Role.OWNER and others.exclude(pk=member.pk).exists():
        keep_an_owner(member)


def _has_owner(garden_id: int) -> bool:
    return Membership.objects.filter(
        garden=garden_id, left_on__isnull=True, role=Role.OWNER
    ).exists()


def _may_come_back(member: Membership, now: datetime) -> bool:
    return (
        member.left_on is not None
        and member.come_back_by is not None
        and member.come_back_by > now
        and member.name_gone_at is None
    )


def _pass_on(member: Membership, passings: Sequence[Passing], now: datetime) -> None:
    """Propose each group to who was chosen for it; what waits in a hand-over already stays so."""
    chosen = {passing.place: passing.to for passing in passings}
    for group in groups_of(member.garden_id, member.person):
        load = _free(group.load)
        if group.key in chosen and not load.empty:
            propose(
                member,
                load,
                giver=member.person,
                to=chosen[group.key],
                from_day=site_of_load(load).local_day(now),
                uuid=uuid4(),
                now=now,
            )


def _free(load: Load) -> Load:
    """Return what of a load is in no hand-over yet."""
    place = load.place
    return Load(
        plants=[each for each in load.plants if not in_a_hand_over(Load(plants=[each]))],
        sowings=[each for each in load.sowings if not in_a_hand_over(Load(sowings=[each]))],
        place=None if place is None or in_a_hand_over(Load(place=place)) else place,
    )


def _end(
    member: Membership, *, nameless: bool, back_by: datetime | None, now: datetime
) -> dict[str, Any]:
    today = local_day(member.garden_id, now)
    ended = end_all_work(member, today, now=now)
    close_earlier(member)
    member.left_on, member.come_back_by, member.nameless = today, back_by, nameless
    member.save(update_fields=["left_on", "come_back_by", "nameless"])
    elsewhere = Membership.objects.filter(person=member.person, left_on__isnull=True)
    if not elsewhere.exists():
        stop_everything(member.person)
    return ended


def _take_back_proposals(member: Membership, left_at: datetime, now: datetime) -> None:
    """Take back what was proposed at the moment of leaving and not answered."""
    waiting = HandOver.objects.filter(
        giver=member.person,
        garden=member.garden_id,
        made_at=left_at,
        state=HandOver.State.PROPOSED,
    )
    for held in waiting.select_for_update(of=("self",)).order_by("pk"):
        close(held, HandOver.State.CANCELLED, "The giver came back.", now=now)

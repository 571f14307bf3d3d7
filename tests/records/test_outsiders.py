"""What is kept of people who never came, or whose invitation is over, goes after a season."""

from datetime import timedelta

import pytest

from lifecycle.models import AuditNote, Invitation, WaitingPerson
from lifecycle.records.people.accepting import join_as_new
from lifecycle.records.people.invitation_standing import LASTS, Standing, standing_of
from lifecycle.records.people.invitations import send_again, take_back
from lifecycle.records.people.outsiders import KEPT, forget_outsiders
from lifecycle.records.people.waiting import add_waiting, invite_waiting, remove_waiting
from lifecycle.records.refusal import Refused
from lifecycle.reminders.messages.pruning import prune_daily
from tests.conftest import World
from tests.factories import NOON
from tests.records.invitations import an_invitation

SECOND = timedelta(seconds=1)


def kept() -> list[str]:
    return sorted(Invitation.objects.exclude(email="").values_list("email", flat=True))


def test_addresses_of_invitations_go_a_season_after_they_are_over(world: World) -> None:
    used = an_invitation(world.owner, "used@new.example")
    join_as_new(used, name="Anna", password="", safety_read=False, now=NOON)
    taken_back = an_invitation(world.owner, "back@new.example")
    take_back(world.owner, taken_back, now=NOON)
    for name in ("ran", "out"):
        an_invitation(world.owner, f"{name}@new.example")
    late = an_invitation(world.owner, "late@new.example", now=NOON + KEPT)

    assert forget_outsiders(now=NOON + KEPT) == 0
    assert forget_outsiders(now=NOON + KEPT + SECOND) == 2
    assert kept() == ["late@new.example", "out@new.example", "ran@new.example"]
    assert forget_outsiders(now=NOON + LASTS + KEPT) == 0
    # Two of one garden lose their address at once, though one address has one invitation.
    assert forget_outsiders(now=NOON + LASTS + KEPT + SECOND) == 2
    assert forget_outsiders(now=NOON + LASTS + KEPT + SECOND) == 0
    assert kept() == [late.email]
    assert not Invitation.objects.filter(email="").exclude(name="").exists()
    assert AuditNote.objects.filter(act="invited").count() == 5
    standings = [standing_of(each, NOON + KEPT) for each in Invitation.objects.order_by("pk")]
    assert standings == [
        Standing.USED,
        Standing.TAKEN_BACK,
        Standing.EXPIRED,
        Standing.EXPIRED,
        Standing.WAITING,
    ]


def test_an_invitation_without_an_address_is_not_sent_again(world: World) -> None:
    made = an_invitation(world.owner)
    later = NOON + LASTS + KEPT + SECOND
    forget_outsiders(now=later)
    with pytest.raises(Refused, match="Invite the address anew"):
        send_again(world.owner, made, now=later)


def test_who_is_off_the_waiting_list_goes_and_who_waits_stays(world: World) -> None:
    given = {"note": "By bike", "asked_on": NOON.date(), "now": NOON}
    ben, cleo, _ = (
        add_waiting(world.owner, name=name, email=f"{name}@new.example", **given)
        for name in ("Ben", "Cleo", "Dan")
    )
    remove_waiting(world.owner, ben, now=NOON)
    invite_waiting(world.owner, cleo, now=NOON)
    assert forget_outsiders(now=NOON + KEPT) == 0
    forget_outsiders(now=NOON + 10 * KEPT)
    assert [each.name for each in WaitingPerson.objects.all()] == ["Dan"]


def test_it_comes_with_the_daily_pruning(world: World) -> None:
    an_invitation(world.owner)
    prune_daily(now=NOON + LASTS + KEPT + SECOND)
    assert kept() == []

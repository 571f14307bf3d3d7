"""What follows delivery: coordinators hear of failures once, old rows go, the rest stays."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core import mail

from lifecycle.models import Heartbeat, Membership, Message, MessageItem, Person
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.messages.failure_notice import LISTED, tell_of_failures
from lifecycle.reminders.messages.pruning import KEPT, prune, prune_daily
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_task
from tests.reminders.climates import DAY

pytestmark = pytest.mark.django_db


def look_twice(now: datetime) -> None:
    """One look puts the notice into the outbox, the next one sends it."""
    dispatch_all(now=now)
    dispatch_all(now=now)


def a_message(world: World, **more: Any) -> Message:
    columns: dict[str, Any] = {
        **{"garden": world.garden, "person": world.member.person, "channel": "email"},
        **{"key": f"m{Message.objects.count()}:email", "for_day": NOON.date(), "made_at": NOON},
        **{"not_before": NOON, "expires_at": NOON + DAY, "state": "failed"},
        **{"last_error": "550 unknown", **more},
    }
    return Message.objects.create(**columns)


def notices() -> set[str]:
    return {email for each in mail.outbox for email in each.to}


def test_leads_hear_of_a_failure_once(world: World) -> None:
    a_message(world, subject="Northfield: lift")
    look_twice(NOON)
    assert notices() == {"owner@garden.example", "coordinator@garden.example"}
    sent = mail.outbox[0]
    assert sent.subject == "Northfield: a message did not reach Member"
    assert "Member, E-mail: Northfield: lift. 550 unknown" in sent.body
    assert "http://127.0.0.1:8000/g/northfield/system" in sent.body
    for days in range(4):
        dispatch_all(now=NOON + days * DAY)
    assert len(mail.outbox) == 2


def test_what_fails_later_is_told_the_day_after(world: World) -> None:
    a_message(world)
    tell_of_failures(now=NOON)
    late = [a_message(world), a_message(world)]
    assert tell_of_failures(now=NOON) == 0
    assert tell_of_failures(now=NOON + DAY) == 4
    newest = Message.objects.filter(about="failures").latest("pk")
    assert newest.data == {"messages": [each.pk for each in late]}
    dispatch_all(now=NOON + DAY)
    assert "2 messages did not reach their people" in mail.outbox[-1].subject


def test_nobody_hears_of_what_was_mended(world: World) -> None:
    message = a_message(world)
    tell_of_failures(now=NOON)
    Message.objects.filter(pk=message.pk).update(state="cancelled")
    dispatch_all(now=NOON)
    assert mail.outbox == []
    assert set(Message.objects.values_list("state", flat=True)) == {"cancelled"}


def test_a_notice_that_fails_makes_no_notice(world: World) -> None:
    a_message(world, about="failures", data={"messages": []})
    assert tell_of_failures(now=NOON) == 0


def test_a_long_list_is_cut(world: World) -> None:
    for _ in range(LISTED + 3):
        a_message(world)
    look_twice(NOON)
    assert mail.outbox[0].body.count("550 unknown") == LISTED
    assert "And 3 more." in mail.outbox[0].body


def test_gardens_hear_of_their_own(world: World) -> None:
    elsewhere = MembershipFactory()
    a_message(world, garden=elsewhere.garden, person=elsewhere.person)
    Membership.objects.filter(pk=elsewhere.pk).update(role="owner")
    look_twice(NOON)
    assert notices() == {elsewhere.person.email}


OLD = NOON - KEPT - DAY


def twins(world: World, **more: Any) -> tuple[Message, Message]:
    """A mail and the same on the page, both sent."""
    given = {"state": "sent", "sent_at": OLD, "not_before": OLD, "last_error": "", **more}
    name = f"t{Message.objects.count()}"
    made = a_message(world, key=f"{name}:email", **given)
    return made, a_message(world, key=f"{name}:inbox", channel="inbox", **given)


def test_old_mail_goes_and_the_page_keeps_its_own(world: World) -> None:
    sent, on_page = twins(world)
    assert prune(now=NOON) == 1
    assert list(Message.objects.all()) == [on_page]
    assert sent.pk != on_page.pk


@pytest.mark.parametrize(
    "kept",
    [
        {"not_before": NOON - KEPT},
        {"state": "failed", "sent_at": None},
        {"state": "pending", "sent_at": None},
    ],
    ids=["not old enough", "failed", "waiting"],
)
def test_what_is_not_pruned(world: World, kept: dict[str, Any]) -> None:
    twins(world, **kept)
    assert prune(now=NOON) == 0


def test_mail_without_a_twin_stays(world: World) -> None:
    twins(world)[1].delete()
    assert prune(now=NOON) == 0


@pytest.mark.parametrize(("state", "gone"), [("open", 0), ("done", 1)])
def test_a_task_still_open_is_not_told_again(world: World, state: str, gone: int) -> None:
    sent, _ = twins(world)
    task = a_task(world.plant, "lift", state=state)
    MessageItem.objects.create(message=sent, task=task, person=sent.person, channel="email")
    assert prune(now=NOON) == gone


def test_pruning_comes_once_a_day(world: World) -> None:
    twins(world)
    assert prune_daily(now=NOON) == 1
    twins(world)
    assert prune_daily(now=NOON + timedelta(hours=23)) == 0
    assert prune_daily(now=NOON + DAY) == 1
    assert Heartbeat.objects.get(name="prune").at == NOON + DAY
    assert Person.objects.filter(pk=world.member.person_id).exists()

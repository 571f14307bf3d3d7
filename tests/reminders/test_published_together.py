"""Publishings that meet: with each other, with the morning message, and with mail that fails."""

from datetime import datetime, timedelta

from lifecycle.models import Membership, Message, MessageItem, Task
from lifecycle.records.messages.message_choices import choose
from lifecycle.records.work.week import draft
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.claiming import claim
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.messages.settling import put_off
from lifecycle.reminders.ticks import dispatch_tick, remind_tick
from lifecycle.reminders.work.announce import announce_site
from lifecycle.reminders.work.publishing import publish_and_tell
from tests.conftest import World
from tests.factories import NOON
from tests.records.weeks import DAY, TODAY, a_chore_task, a_free_task, held_by

MORNING = NOON.replace(hour=8) + timedelta(1)
NIGHT = NOON.replace(hour=21, minute=40)


def words(message: Message) -> str:
    composed = COMPOSERS["published"](message, NOON)
    assert isinstance(composed, Composed)
    return "\n".join((composed.subject, *(line.text for line in composed.lines)))


def publish_at(world: World, when: datetime, *tasks: Task, to: Membership | None = None) -> None:
    draft(world.coordinator, [task.pk for task in tasks], (to or world.member).person, now=when)
    publish_and_tell(world.coordinator, now=when)


def test_published_at_night_is_one_mail_in_the_morning(world: World, mailoutbox) -> None:
    task = a_chore_task(world, "Late compost", day=TODAY + DAY)
    publish_at(world, NIGHT, task)
    for minutes in (0, 160, 560, 570):
        remind_tick(now=NIGHT + timedelta(minutes=minutes))
        dispatch_tick(now=NIGHT + timedelta(minutes=minutes))
    [mail] = [mail for mail in mailoutbox if world.member.person.email in mail.to]
    assert "your work this week" in mail.subject
    assert "From now on" in mail.body


def test_two_publishings_of_one_night_are_one_message(world: World, mailoutbox) -> None:
    tasks = [a_chore_task(world, name, day=TODAY + 2 * DAY) for name in ("Compost", "Paths")]
    for number, task in enumerate(tasks):
        publish_at(world, NIGHT + timedelta(minutes=number), task)
    assert Message.objects.filter(person=world.member.person).count() == 2  # the page, and a mail
    dispatch_tick(now=NIGHT + timedelta(hours=10))
    [mail] = [mail for mail in mailoutbox if world.member.person.email in mail.to]
    assert "Compost" in mail.body
    assert "Paths" in mail.body


def test_what_came_and_went_in_one_night_is_not_told(world: World) -> None:
    came, stays, had = (a_chore_task(world, name, day=TODAY) for name in "ABC")
    Task.objects.filter(pk=had.pk).update(assignee=world.member.person)
    publish_at(world, NIGHT, came, stays)
    publish_at(world, NIGHT + timedelta(minutes=1), came, had, to=world.owner)
    mail = Message.objects.get(person=world.member.person, channel="email")
    text = words(mail)
    assert "your work this week: b by" in text
    assert "Not yours any more\nC." in text
    assert "A" not in {line.partition(":")[0].rstrip(".") for line in text.splitlines()}
    assert {item.task for item in mail.items.all()} == {stays}
    publish_at(world, NIGHT + timedelta(minutes=2), had)
    publish_at(world, NIGHT + timedelta(minutes=3), stays, to=world.owner)
    assert COMPOSERS["published"](Message.objects.get(pk=mail.pk), NIGHT) is None


def test_what_is_on_its_way_already_is_followed_by_another(world: World) -> None:
    publish_at(world, NIGHT, a_chore_task(world, "Compost"))
    claim(now=NIGHT + timedelta(hours=10))
    publish_at(world, NIGHT + timedelta(hours=10), a_chore_task(world, "Paths"))
    assert Message.objects.filter(channel="email", person=world.member.person).count() == 2


def told_in_the_morning(world: World, task: Task, now: datetime) -> bool:
    remind_tick(now=now)
    items = MessageItem.objects.filter(message__about="due", task=task, channel="email")
    return items.filter(person=world.member.person).exists()


def test_what_expired_is_told_in_the_morning(world: World) -> None:
    task = a_chore_task(world, latest=TODAY + 16 * DAY)
    publish_at(world, NOON, task)
    dispatch_tick(now=NOON + 4 * DAY)  # nothing was sent for days
    assert Message.objects.get(about="published", channel="email").state == "expired"
    assert told_in_the_morning(world, task, MORNING + 4 * DAY)


def test_what_was_cancelled_is_told_in_the_morning(world: World) -> None:
    task = a_chore_task(world, latest=TODAY + 16 * DAY)
    publish_at(world, NIGHT, task)
    choose(world.member.person, "handed", "email", wanted=False)
    dispatch_tick(now=NIGHT + timedelta(hours=10))
    assert Message.objects.get(about="published", channel="email").state == "cancelled"
    assert told_in_the_morning(world, task, MORNING + DAY)


def test_what_failed_is_told_in_the_morning(world: World) -> None:
    task = a_chore_task(world, latest=TODAY + 16 * DAY)
    publish_at(world, NOON, task)
    token, _ = claim(now=NOON)
    message = Message.objects.get(about="published", channel="email")
    put_off(message, token, "No such mailbox.", NOON, lasting=True)
    assert Message.objects.get(pk=message.pk).state == "failed"
    assert told_in_the_morning(world, task, MORNING + DAY)


def test_a_failed_morning_message_keeps_what_it_would_say(world: World) -> None:
    task = a_free_task(world)
    held_by(world.member.person, task)
    announce_site(world.site, now=NOON)
    token, _ = claim(now=NOON)
    message = Message.objects.get(about="due", channel="email", person=world.member.person)
    put_off(message, token, "No such mailbox.", NOON, lasting=True)
    assert [item.task for item in message.items.all()] == [task]

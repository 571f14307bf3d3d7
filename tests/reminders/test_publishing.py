"""One message a person for a published week, complete in itself, and nothing told twice."""

from datetime import time, timedelta

import pytest

from lifecycle.models import Chore, Membership, Message, MessageItem, Publication, Site, Task
from lifecycle.records.messages.message_choices import choose
from lifecycle.records.work.week import draft
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.nights.alert_health import health_of
from lifecycle.reminders.work.announce import announce_site
from lifecycle.reminders.work.publishing import publish_and_tell
from tests.conftest import World
from tests.factories import NOON, PlaceFactory
from tests.records.weeks import DAY, TODAY, a_chore_task, a_free_task, a_worker, held_by

MORNING = NOON.replace(hour=8) + timedelta(1)


def published(world: World, *tasks: Task, to: Membership | None = None) -> None:
    person = (to or world.member).person
    draft(world.coordinator, [task.pk for task in tasks], person, now=NOON)
    publish_and_tell(world.coordinator, now=NOON)


def words(message: Message) -> str:
    composed = COMPOSERS["published"](message, NOON)
    assert isinstance(composed, Composed)
    return "\n".join((composed.subject, *(line.text for line in composed.lines)))


def test_one_message_a_person_and_channel_however_much_it_is(world: World) -> None:
    tasks = [a_free_task(world) for _ in range(9)]
    held_by(world.owner.person, tasks[0])
    published(world, *tasks)
    made = Publication.objects.get()
    member, owner = world.member.person_id, world.owner.person_id
    keys = {
        f"published:{made.pk}:{who}:{channel}"
        for who in (member, owner)
        for channel in ("inbox", "email")
    }
    assert set(Message.objects.values_list("key", flat=True)) == keys
    assert set(Message.objects.values_list("kind", "level")) == {("handed", "due")}
    assert set(Message.objects.values_list("not_before", flat=True)) == {NOON}


def test_in_quiet_hours_it_waits_for_the_morning(world: World) -> None:
    night = NOON.replace(hour=22)
    draft(world.coordinator, [a_free_task(world).pk], world.member.person, now=night)
    publish_and_tell(world.coordinator, now=night)
    assert Message.objects.first().not_before == night.replace(hour=7) + DAY


def test_who_stopped_e_mails_of_this_kind_reads_it_on_the_page(world: World) -> None:
    choose(world.member.person, "handed", "email", wanted=False)
    published(world, a_free_task(world))
    assert set(Message.objects.values_list("channel", flat=True)) == {"inbox"}


def test_the_words_say_what_where_by_when_and_why(world: World) -> None:
    bed = PlaceFactory(site=world.site, name="Bed 7")
    for _ in range(3):
        a_free_task(world, bed=bed)
    later = a_chore_task(world, earliest=TODAY + 2 * DAY, best=TODAY + 2 * DAY)
    published(world, *Task.objects.all())
    text = words(Message.objects.filter(person=world.member.person).first())
    assert text.splitlines()[0] == (
        "Northfield: your work this week: turn the compost by 17 October, and 1 more"
    )
    assert "From now on" in text
    assert "Cut back: 3 plants, Bed 7 (Cayenne" in text
    assert "): by 20 October." in text
    assert "Nights fall below 10 °C about 20 October." in text
    assert "Friday 16 October" in text
    assert f"{later.chore}: by 17 October." in text
    assert "Take care" in text
    assert "If something does not suit you, say so on its page" in text


def test_days_that_differ_and_the_time_of_day_are_said(world: World) -> None:
    bed = PlaceFactory(site=world.site, name="Bed 7")
    for latest in (TODAY + 3 * DAY, TODAY + 9 * DAY, TODAY + 9 * DAY):
        a_free_task(world, "winter_check", bed=bed, latest=latest)
    gate = a_chore_task(world, "Open the gate", latest=TODAY + 4 * DAY)
    Chore.objects.filter(pk=gate.chore_id).update(at_time=time(10))
    published(world, *Task.objects.all())
    text = words(Message.objects.filter(person=world.member.person).first())
    assert text.splitlines()[0] == (
        "Northfield: your work this week: winter check: 3 plants by 17 October, the last by "
        "23 October, and 1 more"
    )
    assert "): by 17 October, the last by 23 October." in text
    assert "Open the gate: by 18 October, at 10:00." in text


def test_who_lost_work_is_told_in_the_same_message(world: World) -> None:
    lost, given = a_free_task(world), a_free_task(world, "feed")
    held_by(world.member.person, lost)
    draft(world.coordinator, [lost.pk], world.owner.person, now=NOON)
    draft(world.coordinator, [given.pk], world.member.person, now=NOON)
    publish_and_tell(world.coordinator, now=NOON)
    [mail] = Message.objects.filter(person=world.member.person, channel="email")
    text = words(mail)
    assert "Feed: Cayenne" in text
    assert "Not yours any more" in text
    assert f"Cut back: {lost.plant}" in text


def test_who_only_lost_work_is_told_that_too(world: World) -> None:
    lost = a_free_task(world)
    held_by(world.member.person, lost)
    published(world, lost, to=world.owner)
    text = words(Message.objects.filter(person=world.member.person).first())
    assert text.startswith("Northfield: some of your work went to others")
    assert "There is nothing for you to do about this." in text


def test_what_was_done_or_passed_on_before_it_goes_out_is_not_told(world: World) -> None:
    done, passed = a_free_task(world), a_free_task(world, "feed")
    published(world, done, passed)
    message = Message.objects.filter(channel="email").get()
    Task.objects.filter(pk=done.pk).update(state="done")
    assert "Cut back" not in words(message)
    Task.objects.filter(pk=passed.pk).update(assignee=world.owner.person)
    assert COMPOSERS["published"](message, NOON) is None


def test_the_data_of_another_garden_says_nothing(world: World) -> None:
    published(world, a_free_task(world))
    message = Message.objects.filter(channel="email").get()
    message.garden = Membership.objects.get(person=world.outsider).garden
    assert COMPOSERS["published"](message, NOON) is None


def test_the_morning_does_not_repeat_what_was_published(world: World) -> None:
    open_now = a_free_task(world)
    opens_later = a_free_task(
        world, "feed", earliest=TODAY + DAY, best=TODAY + DAY, latest=TODAY + 3 * DAY
    )
    published(world, open_now, opens_later)
    announce_site(Site.objects.get(pk=world.site.pk), now=NOON)
    assert not MessageItem.objects.filter(message__about="due").exists()
    announce_site(world.site, now=MORNING)
    told = MessageItem.objects.filter(message__about="due", channel="email")
    assert [item.task for item in told] == [opens_later]


def test_the_last_day_is_still_told(world: World) -> None:
    task = a_free_task(world)
    published(world, task)
    announce_site(world.site, now=NOON + (task.latest - TODAY))
    told = MessageItem.objects.filter(message__about="due", task=task, channel="email")
    assert [item.stage for item in told] == ["late"]


def test_being_given_work_is_no_offer_taken_up(world: World) -> None:
    published(world, a_free_task(world))
    Message.objects.update(state="sent", sent_at=NOON)
    health = health_of(world.garden, today=TODAY, now=NOON)
    assert [each.number for each in health.acted_on if each.kind == "handed"] == [0]


def test_nothing_new_tells_nobody(world: World) -> None:
    assert publish_and_tell(world.coordinator, now=NOON).publication is None
    published(world, a_free_task(world))
    before = Message.objects.count()
    publish_and_tell(world.coordinator, now=NOON)
    assert Message.objects.count() == before


def test_a_message_that_cannot_be_written_publishes_nothing(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    task = a_free_task(world)
    draft(world.coordinator, [task.pk], world.member.person, now=NOON)

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("The outbox is broken.")

    monkeypatch.setattr("lifecycle.reminders.work.publishing.put", broken)
    with pytest.raises(RuntimeError):
        publish_and_tell(world.coordinator, now=NOON)
    task.refresh_from_db()
    assert (task.assignee, Publication.objects.count()) == (None, 0)


def test_much_work_is_listed_up_to_a_limit(world: World) -> None:
    worker = a_worker(world, "Ana")
    tasks = [a_chore_task(world, f"Chore {number}") for number in range(63)]
    published(world, *tasks, to=worker)
    text = words(Message.objects.filter(person=worker.person).first())
    assert "And 3 more, on the page." in text

"""A hand-over in one sentence that both sides read, and the messages about it."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lifecycle.care.wording import short_date
from lifecycle.models import HandOver, HandOverItem, Message, Person, TaskEvent
from lifecycle.records.people.handing_effect import tasks_moving
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.people.handing import ABOUT
from lifecycle.reminders.work.task_words import garden_url

State = HandOver.State


def with_items(hand_overs: "QuerySet[HandOver]") -> "QuerySet[HandOver]":
    """Return hand-overs with all that their sentence needs: four queries however many."""
    return hand_overs.select_related("garden", "by", "giver", "to").prefetch_related(
        "items__plant__place", "items__sowing__place", "items__sowing__variety", "items__place"
    )


def what_passes(hand_over: HandOver) -> str:
    """Return "Cayenne 4 (Bed 3)", "Cayenne 4 and 2 more", or "Bed 3 with 4 plants"."""
    items = list(hand_over.items.all())
    bed = next((item.place for item in items if item.place is not None), None)
    plants = [item for item in items if item.plant_id is not None]
    sowings = [item for item in items if item.sowing_id is not None]
    if bed is not None:
        within = _counts(len(plants), len(sowings))
        return _("{bed} with {within}").format(bed=bed, within=within) if within else str(bed)
    if not items:
        return _("nothing")
    first = _named(items[0])
    more = len(items) - 1
    return _("{first} and {more} more").format(first=first, more=more) if more else first


def _named(item: HandOverItem) -> str:
    record = item.plant or item.sowing
    place = record.place if record is not None else None
    return f"{record} ({place})" if place is not None else str(record)


def _counts(plants: int, sowings: int) -> str:
    said = []
    if plants:
        said.append(ngettext("{n} plant", "{n} plants", plants).format(n=plants))
    if sowings:
        said.append(ngettext("{n} sowing", "{n} sowings", sowings).format(n=sowings))
    return _(" and ").join(said)


def passing_words(hand_over: HandOver, around: date) -> str:
    """Return who hands what to whom from which day."""
    given = {
        "day": short_date(hand_over.from_day, around),
        "giver": hand_over.giver,
        "what": what_passes(hand_over),
        "to": hand_over.to,
    }
    if hand_over.giver is None:
        return _("From {day}, {to} looks after {what}, which nobody had.").format(**given)
    return _("From {day}, {giver} hands {what} to {to}.").format(**given)


def sentence(hand_over: HandOver, around: date) -> str:
    """Return the sentence that both sides read, with how many tasks move."""
    tasks = _tasks_moved(hand_over) if hand_over.state == State.DONE else _tasks_to_move(hand_over)
    moved = hand_over.state == State.DONE
    if not tasks:
        said = _("No task moved.") if moved else _("No task moves.")
    elif moved:
        said = ngettext("{n} task moved.", "{n} tasks moved.", tasks).format(n=tasks)
    else:
        said = ngettext("{n} task moves.", "{n} tasks move.", tasks).format(n=tasks)
    return f"{passing_words(hand_over, around)} {said}"


def _tasks_to_move(hand_over: HandOver) -> int:
    items = list(hand_over.items.all())
    moving = tasks_moving(
        hand_over.giver_id,
        [item.plant for item in items if item.plant is not None],
        [item.sowing for item in items if item.sowing is not None],
        next((item.place for item in items if item.place is not None), None),
    )
    return moving.filter(latest__gte=hand_over.from_day).count()


def _tasks_moved(hand_over: HandOver) -> int:
    assert hand_over.done_at is not None
    return TaskEvent.objects.filter(
        garden=hand_over.garden_id,
        act=TaskEvent.Act.HANDED_OVER,
        at=hand_over.done_at,
        to=hand_over.to_id,
        by=hand_over.by_id,
    ).count()


def standing_words(hand_over: HandOver, around: date, reader: Person | None = None) -> str:
    """Return how a hand-over stands, as a page and a message say it; its receiver reads "you"."""
    day = short_date(hand_over.from_day, around)
    standing = {
        State.PROPOSED: _("It waits for an answer from {to}."),
        State.ACCEPTED: _("{to} accepted. It takes effect on {day}."),
        State.DONE: _("It is done."),
        State.DECLINED: _("{to} declined."),
        State.CANCELLED: _("It came to nothing.") if hand_over.why else _("It was taken back."),
    }
    if reader is not None and reader.pk == hand_over.to_id:
        standing |= {
            State.PROPOSED: _("It waits for your answer."),
            State.ACCEPTED: _("You accepted. It takes effect on {day}."),
            State.DECLINED: _("You declined."),
        }
    said = standing[State(hand_over.state)].format(to=hand_over.to, day=day)
    return f"{said} {hand_over.why}" if hand_over.why else said


@register(ABOUT)
def hand_over(message: Message, now: datetime) -> Composed | None:
    """Write how hand-overs stand; None when all of them stand otherwise by now."""
    news = message.data["news"]
    found = with_items(HandOver.objects.filter(garden=message.garden_id)).filter(
        pk__in=message.data["hand_overs"], state=State.PROPOSED if news == "raised" else news
    )
    held = list(found.order_by("pk"))
    if not held:
        return None
    subject = _subject(held, news, message)
    alone = f"hand-overs/{held[0].pk}" if len(held) == 1 else "hand-overs"
    return Composed(
        subject=subject,
        lines=tuple(line for each in held for line in _lines(each, news, message)),
        short=subject[:SHORT_LENGTH],
        url=garden_url(message.garden, alone),
    )


def _lines(held: HandOver, news: str, message: Message) -> Iterator[Line]:
    yield Line(sentence(held, message.for_day))
    if held.note:
        yield Line(_("They write: {note}").format(note=held.note))
    yield Line(_next(held, news, message))
    yield Line(_("See the hand-over"), garden_url(message.garden, f"hand-overs/{held.pk}"))


def _subject(held: Sequence[HandOver], news: str, message: Message) -> str:
    first, more = held[0], len(held) - 1
    what = what_passes(first)
    given = {
        "garden": message.garden.name,
        "what": _("{what}, and {n} more").format(what=what, n=more) if more else what,
        "who": first.giver or first.by,
        "to": first.to,
    }
    return {
        "raised": _("{garden}: nobody answered a hand-over of {what}"),
        State.PROPOSED.value: _("{garden}: {who} asks you to take {what}"),
        State.ACCEPTED.value: _("{garden}: {to} takes {what}"),
        State.DONE.value: _("{garden}: {what} passed to {to}"),
        State.DECLINED.value: _("{garden}: {to} does not take {what}"),
        State.CANCELLED.value: _("{garden}: you are not asked for {what} any more"),
    }[news].format(**given)[:200]


def _next(held: HandOver, news: str, message: Message) -> str:
    if news == "raised":
        return _(
            "It has waited for a week. Ask {to}; then accept it for them or take it back."
        ).format(to=held.to)
    if news == State.PROPOSED:
        return _("Open it to accept, or to decline with a reason. Nothing changes until you do.")
    return standing_words(held, message.for_day)

"""A task offered from one member to another: told to who is asked, and the answer to who asked."""

from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from lifecycle.models import Message, Person, TaskOffer
from lifecycle.records.work.minding import RELATED
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.task_words import garden_url, what_and_where, window_words

ABOUT, ANSWERED = "task_offer", "task_offer_answer"
KEPT = timedelta(days=7)
State = TaskOffer.State


def tell_offer(offer: TaskOffer, *, now: datetime) -> TaskOffer:
    """Ask the person to whom a task is offered. The same offer is told once."""
    _put(offer, offer.to, ABOUT, Message.Level.DUE, now)
    return offer


def tell_answer(offer: TaskOffer, *, now: datetime) -> TaskOffer:
    """Tell who made an offer that it was taken or not. The same answer is told once."""
    if offer.state in (State.TAKEN, State.REFUSED):
        _put(offer, offer.by, ANSWERED, Message.Level.NOTE, now)
    return offer


def _put(offer: TaskOffer, person: Person, about: str, level: str, now: datetime) -> None:
    site = offer.task.site
    not_before = next_open_hour(now, site.time_zone)
    put(
        site.garden,
        person,
        key=f"{about}:{offer.pk}",
        kind=Message.Kind.HANDED,
        level=level,
        about=about,
        data={"offer": offer.pk, "site": site.pk},
        for_day=site.local_day(now),
        not_before=not_before,
        expires_at=not_before + KEPT,
        now=now,
    )


@register(ABOUT)
def offered(message: Message, now: datetime) -> Composed | None:
    """Write what is offered, and for what; None once it was answered or is past."""
    offer = _offer(message)
    if offer is None or offer.state != State.OPEN:
        return None
    subject = _("{garden}: {by} offers you a task: {what}").format(
        garden=message.garden.name, by=offer.by, what=what_and_where([offer.task])
    )
    url = garden_url(message.garden, f"offers/{offer.pk}")
    return Composed(
        subject=subject,
        lines=(
            Line(what_and_where([offer.task]), heading=True),
            Line(window_words(offer.task, message.person, message.for_day)),
            *_in_exchange(offer, message),
            Line(_("It stays with {by} until you take it.").format(by=offer.by)),
            Line(_("Take it, or say no"), url),
        ),
        short=subject[:SHORT_LENGTH],
        url=url,
    )


def _in_exchange(offer: TaskOffer, message: Message) -> tuple[Line, ...]:
    if offer.for_task is None:
        return ()
    theirs = what_and_where([offer.for_task])
    return (
        Line(_("In exchange for yours: {what}").format(what=theirs), heading=True),
        Line(window_words(offer.for_task, message.person, message.for_day)),
    )


@register(ANSWERED)
def answered(message: Message, now: datetime) -> Composed | None:
    """Write what became of an offer."""
    offer = _offer(message)
    if offer is None or offer.state not in (State.TAKEN, State.REFUSED):
        return None
    said = {
        State.TAKEN: _("{garden}: {to} takes it: {what}"),
        State.REFUSED: _("{garden}: {to} cannot take it: {what}"),
    }
    subject = said[State(offer.state)].format(
        garden=message.garden.name, to=offer.to, what=what_and_where([offer.task])
    )
    url = garden_url(message.garden, f"tasks/{offer.task_id}")
    swapped = offer.state == State.TAKEN and offer.for_task is not None
    return Composed(
        subject=subject,
        lines=(
            *(_in_exchange_for_reader(offer) if swapped else ()),
            Line(_("The task and all that happened to it"), url),
        ),
        short=subject[:SHORT_LENGTH],
        url=url,
    )


def _in_exchange_for_reader(offer: TaskOffer) -> tuple[Line, ...]:
    assert offer.for_task is not None
    theirs = what_and_where([offer.for_task])
    return (Line(_("Now yours instead: {what}").format(what=theirs)),)


def _offer(message: Message) -> TaskOffer | None:
    related = [f"{side}__{name}" for side in ("task", "for_task") for name in RELATED]
    found = TaskOffer.objects.filter(pk=message.data["offer"], garden_id=message.garden_id)
    return found.select_related("by", "to", *related).first()

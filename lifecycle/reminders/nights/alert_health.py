"""How well a garden's messages do their work, over the last month: for its coordinators."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median

from django.db.models import Count, Exists, F, OuterRef, Q

from lifecycle.care.frost_policy import Tally
from lifecycle.models import (
    Ask,
    FrostBed,
    FrostNight,
    Garden,
    Membership,
    Message,
    MessageItem,
    Task,
)
from lifecycle.records.nights.asks import BY_THEMSELVES
from lifecycle.reminders.nights.frost_record import lows_of, tally_of, was_called

MONTH = timedelta(days=30)
_DAY = timedelta(days=1)
LEAST_SHARE = 0.5
LEAST_NUMBER = 10
"""Under half acted on, of ten or more, a kind is proposed for the weekly message alone."""

_LOUD = (Message.Channel.EMAIL, Message.Channel.PUSH)
_ACTED = Q(state__in=[Task.State.DONE, Task.State.CANNOT])


@dataclass(frozen=True, slots=True)
class ActedOn:
    """Of what was told of one kind and is settled, how much was acted on."""

    kind: Message.Kind
    number: int
    acted: int

    @property
    def demote(self) -> bool:
        """Whether the kind interrupts too often for too little."""
        return self.number >= LEAST_NUMBER and self.acted < LEAST_SHARE * self.number


@dataclass(frozen=True, slots=True)
class AlertHealth:
    """A month of messages.

    ``sent`` counts those by e-mail and push to ``people`` members, ``most`` those to the one
    who got most. ``answer_minutes`` is the median time to an answer, None without one;
    ``in_time`` of ``asks`` were answered before the next people were asked. ``calls`` counts
    frost nights whose low is known, ``unknown`` the called nights of which something is not.
    """

    people: int
    sent: int
    most: int
    asks: int
    in_time: int
    answer_minutes: float | None
    calls: Tally
    unknown: int
    acted_on: tuple[ActedOn, ...]


def health_of(garden: Garden, *, today: date, now: datetime) -> AlertHealth:
    """Return how a garden's messages did in the 30 days up to ``now``."""
    since = now - MONTH
    sent = (
        Message.objects.filter(
            garden=garden, channel__in=_LOUD, state=Message.State.SENT, sent_at__gte=since
        )
        .values("person")
        .annotate(number=Count("pk"))
        .values_list("number", flat=True)
    )
    numbers = list(sent)
    asks = list(
        Ask.objects.filter(garden=garden, asked_at__gte=since, rung__gt=BY_THEMSELVES)
        .exclude(state=Ask.State.CALLED_OFF, answered_at__isnull=True)
        .values_list("asked_at", "answer_by", "answered_at")
    )
    answered = [(asked, by, at) for asked, by, at in asks if at is not None]
    nights = list(
        FrostNight.objects.filter(garden=garden, night__range=(today - MONTH, today - _DAY))
    )
    lows = lows_of(nights)
    return AlertHealth(
        people=Membership.objects.filter(garden=garden, left_on__isnull=True).count(),
        sent=sum(numbers),
        most=max(numbers, default=0),
        asks=len(asks),
        in_time=sum(at <= by for _, by, at in answered),
        answer_minutes=_median_minutes((asked, at) for asked, _, at in answered),
        calls=tally_of(nights, lows),
        unknown=_unknown(nights, lows),
        acted_on=(
            ActedOn(Message.Kind.FROST, len(asks), len(answered)),
            _of_tasks(garden, Message.Kind.DUE, since, today),
            _of_tasks(garden, Message.Kind.HANDED, since, today),
        ),
    )


def _median_minutes(times: Iterable[tuple[datetime, datetime]]) -> float | None:
    minutes = [(at - asked) / timedelta(minutes=1) for asked, at in times]
    return median(minutes) if minutes else None


def _unknown(nights: list[FrostNight], lows: dict[int, float]) -> int:
    """Return how many called nights have no low, or a place of which nobody said what was done."""
    called = [night.pk for night in nights if was_called(night)]
    open_beds = set(
        FrostBed.objects.filter(frost_night__in=called, mark=FrostBed.Mark.UNKNOWN)
        .exclude(action=FrostBed.Action.LEAVE)
        .values_list("frost_night", flat=True)
    )
    return sum(pk not in lows or pk in open_beds for pk in called)


def _of_tasks(garden: Garden, kind: Message.Kind, since: datetime, today: date) -> ActedOn:
    """Count the tasks told of in the month that are settled: closed, or past their last day."""
    items = MessageItem.objects.filter(
        task=OuterRef("pk"),
        message__kind=kind,
        message__state=Message.State.SENT,
        message__sent_at__gte=since,
    )
    tasks = Task.objects.filter(Exists(items), garden=garden)
    if kind == Message.Kind.HANDED:
        # An offer is taken up by doing the task, or by taking it on; what is handed is not asked.
        items = items.filter(stage=MessageItem.Stage.OFFERED)
        tasks = Task.objects.filter(Exists(items), garden=garden)
        by_reader = Q(Exists(items.filter(person=F("task__assignee"))))
        taken = _ACTED | (Q(assignee__isnull=False) & by_reader)
        found = tasks.aggregate(number=Count("pk"), acted=Count("pk", filter=taken))
    else:
        found = tasks.aggregate(
            number=Count("pk", filter=_ACTED | Q(latest__lt=today)),
            acted=Count("pk", filter=_ACTED),
        )
    return ActedOn(kind, **found)

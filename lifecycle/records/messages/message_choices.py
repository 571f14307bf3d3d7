"""What a person chose to be told, kind by kind and channel by channel."""

from collections.abc import Iterable, Mapping

from django.db.models import Count

from lifecycle.models import Message, MessageChoice, Person, PushSubscription

DEFAULTS: Mapping[str, Mapping[str, bool]] = {
    Message.Kind.FROST: {Message.Channel.EMAIL: True, Message.Channel.PUSH: True},
    Message.Kind.DUE: {Message.Channel.EMAIL: True, Message.Channel.PUSH: False},
    Message.Kind.WEEK: {Message.Channel.EMAIL: True, Message.Channel.PUSH: False},
    Message.Kind.HANDED: {Message.Channel.EMAIL: True, Message.Channel.PUSH: False},
    Message.Kind.LEAD: {Message.Channel.EMAIL: True, Message.Channel.PUSH: False},
}
"""What stands until a person chooses. The page has every message always."""


def choices_of(person: Person) -> dict[str, dict[str, bool]]:
    """Return what the person wants by kind and channel, the page left out."""
    wanted = {kind: dict(channels) for kind, channels in DEFAULTS.items()}
    for row in MessageChoice.objects.filter(person=person):
        if row.channel in wanted.get(row.kind, {}):
            wanted[row.kind][row.channel] = row.wanted
    return wanted


def wants(person: Person, kind: str, channel: str) -> bool:
    """Return whether the person wants this kind on this channel; the page has every message."""
    if channel == Message.Channel.INBOX:
        return True
    row = MessageChoice.objects.filter(person=person, kind=kind, channel=channel).first()
    return row.wanted if row is not None else DEFAULTS[kind][channel]


def channels_for(person: Person, kind: str) -> list[str]:
    """Return the channels on which the person gets this kind; push only with a subscription."""
    wanted = choices_of(person)[kind]
    found: list[str] = [Message.Channel.INBOX]
    if wanted[Message.Channel.EMAIL]:
        found.append(Message.Channel.EMAIL)
    if wanted[Message.Channel.PUSH] and person.push_subscriptions.exists():
        found.append(Message.Channel.PUSH)
    return found


def people_by_channel(people: Iterable[int], kind: str) -> dict[str, set[int]]:
    """Return by channel who of these people gets this kind there, with two queries for all."""
    everybody = set(people)
    found: dict[str, set[int]] = {Message.Channel.INBOX: everybody}
    for channel, standard in DEFAULTS[kind].items():
        found[channel] = set(everybody) if standard else set()
    rows = MessageChoice.objects.filter(person__in=everybody, kind=kind)
    for pk, channel, wanted in rows.values_list("person", "channel", "wanted"):
        if channel in found:
            (found[channel].add if wanted else found[channel].discard)(pk)
    found[Message.Channel.PUSH] &= set(
        PushSubscription.objects.filter(person__in=everybody).values_list("person", flat=True)
    )
    return found


def stopped_by_kind(garden_id: int) -> list[tuple[Message.Kind, int]]:
    """Return by kind how many of a garden's members stopped its e-mails. One query."""
    rows = MessageChoice.objects.filter(
        person__memberships__garden=garden_id,
        person__memberships__left_on__isnull=True,
        channel=Message.Channel.EMAIL,
        wanted=False,
    )
    found = dict(rows.values_list("kind").annotate(number=Count("person", distinct=True)))
    return [(kind, found.get(kind, 0)) for kind in Message.Kind]


def choose(person: Person, kind: str, channel: str, wanted: bool) -> None:
    """Set one choice. Raises ValueError for a kind or channel that cannot be chosen."""
    if channel not in DEFAULTS.get(kind, {}):
        raise ValueError(f"“{kind}” by “{channel}” cannot be chosen.")
    MessageChoice.objects.update_or_create(
        person=person, kind=kind, channel=channel, defaults={"wanted": wanted}
    )

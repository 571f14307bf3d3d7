"""What a person chose to be told, kind by kind and channel by channel."""

from collections.abc import Mapping

from lifecycle.models import Message, MessageChoice, Person

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


def choose(person: Person, kind: str, channel: str, wanted: bool) -> None:
    """Set one choice. Raises ValueError for a kind or channel that cannot be chosen."""
    if channel not in DEFAULTS.get(kind, {}):
        raise ValueError(f"“{kind}” by “{channel}” cannot be chosen.")
    MessageChoice.objects.update_or_create(
        person=person, kind=kind, channel=channel, defaults={"wanted": wanted}
    )

"""Every page of a garden, for tests that walk them all."""

from dataclasses import dataclass

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Message
from tests.conftest import World
from tests.factories import NOON, a_sowing, a_task, an_entry


@dataclass(frozen=True)
class Pages:
    """Addresses that anybody in the garden reads, and those that only lead to a write."""

    read: dict[str, str]
    write: dict[str, str]


def pages_of(world: World) -> Pages:
    """Fill the garden a little and return the addresses of all its pages."""
    sowing = a_sowing(world.member, world.bench)
    task = a_task(world.plant, "cut_back")
    entry = an_entry(world.member, world.plant, Kind.FED, quantity=20.0)
    message = a_message(world)
    g, plant = world.address, f"{world.address}plants/{world.plant.code}"
    seed = f"{g}sowings/{sowing.code}"
    return Pages(
        read={
            "today": g,
            "beds": f"{g}beds",
            "bed": f"{g}beds/{world.bed.pk}",
            "bed, several": f"{g}beds/{world.bed.pk}?several=1",
            "plants": f"{g}plants",
            "plant": plant,
            "sowing": seed,
            "entry": f"{g}entries/{entry.pk}",
            "tasks": f"{g}tasks",
            "task group": f"{g}tasks?kind=cut_back&place={world.bed.pk}",
            "task": f"{g}tasks/{task.pk}",
            "inbox": f"{g}inbox",
            "message": f"{g}inbox/{message.pk}",
            "climate": f"{g}sites/{world.site.pk}/climate",
            "more": f"{g}more",
            "settings": "/settings",
        },
        write={
            "add place": f"{g}places/add",
            "add site": f"{g}sites/add",
            "take over": f"{g}plants/add",
            "sow": f"{g}sow",
            "log choice": f"{plant}/log",
            "log": f"{plant}/log/pest_check",
            "move": f"{plant}/move",
            "split": f"{plant}/split",
            "cuttings": f"{plant}/cuttings",
            "seed": f"{plant}/seed",
            "hand over": f"{plant}/hand-over",
            "log sowing": f"{seed}/log/emerged",
            "pot up": f"{seed}/pot-up",
        },
    )


def a_message(world: World) -> Message:
    """Put a sent message into the inboxes of the garden's people; returns the member's."""
    sent = [
        Message(
            garden=world.garden,
            key=f"test:{who.pk}",
            person=who.person,
            channel=Message.Channel.INBOX,
            for_day=NOON.date(),
            subject="Northfield: cut back by 20 October",
            body="Cut back.\nhttp://127.0.0.1:8000/settings",
            not_before=NOON,
            expires_at=NOON,
            state=Message.State.SENT,
            sent_at=NOON,
            made_at=NOON,
        )
        for who in (world.member, world.owner, world.coordinator, world.committee)
    ]
    return Message.objects.bulk_create(sent)[0]


def entries_of(world: World) -> int:
    """Return how many entries the garden has."""
    return Entry.objects.filter(garden=world.garden).count()

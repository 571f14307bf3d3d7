"""Every page of a garden, for tests that walk them all."""

from dataclasses import dataclass
from datetime import date
from uuid import uuid4

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, FrostNight, GardenCover, Message, SeedLot, SiteEventRow
from lifecycle.records.crops.identity import doubt
from lifecycle.records.ground.site_events import begin
from lifecycle.records.nights.covers import add_cover
from tests.conftest import World
from tests.factories import NOON, a_plant, a_sowing, a_task, an_entry
from tests.records.frosts import a_bed, a_night
from tests.reminders.frost_nights import a_turn


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
    doubted, event = a_doubt(world), a_flood(world)
    lot = SeedLot.objects.create(
        garden=world.garden, variety=world.plant.variety, name="Market", packed_year=2024
    )
    turn = a_turn(world.site, world.member.person)
    cold, cover = a_frost(world), a_cover(world)
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
            "identity": f"{plant}/identity",
            "site events": f"{g}sites/{world.site.pk}/events",
            "site event": f"{g}sites/{world.site.pk}/events/{event.pk}",
            "site settings": f"{g}sites/{world.site.pk}/settings",
            "frost": f"{g}frost",
            "frost night": f"{g}frost/{world.site.pk}/{cold.night}",
            "covers": f"{g}sites/{world.site.pk}/covers",
            "varieties": f"{g}varieties",
            "variety": f"{g}varieties/{world.plant.variety_id}",
            "seeds": f"{g}seeds",
            "planting out": f"{g}sites/{world.site.pk}/planting-out",
            "forecast": f"{g}sites/{world.site.pk}/forecast",
            "rehearsal": f"{g}sites/{world.site.pk}/rehearsal",
            "sources": f"{g}sources",
            "sources of a topic": f"{g}sources/raising",
            "symptoms": f"{g}symptoms",
            "symptom": f"{g}symptoms/mosaic",
            "why": f"{plant}/why/{task.kind}/{task.growing_year}/{task.number}",
            "more": f"{g}more",
            "rota": f"{g}rota",
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
            "doubt": f"{plant}/identity/doubt",
            "settle": f"{plant}/identity/settle",
            "take back": f"{plant}/identity/{doubted.pk}/take-back",
            "add variety": f"{g}varieties/add",
            "feed plant": f"{plant}/feed",
            "feed bed": f"{g}beds/{world.bed.pk}/feed",
            "bed ground": f"{g}beds/{world.bed.pk}/ground",
            "bed years": f"{g}beds/{world.bed.pk}/years",
            "reading": f"{g}sites/{world.site.pk}/reading",
            "overnight low": f"{g}sites/{world.site.pk}/overnight-low",
            "cover": f"{g}sites/{world.site.pk}/covers/{cover.pk}",
            "add lot": f"{g}seeds/add",
            "test lot": f"{g}seeds/{lot.pk}/test",
            "log sowing": f"{seed}/log/emerged",
            "pot up": f"{seed}/pot-up",
            "rota turn": f"{g}rota/{turn.pk}",
            "system": f"{g}system",
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


def a_doubt(world: World) -> Entry:
    """Doubt whether the member's plant and another one had swapped."""
    other = a_plant(world.member, world.bed, name="Its neighbour")
    given = {"happened_on": date(2026, 10, 1), "note": "", "uuid": uuid4(), "now": NOON}
    return doubt(world.member, world.plant, why="swapped", other=other, **given)


def a_flood(world: World) -> SiteEventRow:
    """Report a flood that goes on at the site."""
    given = {"began_on": NOON.date(), "ended_on": None, "note": "", "now": NOON}
    return begin(world.member, world.site, weather="flood", **given)


def a_frost(world: World) -> FrostNight:
    """Call the coming night, with the bed of the member's plant to cover."""
    night = a_night(world)
    a_bed(night, world.bed)
    return night


def a_cover(world: World) -> GardenCover:
    """Put a cover on the site's list."""
    given = {"protection": "cover_light", "pieces": 2, "area_m2": 6.0, "kept_in": "Shed"}
    return add_cover(world.owner, world.site, **given)


def entries_of(world: World) -> int:
    """Return how many entries the garden has."""
    return Entry.objects.filter(garden=world.garden).count()

"""A called night and its messages, as the tests of urgent messages read them."""

from lifecycle.models import (
    FrostNight,
    Message,
    NightForecast,
    Person,
)
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.composing import Composed
from tests.conftest import World
from tests.factories import PlaceFactory
from tests.reminders.frost_nights import BEGIN, NIGHT, a_bed, a_night, clock, on_call

LONG_GARDEN = "Northfield and Saint Bartholomew Community Allotment Society"
LONG_SITE = "Behind the old waterworks pumping station by the canal towpath near the third bridge"[
    :80
]
LONG_BEDS = [
    f"{number}. long raised bed beside the southern red brick wall, upper" for number in (1, 2)
]


def ready(world: World, *, long: bool = False, **more: object) -> FrostNight:
    """A called night with a forecast, covers and two people on call, one in Fahrenheit."""
    if long:
        world.garden.name, world.site.name = LONG_GARDEN, LONG_SITE
        world.garden.save()
        world.site.save()
    on_call(world.site, ["Ana"])
    on_call(world.site, ["Fay"], first=2, wakes=True)
    Person.objects.filter(name="Fay").update(temperature="F")
    forecast = NightForecast.objects.create(
        garden=world.garden,
        site=world.site,
        source="gridpoint",
        issued_at=clock(13, 10),
        received_at=clock(13, 15),
        night=NIGHT,
        low_c=-1.0,
    )
    night = a_night(world.site, forecast=forecast, **more)
    a_bed(night, world.bed, protection="cover_heavy", pieces=6)
    for name in LONG_BEDS if long else ():
        a_bed(night, PlaceFactory(site=world.site, name=name))
    return night


def mail(about: str, name: str) -> Message:
    return Message.objects.get(about=about, channel="email", person__name=name)


def written(message: Message, now: object = BEGIN) -> Composed:
    composed = COMPOSERS[message.about](message, now)
    assert composed is not None
    return composed

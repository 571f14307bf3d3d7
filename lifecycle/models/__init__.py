"""The tables, their constraints and their querysets."""

from lifecycle.models.entries import Entry, Strike
from lifecycle.models.gardens import Garden, Membership, Role
from lifecycle.models.messages import Message, MessageItem
from lifecycle.models.people import Person
from lifecycle.models.plants import Plant, SeedLot, Sowing, Variety
from lifecycle.models.sites import Place, PlaceKind, Site
from lifecycle.models.weather import SevenNightLows, TypedClimate, WeatherRecord
from lifecycle.models.work import Heartbeat, Task

__all__ = [
    "Entry",
    "Garden",
    "Heartbeat",
    "Membership",
    "Message",
    "MessageItem",
    "Person",
    "Place",
    "PlaceKind",
    "Plant",
    "Role",
    "SeedLot",
    "SevenNightLows",
    "Site",
    "Sowing",
    "Strike",
    "Task",
    "TypedClimate",
    "Variety",
    "WeatherRecord",
]

"""The tables, their constraints and their querysets."""

from lifecycle.models.channels import (
    CalendarAddress,
    CalendarItem,
    MessageChoice,
    PushSubscription,
)
from lifecycle.models.entries import Entry, Strike
from lifecycle.models.forecasts import (
    AirReading,
    FetchedForecast,
    ForecastSource,
    NightForecast,
    SensorAddress,
)
from lifecycle.models.frost import Ask, FrostBed, FrostNight, GardenCover, OnCallTurn
from lifecycle.models.gardens import Garden, Membership, Role
from lifecycle.models.ground import BedYear
from lifecycle.models.identity import Swap, SwapStrike
from lifecycle.models.materials import GardenMaterial
from lifecycle.models.messages import Message, MessageItem
from lifecycle.models.people import Person
from lifecycle.models.plants import Plant, SeedLot, Sowing, Variety
from lifecycle.models.readings import DayReading
from lifecycle.models.seeds import GerminationTest
from lifecycle.models.settings import SiteSetting
from lifecycle.models.site_events import SiteEventRow
from lifecycle.models.sites import Place, PlaceKind, Site
from lifecycle.models.weather import SevenNightLows, TypedClimate, WeatherRecord
from lifecycle.models.work import Heartbeat, Task

__all__ = [
    "AirReading",
    "Ask",
    "BedYear",
    "CalendarAddress",
    "CalendarItem",
    "DayReading",
    "Entry",
    "FetchedForecast",
    "ForecastSource",
    "FrostBed",
    "FrostNight",
    "Garden",
    "GardenCover",
    "GardenMaterial",
    "GerminationTest",
    "Heartbeat",
    "Membership",
    "Message",
    "MessageChoice",
    "MessageItem",
    "NightForecast",
    "OnCallTurn",
    "Person",
    "Place",
    "PlaceKind",
    "Plant",
    "PushSubscription",
    "Role",
    "SeedLot",
    "SensorAddress",
    "SevenNightLows",
    "Site",
    "SiteEventRow",
    "SiteSetting",
    "Sowing",
    "Strike",
    "Swap",
    "SwapStrike",
    "Task",
    "TypedClimate",
    "Variety",
    "WeatherRecord",
]

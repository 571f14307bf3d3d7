"""The tables, their constraints and their querysets."""

from lifecycle.models.audit import AuditNote
from lifecycle.models.channels import (
    CalendarAddress,
    CalendarItem,
    MessageChoice,
    PushSubscription,
)
from lifecycle.models.chores import Away, Chore
from lifecycle.models.entries import Entry, Strike
from lifecycle.models.forecasts import (
    AirReading,
    FetchedForecast,
    ForecastSource,
    NightForecast,
    SensorAddress,
)
from lifecycle.models.frost import Ask, FrostBed, FrostNight, GardenCover, OnCallTurn
from lifecycle.models.gardens import Garden, Joining, Membership, Role
from lifecycle.models.giving import ClosedYear, GivenAway, WorkHours
from lifecycle.models.ground import BedYear
from lifecycle.models.handing import HandOver, HandOverItem
from lifecycle.models.holdings import BedHolding, Inspection
from lifecycle.models.identity import Swap, SwapStrike
from lifecycle.models.joining import Invitation, WaitingPerson
from lifecycle.models.letters import Allowance, Letter
from lifecycle.models.materials import GardenMaterial
from lifecycle.models.messages import Message, MessageItem
from lifecycle.models.people import Person
from lifecycle.models.plants import Plant, SeedLot, Sowing, Variety
from lifecycle.models.readings import DayReading
from lifecycle.models.seeds import GerminationTest
from lifecycle.models.settings import SiteSetting
from lifecycle.models.shed import Tool, ToolLoan
from lifecycle.models.site_events import SiteEventRow
from lifecycle.models.sites import BedRules, Place, PlaceKind, Site
from lifecycle.models.weather import SevenNightLows, TypedClimate, WeatherRecord
from lifecycle.models.work import (
    Heartbeat,
    Publication,
    PublishedTask,
    Task,
    TaskEvent,
    TaskOffer,
    WorkDraft,
)

__all__ = [
    "AirReading",
    "Allowance",
    "Ask",
    "AuditNote",
    "Away",
    "BedHolding",
    "BedRules",
    "BedYear",
    "CalendarAddress",
    "CalendarItem",
    "Chore",
    "ClosedYear",
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
    "GivenAway",
    "HandOver",
    "HandOverItem",
    "Heartbeat",
    "Inspection",
    "Invitation",
    "Joining",
    "Letter",
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
    "Publication",
    "PublishedTask",
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
    "TaskEvent",
    "TaskOffer",
    "Tool",
    "ToolLoan",
    "TypedClimate",
    "Variety",
    "WaitingPerson",
    "WeatherRecord",
    "WorkDraft",
    "WorkHours",
]

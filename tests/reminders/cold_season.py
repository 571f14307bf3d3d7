"""A cold season at four sites with sixty members, lived through the ticks.

Weather is invented: nightly lows that wander about a seasonal mean, and forecasts that miss them
by more the farther ahead they look. Some people say yes, some no, many nothing.
"""

import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from math import cos, pi
from uuid import uuid4
from zoneinfo import ZoneInfo

from lifecycle.models import (
    Ask,
    FrostBed,
    FrostNight,
    Garden,
    Membership,
    Message,
    NightForecast,
    OnCallTurn,
    Person,
    Place,
    Site,
    Variety,
)
from lifecycle.records.crops.plants import inherit
from lifecycle.records.nights.asks import answer
from lifecycle.records.refusal import Refused
from lifecycle.reminders.clock import MORNING, QUIET_FROM
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.nights.asking import ask_all
from lifecycle.reminders.nights.frost_watch import watch_all

NIGHTS_AHEAD = 3
ISSUED_AT = (time(5), time(12), time(17), time(20), time(23))
COLDEST = date(2027, 1, 15)
LOUD = ("act_today", "act_now")


@dataclass(frozen=True)
class Ground:
    """A site and its winter: mean low of the coldest night, swing of the year, spread in C."""

    site: Site
    coldest_c: float
    swing_c: float = 9.0
    spread_c: float = 3.0


@dataclass
class Season:
    """Four sites in two gardens, their sixty people and their weather."""

    seed: int
    first: date
    last: date
    step: timedelta = timedelta(minutes=30)
    grounds: list[Ground] = field(default_factory=list)
    lows: dict[tuple[int, date], float] = field(default_factory=dict)
    ticks: int = 0

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)
        gardens = [_garden(number) for number in (1, 2)]
        members = [_members(garden, 30) for garden in gardens]
        # Six people belong to both gardens.
        members[1] += [_member(gardens[1], each.person) for each in members[0][:6]]
        places = (
            ("Europe/Madrid", 40.4, -3.7, 0.5),
            ("Europe/Madrid", 41.6, -4.7, -1.0),
            ("America/Chicago", 37.2, -93.3, -2.0),
            ("Europe/London", 51.5, 0.0, 1.0),
        )
        for number, (zone, latitude, longitude, coldest) in enumerate(places):
            garden, people = gardens[number // 2], members[number // 2]
            site = _site(garden, number, zone, latitude, longitude)
            _plants(people[0], site)
            self._rota(site, people, number)
            self.grounds.append(Ground(site, coldest))
        for ground in self.grounds:
            self._weather(ground)

    def _rota(self, site: Site, people: list[Membership], number: int) -> None:
        """Put five people on call each week, every third of whom may be woken."""
        week, start = 0, self.first - timedelta(7)
        while start <= self.last:
            for position in range(1, 6):
                person = people[(week * 5 + position + 7 * number) % len(people)].person
                OnCallTurn.objects.get_or_create(
                    garden=site.garden,
                    site=site,
                    person=person,
                    first_day=start,
                    defaults={
                        "last_day": start + timedelta(6),
                        "position": position,
                        "wakes": position % 3 == 1,
                    },
                )
            week, start = week + 1, start + timedelta(7)

    def _weather(self, ground: Ground) -> None:
        """Let lows wander: each night keeps six tenths of how unusual the one before was."""
        odd, night = 0.0, self.first - timedelta(2)
        while night <= self.last + timedelta(NIGHTS_AHEAD + 1):
            odd = 0.6 * odd + 0.8 * self.chance.gauss(0, ground.spread_c)
            year = cos(2 * pi * (night - COLDEST).days / 365.25)
            mean = ground.coldest_c + ground.swing_c * (1 - year)
            self.lows[ground.site.pk, night] = mean + odd
            night += timedelta(1)

    def live(self) -> None:
        """Live through the season step by step, on days that matter."""
        for now in self._moments():
            self._forecasts(now)
            watch_all(now=now)
            ask_all(now=now)
            dispatch_all(now=now)
            self._people_act(now)
            self.ticks += 1

    def _moments(self) -> Iterator[datetime]:
        now = datetime.combine(self.first, time(0), UTC)
        end = datetime.combine(self.last, time(0), UTC)
        while now < end:
            if self._matters(now):
                yield now
            now += self.step

    def _matters(self, now: datetime) -> bool:
        """Whether some site has a cold night at hand, or an open night to close."""
        return any(
            self.lows.get((ground.site.pk, ground.site.local_day(now) + timedelta(days)), 99) < 6
            for ground in self.grounds
            for days in range(-1, NIGHTS_AHEAD + 1)
        )

    def _forecasts(self, now: datetime) -> None:
        """Issue the forecasts of this hour: wrong by more for nights farther ahead."""
        for ground in self.grounds:
            local = now.astimezone(ZoneInfo(ground.site.time_zone))
            if local.time() not in ISSUED_AT:
                continue
            for lead in range(NIGHTS_AHEAD + 1):
                night = local.date() + timedelta(lead)
                error = self.chance.gauss(0, 1.0 + 0.5 * lead - 0.03 * local.hour)
                NightForecast.objects.create(
                    garden_id=ground.site.garden_id,
                    site=ground.site,
                    source="daily",
                    issued_at=now,
                    received_at=now,
                    night=night,
                    low_c=self.lows[ground.site.pk, night] + error,
                    wind_m_s=1.0,
                )

    def _people_act(self, now: datetime) -> None:
        """Let people answer within the step, and cover before dusk what they said."""
        for ask in Ask.objects.filter(state=Ask.State.ASKED).select_related("frost_night__site"):
            tapped = self.chance.random()
            if tapped < 0.6:
                try:
                    answer(ask, tapped < 0.4, now)
                except Refused:
                    continue
        nights = FrostNight.objects.filter(state="called", sunset_at__range=(now, now + self.step))
        for night in nights:
            helpers = Ask.objects.filter(frost_night=night, state=Ask.State.ACCEPTED)
            first = helpers.first()
            if first is not None and self.chance.random() < 0.7:
                FrostBed.objects.filter(frost_night=night).exclude(action="leave").update(
                    mark="done", marked_by=first.person_id, marked_at=now
                )


@dataclass(frozen=True)
class Interruption:
    """One interrupting message that went out: whom, when on the site's clock, how loud."""

    person: int
    at: datetime
    level: str

    @property
    def quiet(self) -> bool:
        """Whether it came in quiet hours."""
        return self.at.time() < MORNING or self.at.time() >= QUIET_FROM


def interruptions() -> list[Interruption]:
    """Return every interrupting message that was sent, one on two channels once."""
    rows = Message.objects.filter(
        level__in=LOUD, channel__in=("email", "push"), state="sent", sent_at__isnull=False
    ).order_by("sent_at", "pk")
    zones = dict(FrostNight.objects.values_list("pk", "site__time_zone"))
    found: dict[str, Interruption] = {}
    for row in rows:
        assert row.sent_at is not None
        zone = ZoneInfo(zones[row.data["night"]])
        found.setdefault(
            row.key.rpartition(":")[0],
            Interruption(row.person_id, row.sent_at.astimezone(zone), row.level),
        )
    return list(found.values())


def most_in_a_day(all_of_them: Iterable[Interruption]) -> int:
    """Return the most interruptions one person had within one day of a site's clock."""
    by_person: defaultdict[int, list[datetime]] = defaultdict(list)
    most = 0
    for each in all_of_them:
        midnight = each.at.replace(hour=0, minute=0)
        earlier = [at for at in by_person[each.person] if at >= midnight]
        by_person[each.person].append(each.at)
        most = max(most, len(earlier) + 1)
    return most


def by_month(all_of_them: Iterable[Interruption]) -> dict[str, Counter[int]]:
    """Return, for each month, how many interruptions each person had."""
    months: defaultdict[str, Counter[int]] = defaultdict(Counter)
    for each in all_of_them:
        months[f"{each.at:%Y-%m}"][each.person] += 1
    return dict(months)


def _garden(number: int) -> Garden:
    return Garden.objects.create(name=f"Season garden {number}", slug=f"season-{number}")


def _members(garden: Garden, number: int) -> list[Membership]:
    people = [
        Person.objects.create(
            email=f"{garden.slug}-{each}@season.example",
            name=f"Helper {garden.pk}-{each}",
            password="!",
        )
        for each in range(number)
    ]
    made = [_member(garden, person) for person in people]
    Membership.objects.filter(pk=made[0].pk).update(role="coordinator")
    made[0].refresh_from_db()
    return made


def _member(garden: Garden, person: Person) -> Membership:
    return Membership.objects.create(garden=garden, person=person, joined_on=date(2024, 1, 1))


def _site(garden: Garden, number: int, zone: str, latitude: float, longitude: float) -> Site:
    return Site.objects.create(
        garden=garden,
        name=f"Season site {number}",
        latitude=latitude,
        longitude=longitude,
        time_zone=zone,
        year_starts_in=1,
    )


def _plants(lead: Membership, site: Site) -> None:
    """Leave three beds of tender plants out all winter, so that every frost matters."""
    variety, _ = Variety.objects.get_or_create(garden=site.garden, species="annuum", name="Cayenne")
    for number in (1, 2, 3):
        place = Place.objects.create(
            garden=site.garden, site=site, name=f"Bed {number}", kind="bed", position=number
        )
        inherit(
            lead,
            place=place,
            variety=variety,
            name="",
            phase="bearing",
            count=1,
            holder=lead.person,
            happened_on=date(2026, 5, 20),
            note="",
            uuid=uuid4(),
            now=datetime(2026, 6, 1, tzinfo=UTC),
        )

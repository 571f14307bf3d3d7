"""At least one row of every table that a garden owns: ground, record and weather."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

from lifecycle import models
from lifecycle.life.kinds import Kind
from lifecycle.models import Role
from lifecycle.records.secrets import code_for
from tests.factories import NOON, MembershipFactory, PersonFactory, an_entry
from tests.web import crawl_people_rows as people
from tests.web.crawl_world import FOREIGN, LATER, OWN, TODAY, Gardens, Ground, a_ground

HOUR = timedelta(hours=1)


def both_gardens() -> Gardens:
    """Make the two gardens and all that is in them."""
    own = a_ground(OWN, "qm-7413", "7710077")
    foreign = a_ground(FOREIGN, "zb-2958", "8820088")
    both = PersonFactory(name="Pat Twoplots", email="pat@twoplots.example", last_seen_on=TODAY)
    for ground in (own, foreign):
        MembershipFactory(garden=ground.garden, person=both, role=Role.OWNER)
        fill(ground)
    return Gardens(own, foreign, both)


def fill(ground: Ground) -> None:
    """Give the garden one row of everything that has none yet, and note what addresses name."""
    for part in (_ground, _struck, _seed, _frost, _forecasts, *people.PARTS):
        part(ground)


def _ground(ground: Ground) -> None:
    site, bed, member = ground.site, ground.bed, ground.person("member")
    event = ground.put(
        models.SiteEventRow,
        site=site,
        weather="hail",
        began_on=TODAY,
        note=ground.words("hail"),
        by=member,
    )
    ground.keep(event=event)
    ground.put(
        models.BedYear,
        place=bed,
        year=2025,
        family="solanaceae",
        by=member,
        at=NOON,
        note=ground.words("bed year"),
    )
    meal = ground.put(
        models.GardenMaterial, name=ground.words("meal"), n=5, p2o5=3, k2o=2, by=member
    )
    ground.things["material"] = meal.key
    ground.put(models.DayReading, site=site, day=TODAY, rain_mm=3.0, by=member, at=NOON)
    ground.put(models.SiteSetting, site=site, key="plant_out_night", value="10", by=member, at=NOON)
    ground.put(
        models.TypedClimate,
        site=site,
        last_freeze="04-20",
        first_freeze="10-25",
        zone_source=ground.words("map"),
        half_zone="8a",
    )
    nights = [9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0]
    ground.put(models.SevenNightLows, site=site, first_night=TODAY, lows_c=nights, typed_by=member)
    ground.put(models.BedHolding, place=bed, person=ground.person("holder"), since=date(2026, 1, 1))
    found = ground.put(
        models.Inspection,
        place=bed,
        looked_on=TODAY,
        by=ground.person("coordinator"),
        at=NOON,
        in_order=False,
        finding=ground.words("weeds"),
        put_right_by=LATER,
    )
    found.told.add(ground.person("holder"))
    ground.keep(inspection=found)


def _struck(ground: Ground) -> None:
    """A struck entry, and a swap of labels that was taken back."""
    holder, things = ground.people["holder"], ground.things
    slip = an_entry(holder, ground.plant, Kind.WATERED, quantity=2.0)
    ground.put(models.Strike, entry=slip, by=holder.person, at=NOON, reason=ground.words("slip"))
    swap = ground.put(
        models.Swap,
        uuid=uuid4(),
        first=ground.plant,
        settled_by=holder.person,
        at=NOON,
        second=models.Plant.objects.get(code=things["neighbour"]),
        reason=ground.words("swapped"),
        since=date(2025, 1, 1),
        until=date(2025, 1, 2),
    )
    ground.put(models.SwapStrike, swap=swap, by=holder.person, at=NOON)
    ground.put(
        models.WeatherRecord,
        site=ground.site,
        name=ground.words("station"),
        source_gz=b"",
        climate={},
        added_at=NOON,
        in_use=False,
    )


def _seed(ground: Ground) -> None:
    ground.put(
        models.GerminationTest,
        uuid=uuid4(),
        lot_id=ground.things["lot"],
        sown=20,
        sprouted=15,
        tested_on=date(2026, 2, 1),
        by=ground.person("member"),
        at=NOON,
    )


def _frost(ground: Ground) -> None:
    site, holder = ground.site, ground.person("holder")
    forecast = ground.put(
        models.NightForecast,
        site=site,
        source="typed",
        issued_at=NOON,
        received_at=NOON,
        night=TODAY,
        low_c=-1.0,
        by=holder,
    )
    night = ground.put(
        models.FrostNight,
        site=site,
        night=TODAY,
        state="called",
        expected_c=-1.0,
        sd_c=1.5,
        kill_chance=0.7,
        harm_chance=0.9,
        kill_ratio=0.05,
        harm_ratio=0.2,
        calm=True,
        sunset_at=datetime(2026, 10, 14, 17, 30, tzinfo=UTC),
        people_needed=2,
        judged_at=NOON,
        low_at=datetime(2026, 10, 15, 5, tzinfo=UTC),
        called_at=NOON,
        forecast=forecast,
    )
    bed = ground.put(
        models.FrostBed,
        frost_night=night,
        place=ground.bed,
        action="cover",
        plants=1,
        protection="cover_light",
        pieces=1,
    )
    cover = ground.put(
        models.GardenCover,
        site=site,
        protection="cover_light",
        pieces=2,
        area_m2=6.0,
        kept_in=ground.words("loft"),
    )
    turn = ground.put(
        models.OnCallTurn,
        site=site,
        person=holder,
        first_day=date(2026, 10, 1),
        last_day=date(2026, 10, 31),
    )
    ask = ground.put(
        models.Ask,
        frost_night=night,
        person=holder,
        rung=1,
        nonce=uuid4(),
        asked_at=NOON,
        answer_by=NOON + HOUR,
    )
    ground.keep(frost_night=night, frost_bed=bed, cover=cover, turn=turn, ask=ask)
    ground.things["night"] = str(TODAY)
    ground.things["ask_code"] = code_for("ask", ask.pk, ask.nonce)


def _forecasts(ground: Ground) -> None:
    site, member = ground.site, ground.person("coordinator")
    ground.put(models.ForecastSource, site=site, kind="typed", set_by=member, set_at=NOON)
    ground.put(models.AirReading, site=site, at=NOON - HOUR, air_c=9.0)
    sensor = ground.put(
        models.SensorAddress, site=site, nonce=uuid4(), made_at=NOON, made_by=member
    )
    ground.keep(sensor=sensor)
    ground.things["sensor_code"] = code_for("sensor", sensor.pk, sensor.nonce)

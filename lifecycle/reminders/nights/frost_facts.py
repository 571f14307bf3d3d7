"""Everything a message or a page must say of a frost night, in the reader's words and units."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from lifecycle.care.frost_limits import FROST_C, KILLING_C
from lifecycle.care.frost_words import (
    calm_words,
    chance_words,
    impact_words,
    likelihood,
    places_words,
    rule_words,
    work_words,
)
from lifecycle.care.wording import degrees
from lifecycle.handbook import CAUTIONS, CROPS, PROTECTIONS, fact
from lifecycle.models import FrostBed, FrostNight, GardenCover, Person
from lifecycle.records.ground.out_there import places_out
from lifecycle.records.nights.asks import accepted
from lifecycle.reminders.weather.night_forecasts import attribution

TO_DO = (FrostBed.Action.COVER, FrostBed.Action.BRING_IN, FrostBed.Action.NOT_ENOUGH)
"""Actions that somebody has to go for."""

_GROUPS = {"pepper": "peppers", "tomato": "tomatoes", "eggplant": "eggplants"}


@dataclass(frozen=True, slots=True)
class FrostFacts:
    """A frost night as one person is told of it; texts are in their units.

    ``act_by`` and ``sunset`` are clock times of the site, or "dusk" and "" where the longitude
    is not known; ``low_at`` is "" where nobody knows the hour. ``chance`` is that of ``limit``
    or below, ``impact`` says what happens then. ``materials`` names covers, pieces and where they
    are kept; ``short`` what is missing.
    """

    garden: str
    site: str
    night: date
    verdict: str
    beds: str
    work: str
    plants: int
    places: int
    low: str
    low_both: str
    low_at: str
    chance: str
    limit: str
    impact: str
    act_by: str
    act_by_at: datetime | None
    sunset: str
    sunset_at: datetime | None
    materials: str
    short: str
    people_needed: int
    accepted: int
    source: str
    calm: str
    rule: str
    cautions: tuple[str, ...]
    stale: bool


def frost_facts(night: FrostNight, person: Person, now: datetime) -> FrostFacts:
    """Return what ``person`` is told of ``night``."""
    beds = [bed for bed in beds_of(night) if bed.action in TO_DO]
    killing = night.kill_chance >= night.kill_ratio
    limit = KILLING_C if killing else FROST_C
    unit = person.temperature
    carried = sum(bed.plants for bed in beds if bed.action == FrostBed.Action.BRING_IN)
    covered = [bed for bed in beds if bed.action != FrostBed.Action.BRING_IN]
    work = work_words(sum(bed.plants for bed in covered), len(covered), carried)
    act_by_at = act_by(night)
    by = clock(act_by_at, night) or "dusk"
    covers = list(GardenCover.objects.filter(site=night.site))
    return FrostFacts(
        garden=night.site.garden.name,
        site=night.site.name,
        night=night.night,
        verdict=_verdict(night, work, by, now),
        beds=places_words([bed.place.name for bed in beds]),
        work=work,
        plants=sum(bed.plants for bed in beds),
        places=len(beds),
        low=degrees(night.expected_c, unit),
        low_both=f"{degrees(night.expected_c, unit)} "
        f"({degrees(night.expected_c, 'C' if unit == 'F' else 'F')})",
        low_at=clock(night.low_at, night),
        chance=chance_words(night.kill_chance if killing else night.harm_chance),
        limit=degrees(limit, unit),
        impact=impact_words(_crops(night, beds), night.kill_chance, killing=killing),
        act_by=by,
        act_by_at=act_by_at,
        sunset=clock(night.sunset_at, night),
        sunset_at=night.sunset_at,
        materials=materials_words(beds, covers),
        short=short_words(beds, covers),
        people_needed=night.people_needed,
        accepted=accepted(night).count(),
        source=attribution(night.forecast) if night.forecast else "",
        calm=calm_words(night.calm),
        rule=rule_words(
            (night.kill_chance, night.kill_ratio), (night.harm_chance, night.harm_ratio)
        ),
        cautions=cautions_of(beds),
        stale=night.stale,
    )


def beds_of(night: FrostNight) -> list[FrostBed]:
    """Return the places of a night in walking order."""
    rows = night.beds.select_related("place", "marked_by", "uncovered_by")
    return list(rows.order_by("place__position", "place__name", "pk"))


def nothing_tender_out(night: FrostNight) -> bool:
    """Return whether a night called off has nothing left to protect, whatever the cold.

    A place that was marked keeps its row and its action after the plants have gone.
    """
    beds = beds_of(night)
    open_beds = [bed for bed in beds if bed.action in TO_DO and bed.mark == FrostBed.Mark.UNKNOWN]
    return not beds or (night.expected_c <= FROST_C and not open_beds)


def act_by(night: FrostNight) -> datetime | None:
    """Return by when covers must be on: half an hour before sunset; None without a longitude."""
    if night.sunset_at is None:
        return None
    return night.sunset_at - timedelta(hours=fact("frost_work.before_sunset").si)


def clock(moment: datetime | None, night: FrostNight) -> str:
    """Return the time of day at the site, or "" for none."""
    if moment is None:
        return ""
    return f"{moment.astimezone(ZoneInfo(night.site.time_zone)):%H:%M}"


def materials_words(beds: Iterable[FrostBed], covers: Iterable[GardenCover]) -> str:
    """Return which covers are needed, how many, and where they are kept."""
    needed: dict[str, int] = {}
    for bed in beds:
        if bed.protection:
            needed[bed.protection] = needed.get(bed.protection, 0) + bed.pieces
    kept = {each.protection: each.kept_in for each in reversed(list(covers))}
    return "; ".join(
        f"{pieces} of {short_label(key)}" + (f": {kept[key]}" if kept.get(key) else "")
        for key, pieces in needed.items()
    )


def short_words(beds: Iterable[FrostBed], covers: Iterable[GardenCover]) -> str:
    """Return which covers are too few tonight, or ""."""
    needed: dict[str, int] = {}
    for bed in beds:
        if bed.protection:
            needed[bed.protection] = needed.get(bed.protection, 0) + bed.pieces
    have: dict[str, int] = {}
    for each in covers:
        have[each.protection] = have.get(each.protection, 0) + each.pieces
    missing = {key: pieces - have.get(key, 0) for key, pieces in needed.items()}
    return "; ".join(
        f"{pieces} of {short_label(key)} missing" for key, pieces in missing.items() if pieces > 0
    )


def short_label(protection: str) -> str:
    """Return the name of a cover without its measures."""
    label = PROTECTIONS[protection].label
    return label.split(",")[0].split(" (")[0]


def cautions_of(beds: Iterable[FrostBed]) -> tuple[str, ...]:
    """Return what can hurt while these places are seen to."""
    keys = [key for bed in beds if bed.protection for key in PROTECTIONS[bed.protection].cautions]
    if any(bed.action == FrostBed.Action.BRING_IN for bed in beds):
        keys.append("lifting")
    return tuple(CAUTIONS[key] for key in dict.fromkeys(keys))


def _crops(night: FrostNight, beds: Iterable[FrostBed]) -> list[str]:
    wanted = {bed.place_id for bed in beds}
    species = [
        record.variety.species
        for each in places_out(night.site)
        if each.place.pk in wanted
        for record, judged in zip(each.records, each.spot.plants, strict=True)
        if judged.limits is not None
    ]
    crops = [CROPS[key] for key in dict.fromkeys(species)]
    named = [_GROUPS.get(crop.group) or f"{crop.label.lower()}s" for crop in crops]
    return list(dict.fromkeys(named))


def _verdict(night: FrostNight, work: str, by: str, now: datetime) -> str:
    when = "tonight" if night.night == night.site.local_day(now) else f"on {night.night:%A}"
    if not work:
        return f"No frost to fear {when}"
    return f"{likelihood(night.harm_chance)} {when}: {work} by {by}"

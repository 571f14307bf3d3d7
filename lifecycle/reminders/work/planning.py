"""Load what the rules need, and ask them: the climate in use, a life so far, its plan."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from lifecycle.agronomy.climate_summary import ClimateSummary
from lifecycle.care.outlook import Ground, Nights, SiteEvent
from lifecycle.care.plan import plan
from lifecycle.care.site_dates import SiteDates, from_report, typed
from lifecycle.care.steps import Step
from lifecycle.life.fold import Life, fold
from lifecycle.life.phases import Phase
from lifecycle.models import Place, Site, Sowing, TypedClimate, WeatherRecord
from lifecycle.models.plants import Projection
from lifecycle.records.crops import ledger
from lifecycle.records.crops.seeds import UNKNOWN_SEED, SeedFacts, seed_facts_of
from lifecycle.records.ground.bed_rules import as_rules
from lifecycle.records.ground.settings import policy_in_force
from lifecycle.records.ground.site_events import events_of, still_counts
from lifecycle.reminders.weather.night_forecasts import nights_told

LOOK_AHEAD_DAYS = 30


@dataclass(frozen=True, slots=True)
class ClimateInUse:
    """The dates a site is planned by, the sentence that says whence, and what else exists.

    ``dates`` carry the site's choices where sources disagree; ``events`` is all the bad
    weather on record there.
    """

    basis: str
    dates: SiteDates | None
    summary: ClimateSummary | None
    record: WeatherRecord | None
    typed: TypedClimate | None
    nights: Nights | None
    events: tuple[SiteEvent, ...] = ()


def climate_of(site: Site) -> ClimateInUse:
    """Return the climate in use: a firm record, else typed dates, else a shorter record."""
    record = WeatherRecord.objects.filter(site=site, in_use=True).defer("source_gz").first()
    typed_row = TypedClimate.objects.filter(site=site).first()
    summary = ClimateSummary.from_stored(record.climate) if record else None
    computed = _computed(site, summary) if summary else None
    by_hand = _typed(site, typed_row) if typed_row else None
    status = summary.zone.status if summary else ""
    if computed is not None and status == "firm":
        basis, dates = "computed from the site's daily record", computed
    elif by_hand is not None:
        basis, dates = "typed in by a member", by_hand
    elif computed is not None:
        basis, dates = f"computed from a short daily record ({status})", computed
    else:
        basis, dates = "not known yet", None
    return ClimateInUse(
        basis,
        replace(dates, policy=policy_in_force(site)) if dates else None,
        summary,
        record,
        typed_row,
        nights_told(site),
        events_of(site),
    )


def life_of(record: Projection) -> Life:
    """Return the fold of a record's standing entries."""
    life = fold(ledger.subject_of(record), ledger.standing_facts(record))
    assert life is not None
    return life


def plan_for(record: Projection, now: datetime) -> list[Step]:
    """Return everything the plan says of one record, by best day."""
    return plan_under(climate_of(record.site), record, record.site.local_day(now))


def plan_under(climate: ClimateInUse, record: Projection, today: date) -> list[Step]:
    """Return everything the plan says of one record under a climate, by best day."""
    if climate.dates is None:
        return []
    ground, seed = ground_of(record.place, record.site), seed_of(record, today)
    return steps_of(record, life_of(record), climate, today, ground, None, seed)


def steps_of(
    record: Projection,
    life: Life,
    climate: ClimateInUse,
    today: date,
    ground: Ground,
    until: date | None,
    seed: SeedFacts = UNKNOWN_SEED,
) -> list[Step]:
    """Return the steps of a life under a climate; none where no climate is known.

    The variety's own values go before the published ones; weather counts for 60 days.
    """
    if climate.dates is None:
        return []
    return plan(
        life,
        record.variety.species,
        climate.dates,
        today,
        nights=climate.nights,
        until=until,
        ground=ground,
        events=tuple(event for event in climate.events if still_counts(event, today)),
        overrides=record.variety.overrides,
        seed_age=seed.age_years,
        seed_test=seed.tested_share,
    )


def ground_of(place: Place | None, site: Site | None = None) -> Ground:
    """Return what stands in a place stands in; without a place nothing is known.

    ``site`` saves the query for the place's own, where it is at hand.
    """
    if place is None:
        return Ground()
    if site is not None and site.pk == place.site_id:
        place.site = site
    return Ground(
        in_pot=place.in_pots,
        depth_cm=place.depth_cm,
        wire=place.wire,
        temperature_c=place.temperature_c,
        bright=place.bright,
        rules=as_rules(place.rules),
    )


def seed_of(record: Projection, today: date) -> SeedFacts:
    """Return what is known of the seed of a sowing that is not yet sown; of others it is past."""
    if isinstance(record, Sowing) and record.phase == Phase.PLANNED:
        return seed_facts_of(record, today)
    return UNKNOWN_SEED


def grounds_of(records: Iterable[Projection]) -> dict[int, Ground]:
    """Return the ground of the places of these records, by place, with one query."""
    places = {record.place_id for record in records if record.place_id}
    found = Place.objects.filter(pk__in=places).select_related("site")
    return {place.pk: ground_of(place) for place in found}


def _computed(site: Site, summary: ClimateSummary) -> SiteDates | None:
    report = summary.as_report()
    if report["zone"]["mean_extreme_min_c"] is None or summary.curve_c[0] is None:
        return None
    return from_report(
        report, summary.curve_c, southern=site.southern, year_starts_in=site.year_starts_in
    )


def _typed(site: Site, row: TypedClimate) -> SiteDates | None:
    return typed(
        half_zone=row.half_zone,
        last_freeze=row.last_freeze,
        first_freeze=row.first_freeze,
        warm_from=row.warm_from,
        cool_from=row.cool_from,
        southern=site.southern,
        year_starts_in=site.year_starts_in,
    )

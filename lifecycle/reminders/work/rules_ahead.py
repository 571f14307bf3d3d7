"""What bed rules would change: plants in the beds, and those that were to stay there."""

from dataclasses import dataclass

from lifecycle.care.winter import usual_route
from lifecycle.handbook import CROPS
from lifecycle.life.phases import OUTSIDE, Phase, Route
from lifecycle.models import Place, PlaceKind, Plant, Site
from lifecycle.reminders.work.planning import climate_of

_STANDS = sorted({*OUTSIDE, Phase.RESTING, Phase.WAKING})


@dataclass(frozen=True, slots=True)
class Standing:
    """Plants that stand in some beds; ``to_stay``: left alone they winter there."""

    plants: int
    beds: int
    to_stay: int


def standing_under(site: Site, place: Place | None = None) -> Standing:
    """Return what stands in the beds that follow the rules of a site, or in one bed.

    Where no climate is known, only those count as to stay that somebody decided to leave.
    """
    beds = Place.objects.filter(site=site, kind=PlaceKind.BED)
    beds = beds.filter(own_rules=False) if place is None else beds.filter(pk=place.pk)
    plants = Plant.objects.filter(place__in=beds, phase__in=_STANDS)
    rows = list(plants.values_list("place_id", "variety__species", "route"))
    dates = climate_of(site).dates
    stays = {
        key
        for key in {species for _, species, _ in rows}
        if dates is not None and usual_route(dates, CROPS[key]) is Route.IN_GROUND
    }
    return Standing(
        plants=len(rows),
        beds=len({bed for bed, _, _ in rows}),
        to_stay=sum(
            route == Route.IN_GROUND or (not route and species in stays)
            for _, species, route in rows
        ),
    )

"""Places by name, so that two of one name at two sites can be told apart."""

from collections import Counter
from collections.abc import Iterable

from lifecycle.models import Place


def place_words(places: Iterable[Place | None]) -> dict[int, str]:
    """Return the words for each of these places, by its number: "Bed 1", or "Bed 1, Mill Lane".

    The site stands with a name that the garden has more than once. None is passed over. One
    query, however many places there are; none where there is no place at all.
    """
    found = {place.pk: place for place in places if place is not None}
    if not found:
        return {}
    gardens = {place.garden_id for place in found.values()}
    known = Place.objects.filter(garden__in=gardens).values_list(
        "pk", "garden", "name", "site__name"
    )
    listed = {pk: (garden, name.casefold(), site) for pk, garden, name, site in known}
    times = Counter((garden, name) for garden, name, _ in listed.values())
    return {
        pk: place.name if times[listed[pk][:2]] == 1 else f"{place.name}, {listed[pk][2]}"
        for pk, place in found.items()
        if pk in listed
    }

"""What stood in a bed year by year, what may follow, and what a kept pepper means for it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from lifecycle.agronomy.rotation import earliest_year, last_stood
from lifecycle.care.policy import SETTINGS, Policy
from lifecycle.handbook import CROPS, FAMILIES, Crop
from lifecycle.life.growing_year import growing_year_of


@dataclass(frozen=True, slots=True)
class Placed:
    """A record set down somewhere: ``here`` in the bed asked about, or away from it."""

    record: tuple[str, int]
    crop: str
    day: date
    here: bool


@dataclass(frozen=True, slots=True)
class Stay:
    """A crop in the bed from a day to another; ``until`` None while it stands."""

    crop: str
    since: date
    until: date | None


def stays(placed: Iterable[Placed]) -> list[Stay]:
    """Return who stood in the bed from when to when; ``placed`` in the record's order."""
    here: dict[tuple[str, int], Placed] = {}
    found = []
    for each in placed:
        begun = here.get(each.record)
        if each.here and begun is None:
            here[each.record] = each
        elif not each.here and begun is not None:
            found.append(Stay(begun.crop, begun.day, each.day))
            del here[each.record]
    return [*found, *(Stay(each.crop, each.day, None) for each in here.values())]


@dataclass(frozen=True, slots=True)
class FamilyYear:
    """A family in the bed in one growing year: its crops by the record, or a member's note."""

    year: int
    family: str
    crops: tuple[str, ...] = ()
    note: str = ""
    noted: int | None = None


def family_years(
    stood: Iterable[Stay], noted: Iterable[FamilyYear], starts_in: int, today: date
) -> list[FamilyYear]:
    """Return the families by growing year, newest first; the record joined to what is noted."""
    crops: dict[tuple[int, str], set[str]] = {}
    for stay in stood:
        first = growing_year_of(stay.since, starts_in)
        last = growing_year_of(stay.until or today, starts_in)
        for year in range(first, last + 1):
            crops.setdefault((year, CROPS[stay.crop].family), set()).add(stay.crop)
    notes = {(each.year, each.family): each for each in noted}
    return [
        FamilyYear(
            year,
            family,
            tuple(sorted(crops.get((year, family), ()))),
            notes[year, family].note if (year, family) in notes else "",
            notes[year, family].noted if (year, family) in notes else None,
        )
        for year, family in sorted({*crops, *notes}, key=lambda key: (-key[0], key[1]))
    ]


@dataclass(frozen=True, slots=True)
class MayFollow:
    """Whether a family may stand in the bed in a coming year, and from which year on."""

    family: str
    label: str
    last: int | None
    earliest: int
    allowed: bool


def may_follow(years: Iterable[FamilyYear], coming: int, policy: Policy) -> list[MayFollow]:
    """Return every family, those that may follow in ``coming`` first.

    A family stays away as many whole years as the setting ``rotation_gap`` says.
    """
    stood: dict[str, list[int]] = {}
    for each in years:
        stood.setdefault(each.family, []).append(each.year)
    gap = years_away(policy)
    found = []
    for family, label in FAMILIES.items():
        last = last_stood(stood.get(family, ()), coming)
        earliest = coming if last is None else max(earliest_year(last, gap), coming)
        found.append(MayFollow(family, label, last, earliest, earliest <= coming))
    return sorted(found, key=lambda each: (not each.allowed, each.earliest, each.label))


def years_away(policy: Policy) -> int:
    """Return how many whole years a family stays away from a bed."""
    return int(policy.of("rotation_gap"))


def rotation_source(policy: Policy) -> str:
    """Return the key of the source behind the years in force."""
    return SETTINGS["rotation_gap"].choice(policy.of("rotation_gap")).source


@dataclass(frozen=True, slots=True)
class NitrogenLeft:
    """What a legume before may leave: g of N per m2, the least and the most that sources say."""

    crop: str
    year: int
    low: float
    high: float
    sentence: str
    source: str


def nitrogen_left(years: Iterable[FamilyYear], year: int) -> NitrogenLeft | None:
    """Return what a legume that stood in the bed in the year before ``year`` leaves, or None.

    The crop that leaves most speaks for a family that is only noted.
    """
    before = [each for each in years if each.year == year - 1]
    given = [CROPS[key] for each in before for key in each.crops]
    given += [
        crop
        for each in before
        if not each.crops
        for crop in CROPS.values()
        if crop.family == each.family
    ]
    leaving = [crop for crop in given if crop.find("nitrogen_left") is not None]
    if not leaving:
        return None
    crop = max(leaving, key=lambda each: each.fact("nitrogen_left").si_high)
    left = crop.fact("nitrogen_left")
    return NitrogenLeft(
        crop.key,
        year - 1,
        left.si,
        left.si_high,
        f"{crop.label} stood here in {year - 1}: some nitrogen is left, {{{left.si:.1f} g/m2}} to "
        f"{{{left.si_high:.1f} g/m2}}. Do not count on it: sources disagree.",
        left.source,
    )


def clash(
    perennial: Sequence[Crop], years: Iterable[FamilyYear], this_year: int, policy: Policy
) -> str:
    """Return what kept plants mean for the rotation, or "" where none stands a second year.

    ``perennial``: the crops kept over winter that stand in the bed now.
    """
    families = {crop.family for crop in perennial}
    stood = {each.year for each in years if each.family in families}
    first = this_year
    while first - 1 in stood:
        first -= 1
    if not families or first == this_year:
        return ""
    label = FAMILIES[perennial[0].family]
    since = f"{label} has stood here since {first}, and the rotation wants it moved."
    if policy.of("perennial_bed") == "stay":
        return (
            f"{since} Kept plants stay: look for wilting, spots and rot at every round, and give "
            "the bed up at the first sign."
        )
    return f"{since} Set kept plants into another bed when they are replanted."

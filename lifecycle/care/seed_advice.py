"""What a seed lot is worth: by its age, by its test, by when to sow it, and how much to sow."""

from dataclasses import dataclass
from datetime import date

from lifecycle.agronomy.emergence import normal_share, seeds_for
from lifecycle.agronomy.seed_test import GerminationTest, SeedAge, Standing, seed_age, sow_by
from lifecycle.agronomy.survival import Interval
from lifecycle.care.policy import SETTINGS, Policy
from lifecycle.handbook import Crop, fact

DAYS_IN_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class SeedTest:
    """A germination test of a lot, and whether it is recent enough to go by."""

    sprouted: int
    sown: int
    tested_on: date
    counts: bool = True


@dataclass(frozen=True, slots=True)
class LotAdvice:
    """What is known of a lot. None: no life published, no year on the packet, or no test.

    ``sow_by``: last year to sow without a test. Shares run from 0 to 1.
    """

    age: SeedAge | None
    sow_by: int | None
    share: float | None
    interval: Interval | None
    standard: float | None
    standing: Standing | None
    needs_test: bool
    sentence: str
    source: str


def seed_life(crop: Crop, policy: Policy) -> tuple[int, str] | None:
    """Return how many years a crop's seed stays good, and whose word that is; None: no one's.

    Of peppers sources disagree: there the setting decides.
    """
    if crop.group == "pepper":
        chosen = SETTINGS["pepper_seed_life"].choice(policy.of("pepper_seed_life"))
        return int(chosen.value), chosen.source
    life = crop.find("seed_life")
    return None if life is None else (round(life.si / DAYS_IN_YEAR), life.source)


def lot_advice(
    crop: Crop, packed_year: int | None, test: SeedTest | None, year: int, policy: Policy
) -> LotAdvice:
    """Return what to make of a lot in ``year``.

    Age says only whether to test: how much of it comes up is for a test to say. ValueError
    for a lot packed in a later year.
    """
    life = seed_life(crop, policy)
    age = last = None
    if packed_year is not None and life is not None:
        age, last = seed_age(packed_year, year, life[0]), sow_by(packed_year, life[0])
    standard = crop.find("germination_standard")
    counted = test if test is not None and test.counts else None
    found = None if counted is None else GerminationTest(counted.sprouted, counted.sown)
    standing = None if found is None or standard is None else found.standing(standard.si)
    needs_test = found is None and (age is None or age.needs_test)
    return LotAdvice(
        age=age,
        sow_by=last,
        share=None if found is None else found.share,
        interval=None if found is None else found.interval(),
        standard=None if standard is None else standard.si,
        standing=standing,
        needs_test=needs_test,
        sentence=_sentence(age, last, test, standing),
        source=life[1] if life else "",
    )


def _sentence(
    age: SeedAge | None, last: int | None, test: SeedTest | None, standing: Standing | None
) -> str:
    if test is not None and not test.counts:
        return f"The test of {{{test.tested_on}}} is too old to go by. Test it again."
    if standing is Standing.BELOW:
        return "Below the standard for seed on sale: sow more of it, or get fresh seed."
    if standing is Standing.MAY_BE_BELOW:
        return "It meets the standard as counted, but so few seeds tell little: sow some more."
    if standing is Standing.MEETS or test is not None:
        return "Sow by the test."
    if age is None:
        return "How old it is nobody knows, or how long such seed stays good. Test it first."
    if age is SeedAge.PAST:
        return f"Past its life since {last}: test it before you rely on it."
    if age is SeedAge.LAST_YEAR:
        return f"Sow it this year: {last} is the last year of its life."
    return f"Sow by the end of {last}; after that test it first."


def seeds_wanted(crop: Crop, plants: int, soil_c: float, viable: float) -> int | None:
    """Return how many seeds to sow for so many plants, or None where none would come up.

    ``viable``: the share a test found alive; 1 where nobody tested. Raises ValueError for no
    plants, or for a crop whose seedlings by soil temperature nobody published.
    """
    if plants < 1:
        raise ValueError("Say for how many plants to sow; give 1 or more.")
    if not crop.normal:
        raise ValueError(
            f"How much {crop.label} comes up by soil temperature is not published; sow by the "
            "packet."
        )
    share = normal_share(soil_c, crop.normal)
    return None if share is None else seeds_for(plants, share, viable)


def room_c() -> float:
    """Return the soil temperature in C taken where a bench states none."""
    return fact("sow.emergence_room").si

"""Keep seed lots and their germination tests, and read back what a lot's seed is worth."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from django.db import transaction

from lifecycle.handbook import days
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from lifecycle.models import Garden, GerminationTest, Membership, Plant, SeedLot, Sowing, Variety
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.crops.beginnings import USED, part_of, plain_name
from lifecycle.records.crops.drafts import EARLIEST, Draft, check_draft
from lifecycle.records.crops.entries import append
from lifecycle.records.refusal import Refused

FIRST_YEAR = 1990
MOST_SEEDS = 1000


class SeedFacts(NamedTuple):
    """What a plan asks of a sowing's seed: age in years, share that sprouted; None: not known."""

    age_years: int | None
    tested_share: float | None


UNKNOWN_SEED = SeedFacts(None, None)


def add_lot(
    actor: Membership,
    *,
    variety: Variety,
    name: str,
    packed_year: int | None,
    saved_from: Plant | None,
    today: date,
) -> SeedLot:
    """Keep a lot of seed, bought or saved. Raises Refused for a name that is taken."""
    require(actor, "plant.add")
    if variety.garden_id != actor.garden_id:
        raise Refused("Choose a variety of this garden.", "variety")
    if saved_from is not None and saved_from.garden_id != actor.garden_id:
        raise Refused("Choose a plant of this garden.", "saved_from")
    if packed_year is not None and not FIRST_YEAR <= packed_year <= today.year:
        raise Refused(
            f"Packed in {packed_year}? Give a year from {FIRST_YEAR} to {today.year}.",
            "packed_year",
        )
    clean = plain_name(name, "seed lot")
    lot, made = SeedLot.objects.get_or_create(
        variety=variety,
        name=clean,
        defaults={
            "garden_id": actor.garden_id,
            "packed_year": packed_year,
            "saved_from": saved_from,
        },
    )
    if not made:
        raise Refused(f"There is a seed lot “{clean}” of {variety} already.", "name")
    return lot


def test_lot(
    actor: Membership,
    lot: SeedLot,
    *,
    sown: int,
    sprouted: int,
    tested_on: date,
    today: date,
    uuid: UUID,
    now: datetime,
) -> tuple[GerminationTest, list[Sowing]]:
    """Record a germination test, and write it down on every sowing of the lot not yet sown.

    A sowing planned after the test gets no entry: its record had not begun. The same
    ``uuid`` twice makes one test. Returns the test and the sowings it was written on.
    """
    require(actor, "plant.add")
    if lot.garden_id != actor.garden_id:
        raise Refused("That seed lot does not belong to this garden.")
    _check_test(lot, sown, sprouted, tested_on, today)
    with transaction.atomic():
        list(Garden.objects.select_for_update(no_key=True).filter(pk=lot.garden_id).values("pk"))
        before = GerminationTest.objects.filter(uuid=uuid).first()
        if before is not None:
            if before.lot_id != lot.pk:
                raise Refused(USED)
            return before, []
        test = GerminationTest.objects.create(
            garden_id=lot.garden_id,
            uuid=uuid,
            lot=lot,
            tested_on=tested_on,
            sown=sown,
            sprouted=sprouted,
            by=actor.person,
            at=now,
        )
        return test, _write_on_sowings(actor, test, now)


def _write_on_sowings(actor: Membership, test: GerminationTest, now: datetime) -> list[Sowing]:
    planned = (
        Sowing.objects.select_related("site", "variety", "lot")
        .filter(lot=test.lot, phase=Phase.PLANNED)
        .order_by("pk")
    )
    written = []
    for sowing in planned:
        if sowing.began_on > test.tested_on:
            continue
        locked = ledger.lock(sowing)
        draft = Draft(
            Kind.SEED_TESTED,
            test.tested_on,
            part_of(test.uuid, sowing.code),
            quantity=round(100 * test.share, 1),
            note=f"{test.sprouted} of {test.sown} sprouted",
        )
        check_draft(draft, "sowing", locked.garden_id, locked.site.local_day(now))
        append(locked, draft, actor=actor, now=now)
        written.append(locked)
    return written


def _check_test(lot: SeedLot, sown: int, sprouted: int, tested_on: date, today: date) -> None:
    if not 1 <= sown <= MOST_SEEDS:
        raise Refused(f"Seeds sown: give 1 to {MOST_SEEDS}; twenty is usual.", "sown")
    if not 0 <= sprouted <= sown:
        raise Refused(f"Sprouted: {sprouted} of {sown} cannot be. Give 0 to {sown}.", "sprouted")
    if tested_on > today:
        raise Refused(
            f"{tested_on:%-d %B %Y} has not come yet. Give today or an earlier day.", "tested_on"
        )
    if tested_on < EARLIEST:
        raise Refused(
            f"{tested_on:%-d %B %Y} is too long ago. Give a date after 1950.", "tested_on"
        )
    if lot.packed_year is not None and tested_on.year < lot.packed_year:
        raise Refused(
            f"The lot was packed in {lot.packed_year}; it cannot have been tested before.",
            "tested_on",
        )


def latest_tests(lots: Iterable[int]) -> dict[int, GerminationTest]:
    """Return the last test of each lot, by lot; one query."""
    rows = GerminationTest.objects.filter(lot__in=set(lots)).order_by("tested_on", "pk")
    return {row.lot_id: row for row in rows}


def still_counts(test: GerminationTest, today: date) -> bool:
    """Whether a test is recent enough to sow by: seed goes on ageing."""
    return test.tested_on >= today - timedelta(days("seed_test.counts_for"))


def seed_facts(sowings: Iterable[Sowing], today: date) -> dict[int, SeedFacts]:
    """Return age and tested share of the seed of many sowings, by sowing; two queries at most.

    Age in calendar years from packing. A test older than the handbook's limit does not count.
    """
    of_lot = {sowing.pk: sowing.lot_id for sowing in sowings}
    wanted = {lot for lot in of_lot.values() if lot is not None}
    if not wanted:
        return {pk: SeedFacts(None, None) for pk in of_lot}
    packed = dict(SeedLot.objects.filter(pk__in=wanted).values_list("pk", "packed_year"))
    tests = {lot: test for lot, test in latest_tests(wanted).items() if still_counts(test, today)}
    return {
        pk: SeedFacts(
            _age(packed.get(lot) if lot else None, today),
            tests[lot].share if lot in tests else None,
        )
        for pk, lot in of_lot.items()
    }


def _age(packed_year: int | None, today: date) -> int | None:
    return None if packed_year is None else max(today.year - packed_year, 0)


def seed_facts_of(sowing: Sowing, today: date) -> SeedFacts:
    """Return age and tested share of one sowing's seed."""
    return seed_facts([sowing], today)[sowing.pk]

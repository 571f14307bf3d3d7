"""What stands on the seed bench today: a tray to pot up, one just sown, and old seed to sow."""

from datetime import date, timedelta
from uuid import UUID

from lifecycle.demo.raising import Ground, draft, lot_of
from lifecycle.life.kinds import Kind
from lifecycle.models import Variety
from lifecycle.records.crops import seeds
from lifecycle.records.crops.beginnings import begin, sowing_row

OLD_SEED = 5
"""Years since the old seed was packed."""

SOWN, SPROUTED = 20, 11


def leave_for_today(ground: Ground, *, tested: bool) -> None:
    """Leave a tray to be potted up from today, one just sown, and old seed still to be sown.

    ``tested``: the old seed has been tested, so that its sowing says how many seeds to sow.
    """
    today = ground.today
    emerged = today - timedelta(10)
    tray, old, late = ground.varieties[:3]
    sown = emerged - timedelta(9)
    _begin(ground, tray, (Kind.SOWN, sown, 20), (Kind.EMERGED, emerged, 16))
    _begin(ground, late, (Kind.SOWN, today - timedelta(3), 24))
    _begin(ground, old, (Kind.PLANNED, today - timedelta(16), None), age=OLD_SEED)
    if tested:
        _test(ground, old)


def _begin(
    ground: Ground, variety: Variety, *entries: tuple[Kind, date, int | None], age: int = 1
) -> None:
    actor = ground.members[0]
    lot = lot_of(ground, variety, ground.today.year - age)
    drafts = []
    for index, (kind, day, quantity) in enumerate(entries):
        place = ground.grounds.nursery if kind is Kind.SOWN else None
        holder = None if index else actor.person
        drafts.append(draft(ground, kind, day, quantity=quantity, place=place, holder=holder))
    row = sowing_row(actor, ground.site, variety, lot=lot)
    begin(row, drafts, actor=actor, now=ground.now)


def _test(ground: Ground, variety: Variety) -> None:
    seeds.test_lot(
        ground.members[0],
        lot_of(ground, variety, ground.today.year - OLD_SEED),
        sown=SOWN,
        sprouted=SPROUTED,
        tested_on=ground.today - timedelta(2),
        today=ground.today,
        uuid=UUID(int=ground.rng.getrandbits(128), version=4),
        now=ground.now,
    )

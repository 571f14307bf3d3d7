"""What Today says of frost: one block, for the night that matters most."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.urls import reverse

from lifecycle.care.frost_call import NIGHTS_AHEAD
from lifecycle.care.frost_words import chance_words, likelihood, places_words
from lifecycle.care.wording import degrees
from lifecycle.models import FrostBed, FrostNight, Membership
from lifecycle.reminders.nights.frost_facts import TO_DO, act_by, clock
from lifecycle.web.door import rows
from lifecycle.web.nights.frost_night import Hour, hour_of
from lifecycle.web.words import long_day

State = FrostNight.State
_ZONES = timedelta(days=2)
_COVERED, _CALLED, _MAY_COME = range(3)


@dataclass(frozen=True, slots=True)
class Block:
    """The block: its heading, one line, and where its button leads."""

    heading: str
    line: str
    url: str
    button: str


@dataclass(frozen=True, slots=True)
class FrostToday:
    """The block, if any, and whether a night is called for this evening."""

    block: Block | None
    tonight: bool


def frost_today(member: Membership, now: datetime) -> FrostToday:
    """Return the block of the garden's most pressing night; None where none presses.

    Covers to take off go first, then a night called for today, then one that may come. Three
    queries at most, however many nights there are.
    """
    last = (now + _ZONES).date() + timedelta(NIGHTS_AHEAD)
    nights = (
        rows(FrostNight, member)
        .filter(
            state__in=[State.CALLED, State.POSSIBLE],
            night__range=((now - _ZONES).date(), last),
        )
        .select_related("site")
        .prefetch_related("beds__place")
        .order_by("night", "site__name", "pk")
    )
    ranked = [(_rank(night, now), number, night) for number, night in enumerate(nights)]
    pressing = sorted((rank, number, night) for rank, number, night in ranked if rank is not None)
    return FrostToday(
        block=_block(pressing[0][2], member, now) if pressing else None,
        tonight=any(rank == _CALLED for rank, _, _ in pressing),
    )


def _rank(night: FrostNight, now: datetime) -> int | None:
    hour = hour_of(night, now)
    if hour is Hour.PAST:
        return None
    if hour is Hour.MORNING:
        return _COVERED if _still_covered(night) else None
    if night.state == State.CALLED:
        return _CALLED
    return _MAY_COME if any(bed.action in TO_DO for bed in night.beds.all()) else None


def _still_covered(night: FrostNight) -> list[FrostBed]:
    done = FrostBed.Mark.DONE
    return [bed for bed in night.beds.all() if bed.mark == done and bed.uncovered_at is None]


def _in_order(beds: list[FrostBed]) -> list[FrostBed]:
    return sorted(beds, key=lambda bed: (bed.place.position, bed.place.name, bed.pk))


def _block(night: FrostNight, member: Membership, now: datetime) -> Block:
    url = reverse("frost-night", args=[member.garden.slug, night.site_id, f"{night.night}"])
    covered = _in_order(_still_covered(night))
    if hour_of(night, now) is Hour.MORNING:
        where = places_words([bed.place.name for bed in covered])
        return Block(
            "Uncover, and say what happened",
            f"{night.site}: {where}. Plants cook under covers once the sun is up.",
            url,
            "See what is covered",
        )
    beds = _in_order([bed for bed in night.beds.all() if bed.action in TO_DO])
    where = places_words([bed.place.name for bed in beds])
    tonight = night.night == night.site.local_day(now)
    by = clock(act_by(night), night) or "dusk"
    if night.state == State.CALLED:
        heading = f"Frost tonight: cover by {by}" if tonight else "Frost tonight"
    else:
        heading = f"{likelihood(night.harm_chance)} {'tonight' if tonight else _on(night)}"
    low = degrees(night.expected_c, member.person.temperature)
    chance = chance_words(night.kill_chance)
    old = " The forecast is old." if night.stale else ""
    line = f"{night.site}{f': {where}' if where else ''}. Likely lowest {low}; plants are killed "
    return Block(heading, f"{line}with a chance of {chance}.{old}", url, "See what to cover")


def _on(night: FrostNight) -> str:
    return f"on {long_day(night.night)}"

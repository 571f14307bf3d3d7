"""Chores: work that no plant asks for. Coordinators make, change and end them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db import transaction

from lifecycle.care.chores import ChoreDays, Repeat, first_day_of, is_on_wrong_side
from lifecycle.care.skills import SKILLS
from lifecycle.handbook import STARTERS
from lifecycle.life.phases import Phase
from lifecycle.models import Chore, Membership, Place, Plant, Site
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.refusal import Refused

HOW_LENGTH = 500
TITLE_LENGTH = 60
SAME_TAP = timedelta(minutes=10)
"""Within this time the same chore of the same person is the same tap."""

BACK, AHEAD = timedelta(days=366), timedelta(days=1100)
"""How long ago a chore's first day may lie, and how far ahead."""

BOUNDS = {
    "every": ("Every so many", 1, 366),
    "days_from_anchor": ("Days from the freeze", -180, 180),
    "days_open": ("Days it stays open", 0, 90),
    "minutes": ("Minutes", 1, 1440),
}
"""Label, least and most of each number."""


@dataclass(frozen=True, slots=True)
class ChoreDraft:
    """What a coordinator wants to have done; the columns of ``Chore`` that are theirs to set."""

    site: Site
    title: str
    first_day: date
    repeat: str = Repeat.ONCE
    place: Place | None = None
    plant: Plant | None = None
    how: str = ""
    every: int = 1
    last_day: date | None = None
    days_from_anchor: int = 0
    days_open: int = 3
    at_time: time | None = None
    minutes: int = 30
    skill: str = ""


def add_chore(actor: Membership, draft: ChoreDraft, *, now: datetime) -> Chore:
    """Make one chore; the same tap twice makes one. Raises Refused with what is wrong."""
    require(actor, "chore.edit")
    given = _checked(actor, draft, now)
    with transaction.atomic():
        # The site's row keeps two taps of one form from making two.
        Site.objects.select_for_update(no_key=True).get(pk=draft.site.pk)
        same = Chore.objects.filter(
            made_by=actor.person, made_at__gt=now - SAME_TAP, ended_at__isnull=True, **given
        ).first()
        return same or Chore.objects.create(
            garden_id=actor.garden_id, made_by=actor.person, made_at=now, **given
        )


def facts_of(chore: Chore) -> ChoreDays:
    """Return when a chore falls, as the rules see it."""
    return ChoreDays(
        repeat=Repeat(chore.repeat),
        first_day=chore.first_day,
        last_day=chore.last_day,
        every=chore.every,
        from_anchor=chore.days_from_anchor,
        days_open=chore.days_open,
    )


def add_starters(
    actor: Membership, site: Site, keys: Iterable[str], *, now: datetime
) -> list[Chore]:
    """Make the chores picked from the starter list; those the site has already are left.

    Raises Refused for a key the list does not have.
    """
    require(actor, "chore.edit")
    picked = list(dict.fromkeys(keys))
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.", "site")
    if not picked or set(picked) - set(STARTERS):
        raise Refused("Tick at least one chore of the list.", "starter")
    with transaction.atomic():
        # The site's row keeps two coordinators from adding the same one at the same moment.
        Site.objects.select_for_update(no_key=True).get(pk=site.pk)
        there = set(
            Chore.objects.filter(site=site, ended_at__isnull=True, starter__in=picked).values_list(
                "starter", flat=True
            )
        )
        return [_from_starter(actor, site, key, now) for key in picked if key not in there]


def _from_starter(actor: Membership, site: Site, key: str, now: datetime) -> Chore:
    starter = STARTERS[key]
    return Chore.objects.create(
        garden_id=actor.garden_id,
        site=site,
        title=starter.label,
        how=starter.how,
        repeat=starter.repeat,
        every=starter.every,
        first_day=first_day_of(starter, site.local_day(now), southern=site.southern),
        days_from_anchor=starter.days,
        days_open=starter.open,
        minutes=starter.minutes,
        skill=starter.skill,
        starter=key,
        made_by=actor.person,
        made_at=now,
    )


def change_chore(actor: Membership, chore: Chore, draft: ChoreDraft, *, now: datetime) -> Chore:
    """Change what a chore is and when it falls. What was done of it stays. Raises Refused."""
    require(actor, "chore.edit")
    with transaction.atomic():
        current = _lock(actor, chore)
        if current.ended_at is not None:
            raise Refused("This chore was ended. Make a new one instead.")
        given = _checked(actor, draft, now, current)
        for name, value in given.items():
            setattr(current, name, value)
        current.save(update_fields=list(given))
    return current


def end_chore(actor: Membership, chore: Chore, *, now: datetime) -> Chore:
    """End a chore: it falls due no more. Ending twice is ending once."""
    require(actor, "chore.edit")
    with transaction.atomic():
        current = _lock(actor, chore)
        if current.ended_at is None:
            current.ended_at, current.ended_by = now, actor.person
            current.save(update_fields=["ended_at", "ended_by"])
    return current


def _lock(actor: Membership, chore: Chore) -> Chore:
    return Chore.objects.select_for_update().get(pk=chore.pk, garden_id=actor.garden_id)


def _checked(
    actor: Membership, draft: ChoreDraft, now: datetime, current: Chore | None = None
) -> dict[str, object]:
    """Return the draft's columns, checked; days that ``current`` has already may stay.

    Raises Refused.
    """
    if draft.site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.", "site")
    _check_where(draft)
    _check_words(draft)
    for name, (label, low, high) in BOUNDS.items():
        if not low <= getattr(draft, name) <= high:
            raise Refused(f"{label}: give a whole number from {low} to {high}.", name)
    _check_side(draft, current)
    same_day = current is not None and draft.first_day == current.first_day
    _check_days(draft, draft.site.local_day(now), same_day)
    given: dict[str, object] = {name: getattr(draft, name) for name in ChoreDraft.__slots__}
    return {**given, "title": plain_name(draft.title, "chore"), "how": draft.how.strip()}


def _check_where(draft: ChoreDraft) -> None:
    if draft.place is not None and draft.plant is not None:
        raise Refused("Choose a place or a plant, not both: a plant says where it is.", "plant")
    for field, row in (("place", draft.place), ("plant", draft.plant)):
        if row is not None and row.site_id != draft.site.pk:
            raise Refused(f"{row} is not at {draft.site}. Choose one that is.", field)
    if draft.plant is not None and draft.plant.phase == Phase.ENDED:
        raise Refused(f"{draft.plant} has ended. Choose a living plant.", "plant")


def _check_words(draft: ChoreDraft) -> None:
    if len(draft.title.strip()) > TITLE_LENGTH:
        raise Refused(f"What is to be done: keep it to {TITLE_LENGTH} characters.", "title")
    if "\x00" in draft.how or len(draft.how) > HOW_LENGTH:
        raise Refused(f"How it is done: keep it to {HOW_LENGTH} characters of text.", "how")
    if draft.repeat not in list(Repeat):
        raise Refused("How often: choose one from the list.", "repeat")
    if draft.skill and draft.skill not in SKILLS:
        raise Refused("What it asks for: choose one from the list.", "skill")


def _check_side(draft: ChoreDraft, current: Chore | None) -> None:
    """Raise Refused for work before a winter that would come after its first freeze, and such."""
    if not is_on_wrong_side(Repeat(draft.repeat), draft.days_from_anchor):
        return
    same = (draft.repeat, draft.days_from_anchor)
    if current is not None and same == (current.repeat, current.days_from_anchor):
        return
    right = "before" if draft.repeat == Repeat.HARD_FREEZE else "after"
    raise Refused(
        f"Days from the freeze: this chore comes {right} it. Give how many days {right}.",
        "days_from_anchor",
    )


def _check_days(draft: ChoreDraft, today: date, any_first_day: bool) -> None:
    if draft.last_day is not None and draft.last_day < draft.first_day:
        raise Refused("The last day lies before the first. Give a later one.", "last_day")
    if any_first_day:
        return
    if not today - BACK <= draft.first_day <= today + AHEAD:
        raise Refused("First day: give a day from a year ago to three years ahead.", "first_day")
    if draft.repeat == Repeat.ONCE and draft.first_day < today:
        raise Refused("This day is over. Give today or a later day.", "first_day")
    if draft.last_day is not None and draft.last_day < today:
        raise Refused("The last day is over, so it would never fall due.", "last_day")

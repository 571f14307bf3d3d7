"""Asks for a frost night: who was asked, what they answered, who came of their own accord."""

from datetime import datetime, time, timedelta
from enum import StrEnum
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet

from lifecycle.models import Ask, FrostNight, Membership, Person
from lifecycle.permissions import require
from lifecycle.records.nights.rota import ACTING_ROLES, on_call
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import code_for, is_code, new_nonce

_NOBODY = UUID(int=0)
PURPOSE = "ask"
NIGHT_OVER = time(7, 0)
TIME_TO_ANSWER = timedelta(minutes=45)
"""What somebody has to whom an ask is passed on."""
ASKED_UNTIL = time(21, 0)
"""Quiet hours begin; what is asked then would go out the next morning."""
BY_THEMSELVES = 0
"""The rung of somebody who came without being asked."""

OFF = (FrostNight.State.CANCELLED, FrostNight.State.NOT_NEEDED, FrostNight.State.QUIET)
ASKABLE = (FrostNight.State.CALLED, FrostNight.State.POSSIBLE)
LIVE = (Ask.State.ASKED, Ask.State.UNANSWERED, Ask.State.ACCEPTED)


class Standing(StrEnum):
    """Whether an ask can still be answered, and if not, why."""

    OPEN = "open"
    OVER = "over"
    CALLED_OFF = "called_off"
    LEFT = "left"


def night_ends(night: FrostNight) -> datetime:
    """Return when a frost night is over: at 07:00 on the site's clock."""
    zone = ZoneInfo(night.site.time_zone)
    return datetime.combine(night.night + timedelta(1), NIGHT_OVER, zone)


def ask_path(ask: Ask) -> str:
    """Return the secret address of an ask, from the root of the site."""
    return f"/a/{ask.pk}/{code_for(PURPOSE, ask.pk, ask.nonce)}"


def ask_of(pk: int, code: str) -> Ask | None:
    """Return the ask at a secret address, or None for a wrong one."""
    ask = (
        Ask.objects.filter(pk=pk)
        .select_related("person", "passed_to", "garden", "frost_night__site", "frost_night__garden")
        .first()
    )
    # An unknown number is looked at like a known one, so that the time taken tells nothing.
    right = is_code(code, PURPOSE, pk, ask.nonce if ask is not None else _NOBODY)
    return ask if right else None


def standing_of(ask: Ask, now: datetime) -> Standing:
    """Return whether an ask can be answered at ``now``."""
    night = ask.frost_night
    if not _still_acts(ask):
        return Standing.LEFT
    if night.state == FrostNight.State.OVER or now >= night_ends(night):
        return Standing.OVER
    return Standing.CALLED_OFF if night.state in OFF else Standing.OPEN


def of_members(asks: QuerySet[Ask]) -> QuerySet[Ask]:
    """Return those of these asks whose person may act in the garden today."""
    acting = Membership.objects.filter(
        garden=OuterRef("garden"),
        person=OuterRef("person"),
        left_on__isnull=True,
        role__in=ACTING_ROLES,
    )
    return asks.filter(Exists(acting), person__is_active=True)


def accepted(night: FrostNight) -> QuerySet[Ask]:
    """Return the asks of a night that somebody said yes to, earliest first."""
    found = of_members(Ask.objects.filter(frost_night=night, state=Ask.State.ACCEPTED))
    return found.select_related("person").order_by("answered_at", "pk")


def place_ask(
    night: FrostNight, person: Person, *, rung: int, answer_by: datetime, now: datetime
) -> Ask | None:
    """Ask a person for a night; None if they were asked for it before."""
    ask, made = Ask.objects.get_or_create(
        frost_night=night,
        person=person,
        defaults={
            "garden_id": night.garden_id,
            "rung": rung,
            "nonce": new_nonce(),
            "asked_at": now,
            "answer_by": answer_by,
        },
    )
    return ask if made else None


def ask_again(ask: Ask, *, rung: int, answer_by: datetime, now: datetime) -> None:
    """Ask somebody anew whose ask had been called off."""
    ask.state, ask.rung, ask.asked_at, ask.answer_by = Ask.State.ASKED, rung, now, answer_by
    ask.save(update_fields=["state", "rung", "asked_at", "answer_by"])


def mark_unanswered(night: FrostNight, *, now: datetime) -> int:
    """Note whose time to answer has passed; they may still answer. Returns how many."""
    late = Ask.objects.filter(frost_night=night, state=Ask.State.ASKED, answer_by__lte=now)
    return late.update(state=Ask.State.UNANSWERED)


def call_off(night: FrostNight) -> int:
    """End every ask of a night that was called off; a No stays a No. Returns how many."""
    return Ask.objects.filter(frost_night=night, state__in=LIVE).update(state=Ask.State.CALLED_OFF)


def ask_rota(actor: Membership, night: FrostNight, now: datetime) -> None:
    """Begin to ask the rota for tonight now, without waiting for the afternoon.

    A second press changes nothing. Raises Refused for a night that is not tonight or not
    feared to be cold, and once quiet hours have begun.
    """
    require(actor, "frost.lead")
    _check_garden(actor, night)
    if night.night != night.site.local_day(now):
        raise Refused("People are asked on the day itself. Wait for that day.")
    if night.state not in ASKABLE:
        raise Refused("No frost is called for tonight. Call it first, then ask.")
    if now.astimezone(ZoneInfo(night.site.time_zone)).time() >= ASKED_UNTIL:
        raise Refused("Nobody is asked between 21:00 and 07:00. Telephone numbers are on the page.")
    FrostNight.objects.filter(pk=night.pk, ask_from__isnull=True).update(ask_from=now)
    night.refresh_from_db(fields=["ask_from"])


def volunteer(actor: Membership, night: FrostNight, now: datetime) -> Ask:
    """Take on a night without waiting to be asked; also the yes to an ask. Raises Refused."""
    require(actor, "frost.do")
    _check_garden(actor, night)
    if night.state not in ASKABLE or now >= night_ends(night):
        raise Refused("Nobody is needed for this night any more. Thank you all the same.")
    ask, made = Ask.objects.get_or_create(
        frost_night=night,
        person=actor.person,
        defaults={
            "garden_id": night.garden_id,
            "rung": BY_THEMSELVES,
            "state": Ask.State.ACCEPTED,
            "nonce": new_nonce(),
            "asked_at": now,
            "answer_by": night_ends(night),
            "answered_at": now,
        },
    )
    return ask if made else answer(ask, accept=True, now=now)


def answer(ask: Ask, accept: bool, now: datetime) -> Ask:
    """Answer an ask; a second answer changes the first. Raises Refused once it is closed."""
    with transaction.atomic():
        current = _locked(ask)
        _check_open(current, now)
        current.state = Ask.State.ACCEPTED if accept else Ask.State.DECLINED
        current.answered_at = now
        current.save(update_fields=["state", "answered_at"])
    return current


def pass_on(ask: Ask, to: Person, now: datetime) -> Ask:
    """Pass an ask on to somebody else who is on call; returns the ask of that person.

    Raises Refused for somebody who is not on call that night or was asked for it already.
    """
    with transaction.atomic():
        current = _locked(ask)
        _check_open(current, now)
        if current.passed_to is not None:
            raise Refused(f"You passed this on to {current.passed_to} already.")
        if to.pk not in {person.pk for person in may_take_over(current)}:
            raise Refused(f"{to} is not on call that night, or was asked already.", "to")
        current.state, current.answered_at, current.passed_to = Ask.State.PASSED_ON, now, to
        current.save(update_fields=["state", "answered_at", "passed_to"])
        made = place_ask(
            current.frost_night,
            to,
            rung=max(current.rung, 1),
            answer_by=max(current.answer_by, now + TIME_TO_ANSWER),
            now=now,
        )
        if made is None:
            raise Refused(f"{to} was asked already. Choose somebody else.", "to")
    return made


def may_take_over(ask: Ask) -> list[Person]:
    """Return who is on call that night and has not been asked for it."""
    night = ask.frost_night
    asked = set(Ask.objects.filter(frost_night=night).values_list("person", flat=True))
    return [turn.person for turn in on_call(night.site, night.night) if turn.person_id not in asked]


def nights_to_tell_of(person: Person, now: datetime) -> list[FrostNight]:
    """Return the nights of the last week that the person worked on and nobody has told of yet.

    For the question "What happened?".
    """
    mine = Ask.objects.filter(person=person, state=Ask.State.ACCEPTED).values("frost_night")
    since = now.date() - timedelta(days=7)
    found = FrostNight.objects.filter(pk__in=mine, night__gte=since, outcome_at__isnull=True)
    rows = found.select_related("site", "garden").order_by("night", "pk")
    return [night for night in rows if now >= night_ends(night)]


def _locked(ask: Ask) -> Ask:
    rows = Ask.objects.select_for_update(of=("self",)).select_related(
        "person", "garden", "frost_night__site"
    )
    return rows.get(pk=ask.pk)


def _check_open(ask: Ask, now: datetime) -> None:
    standing = standing_of(ask, now)
    if standing == Standing.OVER:
        raise Refused("This night is over. Thank you for looking.")
    if standing == Standing.LEFT:
        raise Refused("This ask was for a member of the garden, and you have left it.")
    if standing == Standing.CALLED_OFF:
        raise Refused("This night was called off. Nobody needs to come.")


def _check_garden(actor: Membership, night: FrostNight) -> None:
    if night.garden_id != actor.garden_id:
        raise Refused("That night does not belong to this garden.")


def _still_acts(ask: Ask) -> bool:
    return of_members(Ask.objects.filter(pk=ask.pk)).exists()

"""The messages round an ask: ahead of the night, at its end, called off, and the morning after."""

from datetime import datetime
from zoneinfo import ZoneInfo

from lifecycle.care.wording import degrees
from lifecycle.models import AirReading, Ask, FrostBed, FrostNight, Message, Person
from lifecycle.records.nights.asks import OFF
from lifecycle.records.nights.rota import on_call
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.fitting import gsm7, shortened
from lifecycle.reminders.nights.ask_evening import UNCOVER_ABOVE_C
from lifecycle.reminders.nights.ask_ladder import Evening
from lifecycle.reminders.nights.ask_words import (
    Told,
    details,
    low_at,
    people_words,
    sentence,
    source_of,
    still_on,
    subject_of,
    told_of,
)
from lifecycle.reminders.nights.frost_facts import TO_DO, beds_of, nothing_tender_out


@register("frost_possible")
def frost_possible(message: Message, now: datetime) -> Composed | None:
    """Note for who holds plants out there: frost is possible, nothing to do yet."""
    told = told_of(message, now)
    if told is None or told.night.state != FrostNight.State.POSSIBLE:
        return None
    return _composed(
        told,
        f"frost possible {told.when}",
        [
            _outlook(told),
            told.facts.impact,
            source_of(told.facts),
            "Nothing to do yet. Whoever is on call is asked.",
        ],
    )


@register("frost_gap")
def frost_gap(message: Message, now: datetime) -> Composed | None:
    """Note for coordinators: too few people are on call."""
    told = told_of(message, now)
    if told is None or told.night.state != FrostNight.State.POSSIBLE:
        return None
    turns = on_call(told.night.site, told.night.night)
    if len(turns) >= max(told.night.people_needed, 1):
        return None
    names = _names([turn.person for turn in turns])
    return _composed(
        told,
        f"frost possible {told.when}, {names or 'nobody'} on call",
        [
            _outlook(told),
            f"{people_words(told.facts)} needed. On call: {names or 'nobody'}.",
            source_of(told.facts),
        ],
        rota=True,
    )


@register("frost_plan")
def frost_plan(message: Message, now: datetime) -> Composed | None:
    """The day before: what is planned, with what, and who is on call."""
    told = told_of(message, now)
    if told is None or told.night.state not in (
        FrostNight.State.POSSIBLE,
        FrostNight.State.CALLED,
    ):
        return None
    names = _names([turn.person for turn in on_call(told.night.site, told.night.night)])
    return _composed(
        told,
        f"plan for frost {told.when}",
        [
            _outlook(told),
            f"{told.facts.impact} {sentence(told.facts.work)} {told.by}.",
            f"{people_words(told.facts)} needed. On call: {names or 'nobody yet'}.",
            "Can you come? Swap now if you cannot: on the day people are asked one after another.",
        ],
        more=details(told),
        rota=True,
    )


@register("frost_old_data")
def frost_old_data(message: Message, now: datetime) -> Composed | None:
    """For coordinators: the forecast is old, so nobody is asked unless they ask themselves."""
    told = told_of(message, now)
    if told is None or told.night.state != FrostNight.State.POSSIBLE:
        return None
    if not told.night.stale or told.night.ask_from is not None:
        return None
    return _composed(
        told,
        f"old forecast, nobody is asked {told.when}",
        [
            "The forecast is old. What comes is not known, so nobody is asked by itself.",
            f"It said: {_outlook(told)}",
            source_of(told.facts),
            "Look at the sky and a newer forecast yourself. To have people asked, press "
            "“Ask the rota now” on the frost page.",
        ],
        more=details(told),
    )


@register("frost_uncovered")
def frost_uncovered(message: Message, now: datetime) -> Composed | None:
    """An hour before sunset: what nobody marked covered. None when all is marked."""
    told = told_of(message, now)
    if told is None or not still_on(told):
        return None
    beds = [
        bed for bed in beds_of(told.night) if bed.action in TO_DO and bed.mark != FrostBed.Mark.DONE
    ]
    if not beds:
        return None
    return _composed(
        told,
        f"not marked covered, {told.by.split(' (')[0]}",
        [
            f"Frost {told.when}, likely {told.facts.low} by {low_at(told.facts)}.",
            *(f"{bed.place}: {bed.get_action_display().lower()}." for bed in beds),
            "Mark each bed when it is done. What nobody marks stays unknown.",
        ],
        more=details(told),
    )


@register("frost_ladder_end")
def frost_ladder_end(message: Message, now: datetime) -> Composed | None:
    """The coordinator takes over: who was asked, what they said, and telephone numbers."""
    told = told_of(message, now)
    if told is None or not still_on(told):
        return None
    evening = Evening(told.night, now)
    if evening.accepted >= evening.needed:
        return None
    elsewhere = {person.pk for person in evening.elsewhere}
    asked = {ask.person_id for ask in evening.asks}
    people = [
        f"{ask.person}, {_phone(ask.person)}: {answer_words(ask, told.night.site.time_zone)}."
        for ask in evening.asks
    ] + [
        f"{turn.person}, {_phone(turn.person)}: "
        f"{'already asked elsewhere today' if turn.person_id in elsewhere else 'not asked'}."
        for turn in evening.turns
        if turn.person_id not in asked
    ]
    return _composed(
        told,
        f"{evening.accepted} of {evening.needed} accepted, please phone",
        [
            _outlook(told),
            f"{told.facts.impact} {sentence(told.facts.work)} {told.by}.",
            f"{evening.accepted} of {evening.needed} accepted. Please phone:",
            *(people or ["Nobody is on call. The members are on the frost page."]),
        ],
        more=details(told),
    )


@register("frost_cancel")
def frost_cancel(message: Message, now: datetime) -> Composed | None:
    """Called off: nobody needs to come. None when it was called again meanwhile."""
    told = told_of(message, now)
    if told is None or told.night.state not in OFF:
        return None
    if told.night.dismissed_why:
        why = f"A coordinator says: {told.night.dismissed_why}."
    elif nothing_tender_out(told.night):
        why = "Nothing tender stands out any more."
    else:
        why = (
            f"It stays warmer: likely {told.facts.low}; {told.facts.limit} or below "
            f"{told.facts.chance}."
        )
    return _composed(
        told,
        f"called off, no need to come {told.when}",
        [
            f"The frost of {told.day} is called off. Nobody needs to come.",
            _covered_words(told),
            why,
            source_of(told.facts),
        ],
    )


@register("frost_uncover")
def frost_uncover(message: Message, now: datetime) -> Composed | None:
    """Next morning: uncover, and how warm the air is known to be."""
    told = told_of(message, now)
    if told is None:
        return None
    still = _still_covered(told)
    if not still and told.night.beds.filter(mark=FrostBed.Mark.DONE).exists():
        return None
    words = (
        f"Take the covers off: {', '.join(str(bed.place) for bed in still)}."
        if still
        else "Nobody marked a bed covered. If you covered one, take the cover off."
    )
    warm = degrees(UNCOVER_ABOVE_C, told.message.person.temperature)
    return _composed(
        told,
        "uncover this morning" if _is_warm(told) else f"uncover when above {warm}",
        [words, _air_words(told), "Plants cook under covers in the sun. Mark each bed uncovered."],
    )


@register("frost_what_happened")
def frost_what_happened(message: Message, now: datetime) -> Composed | None:
    """Ask what became of the plants. None once somebody told."""
    told = told_of(message, now)
    if told is None or told.night.outcome_at is not None:
        return None
    return _composed(
        told,
        f"what happened on {told.day}",
        [
            f"You helped on the frost night of {told.day}. What happened?",
            "One tap on the page tells it, and the next calls get better for it.",
        ],
    )


def answer_words(ask: Ask, zone: str) -> str:
    """Return what an ask came to, with its hours on the site's clock."""
    asked = _clock(ask.asked_at, zone)
    at = f" at {_clock(ask.answered_at, zone)}" if ask.answered_at is not None else ""
    words = {
        Ask.State.ASKED: f"asked at {asked}, no answer yet",
        Ask.State.UNANSWERED: f"asked at {asked}, no answer",
        Ask.State.ACCEPTED: f"accepted{at}",
        Ask.State.DECLINED: f"declined{at}",
        Ask.State.PASSED_ON: f"passed it on to {ask.passed_to}{at}",
        Ask.State.CALLED_OFF: f"asked at {asked}, called off",
    }
    return words[Ask.State(ask.state)]


def _composed(
    told: Told,
    what: str,
    sentences: list[str],
    *,
    more: tuple[Line, ...] = (),
    rota: bool = False,
) -> Composed:
    facts = told.facts
    site = told.night.garden.slug
    lines = [Line(text) for text in sentences if text.strip()]
    links = [Line("The frost page", told.page)]
    if rota:
        links.append(Line("The rota", told.page.split("/frost/")[0] + "/rota"))
    return Composed(
        subject=subject_of(told, what),
        lines=(
            Line(f"{facts.garden}, {facts.site}", heading=True),
            *lines,
            *more,
            *links,
        ),
        short=gsm7(f"{shortened(gsm7(facts.garden), 60) or site}: {what}.")[:SHORT_LENGTH],
        url=told.page,
    )


def _still_covered(told: Told) -> list[FrostBed]:
    """Return the beds that were marked covered and not uncovered since, in walking order."""
    beds = beds_of(told.night)
    return [bed for bed in beds if bed.mark == FrostBed.Mark.DONE and bed.uncovered_at is None]


def _covered_words(told: Told) -> str:
    """Return what is covered already, for a night called off; "" for nothing."""
    names = ", ".join(str(bed.place) for bed in _still_covered(told))
    return f"Covered already: {names}. Uncover in the morning." if names else ""


def _outlook(told: Told) -> str:
    """Return how cold it may get, and where."""
    facts = told.facts
    return (
        f"{facts.beds}: likely {facts.low} by {low_at(facts)} {told.when}; {facts.limit} or "
        f"below {facts.chance}."
    )


def _air(told: Told) -> AirReading | None:
    return AirReading.objects.filter(pk=told.message.data.get("reading")).first()


def _is_warm(told: Told) -> bool:
    """Return whether the air is known to be above the degrees from which covers come off."""
    reading = _air(told)
    return reading is not None and reading.air_c > UNCOVER_ABOVE_C


def _air_words(told: Told) -> str:
    """Return how the air is known to be warm enough, or that nobody knows."""
    reading = _air(told)
    if reading is None:
        return (
            "Nobody measured the air: this comes by the clock. Uncover once it is above "
            f"{degrees(UNCOVER_ABOVE_C, told.message.person.temperature)}."
        )
    zone = told.night.site.time_zone
    unit = told.message.person.temperature
    read = f"The site’s thermometer read {degrees(reading.air_c, unit)} at "
    read += f"{_clock(reading.at, zone)}"
    if reading.air_c > UNCOVER_ABOVE_C:
        return f"{read}."
    return f"{read}: uncover as soon as it is above {degrees(UNCOVER_ABOVE_C, unit)}."


def _clock(moment: datetime, zone: str) -> str:
    return f"{moment.astimezone(ZoneInfo(zone)):%H:%M}"


def _names(people: list[Person]) -> str:
    return ", ".join(str(person) for person in people)


def _phone(person: Person) -> str:
    return person.phone or "no number given"

"""What people are told of a frost night: complete in itself, in the reader's units.

Order and contents follow the published guidance on warnings: source, hazard, place, time, what to
do, what happens otherwise, and the chance; Mileti & Sorensen 1990 and later work of Sutton and
others, as the project's own notes give them. The garden's name comes first, for it is the source
people trust; hours are clock times.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings

from lifecycle.models import Ask, FrostNight, Message
from lifecycle.records.nights.asks import LIVE, ask_path
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.fitting import first_that_fits, gsm7, shortened
from lifecycle.reminders.nights.ask_times import times_of
from lifecycle.reminders.nights.frost_facts import FrostFacts, frost_facts

CORE_LENGTH = 360
SUBJECT_LENGTH = 120
_OLD_DATA = "Forecast older than 6 hours: look at the sky as well."


@dataclass(frozen=True, slots=True)
class Told:
    """One message about a night: the night, its facts for the reader, and their own ask."""

    message: Message
    night: FrostNight
    facts: FrostFacts
    ask: Ask | None
    now: datetime

    @property
    def page(self) -> str:
        """The address of the night's page."""
        return night_url(self.night)

    @property
    def answer_url(self) -> str:
        """Where the reader says yes or no."""
        return f"{settings.SITE_URL}{ask_path(self.ask)}" if self.ask is not None else self.page

    @property
    def when(self) -> str:
        """ "tonight", or the day."""
        tonight = self.night.night == self.night.site.local_day(self.now)
        woken = self.now < times_of(self.night).low and not self.ahead
        return "tonight" if tonight or woken else f"on {self.day}"

    @property
    def by(self) -> str:
        """Until when to act: "by 17:30 (sunset 18:05)", or at once when that is past."""
        facts = self.facts
        if facts.act_by_at is not None and self.now >= facts.act_by_at:
            return f"now, before {low_at(facts)}"
        return f"by {facts.act_by}{f' (sunset {facts.sunset})' if facts.sunset else ''}"

    @property
    def ahead(self) -> bool:
        """Whether the night lies on a later day."""
        return self.night.night > self.night.site.local_day(self.now)

    @property
    def day(self) -> str:
        """The night's date: "Wed 14 Oct"."""
        return f"{self.night.night:%a} {self.night.night.day} {self.night.night:%b}"


def night_url(night: FrostNight) -> str:
    """Return the address of a night's page, as a message gives it."""
    return f"{settings.SITE_URL}{night_path(night)}"


def night_path(night: FrostNight) -> str:
    """Return the address of a night's page, from the root of the site."""
    return f"/g/{night.garden.slug}/frost/{night.site_id}/{night.night}"


def told_of(message: Message, now: datetime) -> Told | None:
    """Load what a message is about; None when its night or its ask is gone."""
    night = (
        FrostNight.objects.filter(pk=message.data.get("night"))
        .select_related("site__garden", "garden", "forecast")
        .first()
    )
    if night is None:
        return None
    ask = None
    if "ask" in message.data:
        ask = Ask.objects.filter(pk=message.data["ask"], person=message.person_id).first()
        if ask is None:
            return None
    return Told(message, night, frost_facts(night, message.person, now), ask, now)


@register("frost_ask")
def frost_ask(message: Message, now: datetime) -> Composed | None:
    """Ask one person for tonight; None once they answered, or nobody is needed any more."""
    told = told_of(message, now)
    if told is None or told.ask is None or told.ask.state not in LIVE:
        return None
    if not still_on(told) or told.ask.state == Ask.State.ACCEPTED:
        return None
    again = told.ask.answered_at is not None or _was_asked_before(message, told.ask)
    return Composed(
        subject=subject_of(told, f"frost {told.when}, {_task(told)}"),
        lines=(
            *([Line("It was called off, and is called again.")] if again else ()),
            Line(core(told)),
            Line("Yes, no, or pass it on", told.answer_url),
            *details(told),
            Line("A no helps too: the next person is asked at once."),
            Line("What to cover, in walking order", told.page),
        ),
        short=short(told),
        url=told.answer_url,
    )


def _was_asked_before(message: Message, ask: Ask) -> bool:
    """Return whether the same ask was sent on an earlier rung: it was called off in between."""
    sent = Message.objects.filter(about="frost_ask", key__startswith=f"frost_ask:{ask.pk}:")
    return sent.filter(channel=message.channel).exclude(pk=message.pk).exists()


@register("frost_update")
def frost_update(message: Message, now: datetime) -> Composed | None:
    """Tell of a colder night; None from old data, below the ratio, or when it is too late."""
    told = told_of(message, now)
    if told is None or not still_on(told) or told.night.stale:
        return None
    if told.night.kill_chance < told.night.kill_ratio:
        return None
    facts = told.facts
    # Whoever was told nothing before cannot read of a change.
    late = bool(message.data.get("late"))
    news = "called late" if late else "colder than told"
    what = f"frost {told.when}, called late" if late else news
    return Composed(
        subject=subject_of(told, f"{what}, {facts.low} by {low_at(facts)}"),
        lines=(
            Line(core(told, news=news)),
            Line("Yes, no, or pass it on" if told.ask else "The frost page", told.answer_url),
            *details(told),
            Line(
                "You are woken for this because you allowed it on the rota. You can change that "
                "there."
            )
            if message.level == Message.Level.ACT_NOW
            else Line("This follows what you were told this afternoon."),
        ),
        short=short(told, news=news),
        url=told.answer_url,
    )


def core(told: Told, news: str = "") -> str:
    """Return the one paragraph that says all, in ``CORE_LENGTH`` characters."""
    facts = told.facts
    hazard = f"frost {told.when}{f', {news}' if news else ''}, {told.day}"
    versions = [
        lambda size=size: _core(told, facts, hazard, *size)
        for size in (
            (60, 80, 60, True, True),
            (60, 80, 60, False, True),
            (40, 40, 40, False, True),
            (30, 30, 30, False, False),
            (22, 20, 22, False, False),
        )
    ]
    return first_that_fits(versions, CORE_LENGTH)


def _core(
    told: Told,
    facts: FrostFacts,
    hazard: str,
    garden: int,
    site: int,
    beds: int,
    materials: bool,
    named: bool,
) -> str:
    where = _beds(facts, beds)
    impact = facts.impact if named else _plain_impact(facts)
    kept = f" {facts.materials}." if materials and facts.materials else ""
    so_far = facts.accepted or "none"
    return (
        f"{shortened(facts.garden, garden)}, {shortened(facts.site, site)}: {hazard}. "
        f"{where}: likely {facts.low} by {low_at(facts)}; {facts.limit} or below {facts.chance}. "
        f"{impact} {sentence(facts.work) or 'Cover them'} {told.by}.{kept} "
        f"{people_words(facts)} needed, {so_far} so far. Yes or no: {told.answer_url} "
        f"{shortened(_briefly(facts.source, named), 60)}."
    )


def short(told: Told, news: str = "") -> str:
    """Return the form for a small screen: 160 characters of GSM-7; its link goes beside it."""
    facts = told.facts
    versions = [
        lambda size=size: _short(told, facts, news, *size)
        for size in ((60, 40, True), (40, 30, True), (30, 24, False), (20, 16, False))
    ]
    return first_that_fits(versions, SHORT_LENGTH)


def _short(told: Told, facts: FrostFacts, news: str, garden: int, beds: int, impact: bool) -> str:
    verb = "Bring in" if facts.work.startswith("bring") else "Cover"
    otherwise = f" {_plain_impact(facts)}" if impact else ""
    hazard = f"frost {told.when}{f', {news}' if news else ''}"
    name = shortened(gsm7(facts.garden), garden) or "Your garden"
    return gsm7(
        f"{name}: {hazard}, {facts.low} by {low_at(facts)} ({facts.limit}: {facts.chance})."
        f"{otherwise} {verb} {_beds(facts, beds)} {told.by.split(' (')[0]}. "
        f"{people_words(facts)} needed. Yes or no?"
    )


def _beds(facts: FrostFacts, most: int) -> str:
    if facts.beds and len(facts.beds) <= most:
        return facts.beds
    return f"{facts.places} places" if facts.places != 1 else shortened(facts.beds, most)


def _plain_impact(facts: FrostFacts) -> str:
    if "harmed" in facts.impact:
        return "Uncovered plants may be harmed."
    return f"Uncovered plants {'will' if ' will ' in facts.impact else 'may'} die."


def people_words(facts: FrostFacts) -> str:
    """Return how many people a night needs: "2 people"."""
    needed = max(facts.people_needed, 1)
    return f"{needed} {'person' if needed == 1 else 'people'}"


def low_at(facts: FrostFacts) -> str:
    """Return when the low is expected, on the clock where that is known."""
    return facts.low_at or "dawn"


def _briefly(source: str, named: bool) -> str:
    """Return a source without the terms and the day that the lines below give; or its hour only."""
    brief = re.sub(r" on \d+ \w+", "", source.split(" (", maxsplit=1)[0])
    return brief if named else brief.split(",", maxsplit=1)[0]


def source_of(facts: FrostFacts) -> str:
    """Return where the forecast comes from as a sentence, with its terms; "" for none."""
    return f"{facts.source}." if facts.source else ""


def sentence(text: str) -> str:
    """Return the text with a capital first letter."""
    return f"{text[:1].upper()}{text[1:]}"


def _task(told: Told) -> str:
    return f"{told.facts.work or 'cover'} {told.by.split(' (')[0]}"


def subject_of(told: Told, what: str) -> str:
    """Return a subject that alone says where, what and by when, the garden first."""
    facts = told.facts
    versions: Sequence[Callable[[], str]] = (
        lambda: f"{facts.garden}, {facts.site}: {what}",
        lambda: f"{shortened(facts.garden, 30)}, {shortened(facts.site, 30)}: {what}",
        lambda: f"{shortened(facts.garden, 20)}, {shortened(facts.site, 20)}: {what}",
    )
    return first_that_fits(versions, SUBJECT_LENGTH)


def details(told: Told) -> tuple[Line, ...]:
    """Return what the paragraph has no room for: materials, wind, cautions, the data's age."""
    facts = told.facts
    lines = [f"Where: {facts.garden}, {facts.site}, {facts.beds}.", source_of(facts)]
    if facts.materials:
        lines.append(f"Take: {facts.materials}.")
    if facts.short:
        lines.append(f"Too few: {facts.short}.")
    lines.append(f"{facts.calm}.")
    lines.extend(facts.cautions)
    if facts.stale:
        lines.append(_OLD_DATA)
    return tuple(Line(text) for text in lines if text)


def still_on(told: Told) -> bool:
    """Return whether the night is called, or asked for by hand, and something can be done."""
    on = told.night.state in (FrostNight.State.CALLED, FrostNight.State.POSSIBLE)
    return on and told.now < times_of(told.night).low

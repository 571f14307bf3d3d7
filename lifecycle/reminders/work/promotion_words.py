"""The words of a window that a forecast closes: complete in itself, in the reader's units.

Source, hazard, place, time, what to do, what happens otherwise, and the chance, as in every
message that interrupts (``ask_words`` names the guidance).
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from django.utils.translation import gettext as _

from lifecycle.models import FrostNight, Message, Task
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.fitting import first_that_fits, gsm7, shortened
from lifecycle.reminders.nights.frost_facts import FrostFacts, frost_facts
from lifecycle.reminders.work.promotion_telling import ABOUT
from lifecycle.reminders.work.task_words import (
    Group,
    garden_url,
    grouped,
    lower_first,
    what,
    what_and_where,
    where_of,
    window_words,
)

CORE_LENGTH = 360
SUBJECT_LENGTH = 120
EVEN = 0.5
"""The chance from which a message says "will"."""

NAME_LENGTHS = (60, 40, 30, 20, 14)
"""To how many characters names are shortened until a text fits."""


@dataclass(frozen=True, slots=True)
class _Told:
    """A night, its facts for the reader, and what it closes for them."""

    night: FrostNight
    facts: FrostFacts
    groups: list[Group]


@register(ABOUT)
def promoted(message: Message, now: datetime) -> Composed | None:
    """Write what must be done before the night; None once it is done or the forecast relents."""
    night = (
        FrostNight.objects.filter(pk=message.data["night"])
        .select_related("site__garden", "forecast")
        .first()
    )
    groups = grouped(
        item.task
        for item in message.items.all()
        if item.task.state == Task.State.OPEN and item.task.promoted_on
    )
    if night is None or night.stale or not groups:
        return None
    told = _Told(night, frost_facts(night, message.person, now), groups)
    return Composed(
        subject=_subject(told),
        lines=(
            Line(_core(told)),
            *(line for group in groups for line in _group_lines(message, group)),
            Line(
                _("The forecast closes these windows early. If it relents, nothing more is said.")
            ),
        ),
        short=_short(told),
        url=garden_url(message.garden, f"tasks/{groups[0][0].pk}"),
    )


def _subject(told: _Told) -> str:
    facts, more = told.facts, len(told.groups) - 1

    def version(size: int) -> str:
        given = {
            "garden": shortened(facts.garden, size),
            "what": shortened(lower_first(what(told.groups[0])), size),
            "day": _day(facts),
            "by": facts.act_by,
            "more": more,
        }
        if more:
            return _("{garden}: {what} and {more} more before frost, by {by} on {day}").format(
                **given
            )
        return _("{garden}: {what} before frost, by {by} on {day}").format(**given)

    return _fitting(version, SUBJECT_LENGTH)


def _fitting(version: Callable[[int], str], most: int) -> str:
    """Return a text in at most ``most`` characters, its names as long as may be."""
    return first_that_fits([partial(version, size) for size in NAME_LENGTHS], most)


def _core(told: _Told) -> str:
    """Return the one paragraph that says all, in ``CORE_LENGTH`` characters."""
    return _fitting(lambda size: _core_in(told, size), CORE_LENGTH)


def _core_in(told: _Told, size: int) -> str:
    facts = told.facts
    return _(
        "{garden}, {site}: frost on the night of {day}. {places}: likely {low} by {low_at}; "
        "{limit} or below {chance}. {impact} {what} by {by} on {day}. {source}."
    ).format(
        garden=shortened(facts.garden, size),
        site=shortened(facts.site, size),
        day=_day(facts),
        places=shortened(_places(told.groups), size),
        low=facts.low,
        low_at=facts.low_at or _("dawn"),
        limit=facts.limit,
        chance=facts.chance,
        impact=_impact(told.night),
        what=_what(told.groups, size),
        by=facts.act_by,
        source=shortened(facts.source.rstrip("."), max(size, 40)),
    )


def _short(told: _Told) -> str:
    """Return the form for a small screen: 160 characters of GSM-7."""
    facts = told.facts

    def version(size: int) -> str:
        text = _(
            "{garden}: frost on {day}, {low} ({limit}: {chance}). {what} by {by}. {impact}"
        ).format(
            garden=shortened(gsm7(facts.garden), size) or _("Your garden"),
            day=_day(facts),
            low=facts.low,
            limit=facts.limit,
            chance=facts.chance,
            what=_what(told.groups, size),
            by=facts.act_by,
            impact=_impact(told.night),
        )
        return gsm7(text)

    return _fitting(version, SHORT_LENGTH)


def _what(groups: list[Group], size: int) -> str:
    first, more = shortened(what(groups[0]), size), len(groups) - 1
    return _("{what} and {more} more").format(what=first, more=more) if more else first


def _places(groups: list[Group]) -> str:
    names = dict.fromkeys(
        str(place) for group in groups if (place := where_of(group[0])) is not None
    )
    return ", ".join(names) or _("Plants without a place")


def _impact(night: FrostNight) -> str:
    if night.kill_chance >= EVEN:
        return _("What is left out will die.")
    return _("What is left out may die.")


def _day(facts: FrostFacts) -> str:
    """Return the night's date: "Fri 16 Oct"."""
    return f"{facts.night:%a} {facts.night.day} {facts.night:%b}"


def _group_lines(message: Message, group: Group) -> tuple[Line, ...]:
    return (
        Line(what_and_where(group), heading=True),
        Line(window_words(group[0], message.person, message.for_day)),
        Line(_("What to do, and Done"), garden_url(message.garden, f"tasks/{group[0].pk}")),
    )

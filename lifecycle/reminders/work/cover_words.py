"""Somebody is away and asks another to cover: told to who is asked, and the answer to who asked."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lifecycle.care.wording import short_date
from lifecycle.models import Away, Message, Person
from lifecycle.records.nights.rota import Stretch
from lifecycle.records.work.away import garden_today
from lifecycle.records.work.cover import to_pass
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.task_words import garden_url

ABOUT, ANSWERED = "cover", "cover_answer"
KEPT = timedelta(days=7)


def tell_cover(away: Away, *, now: datetime) -> Away:
    """Ask the person named to cover. The same question is asked once, and anew when asked anew."""
    if away.cover is not None and away.cover_agreed_at is None:
        _put(away, away.cover, ABOUT, Message.Level.DUE, {"cover": away.cover_id}, now)
    return away


def tell_agreed(away: Away, by: Person, *, now: datetime) -> Away:
    """Tell who is away whether ``by`` covers."""
    agreed = away.cover_id == by.pk and away.cover_agreed_at is not None
    data = {"by": by.pk, "agreed": agreed}
    _put(away, away.person, ANSWERED, Message.Level.NOTE, data, now)
    return away


def _put(
    away: Away, person: Person, about: str, level: str, data: Mapping[str, object], now: datetime
) -> None:
    site = away.garden.sites.order_by("pk").first()
    not_before = next_open_hour(now, site.time_zone if site is not None else "UTC")
    told = "-".join(str(value) for value in data.values())
    put(
        away.garden,
        person,
        key=f"{about}:{away.pk}:{told}:{away.first_day}:{away.made_at:%Y%m%d%H%M%S%f}",
        kind=Message.Kind.HANDED,
        level=level,
        about=about,
        data={"away": away.pk, **data},
        for_day=garden_today(away.garden_id, now),
        not_before=not_before,
        expires_at=not_before + KEPT,
        now=now,
    )


@register(ABOUT)
def asked(message: Message, now: datetime) -> Composed | None:
    """Write who is away and from when to when; None once that is settled or over."""
    away = _away(message)
    today = garden_today(message.garden_id, now)
    if away is None or away.cover_id != message.person_id or away.cover_agreed_at is not None:
        return None
    if away.last_day < today:
        return None
    given = {
        "garden": message.garden.name,
        "who": away.person,
        "days": Stretch(away.first_day, away.last_day).words(today),
    }
    subject = _("{garden}: would you cover for {who}, {days}?").format(**given)
    url = garden_url(message.garden, "away")
    return Composed(
        subject=subject,
        lines=(
            Line(_("{who} is away, {days}, and asks you to cover.").format(**given)),
            Line(_("Their tasks that fall best on these days come to you, and go back after.")),
            Line(passing_words(away, to_pass([away])[away.pk], today)),
            Line(_("Agree, or say no"), url),
        ),
        short=subject[:SHORT_LENGTH],
        url=url,
    )


@register(ANSWERED)
def answered(message: Message, now: datetime) -> Composed | None:
    """Write whether somebody covers."""
    away = _away(message)
    by = Person.objects.filter(pk=message.data["by"]).first()
    if away is None or by is None:
        return None
    today = garden_today(message.garden_id, now)
    agreed = bool(message.data["agreed"]) and away.first_day > today
    text = (
        _("{garden}: {by} covers for you, {days}")
        if message.data["agreed"]
        else _("{garden}: {by} cannot cover for you, {days}")
    )
    days = Stretch(away.first_day, away.last_day).words(today)
    subject = text.format(garden=message.garden.name, by=by, days=days)
    url = garden_url(message.garden, "away")
    return Composed(
        subject=subject,
        lines=(
            *([Line(passing_words(away, to_pass([away])[away.pk], today))] if agreed else []),
            Line(_("Your days away"), url),
        ),
        short=subject[:SHORT_LENGTH],
        url=url,
    )


def passing_words(away: Away, tasks: int, today: date) -> str:
    """Return how many tasks would pass to who covers, as planned now, and when they do."""
    if not tasks:
        return _("As planned now, no task falls on these days.")
    if away.first_day > today:
        text = ngettext(
            "As planned now it is {n} task. It passes on {day}, when the days begin.",
            "As planned now it is {n} tasks. They pass on {day}, when the days begin.",
            tasks,
        )
    else:
        text = ngettext(
            "As planned now it is {n} task. The days have begun: it passes with a yes.",
            "As planned now it is {n} tasks. The days have begun: they pass with a yes.",
            tasks,
        )
    return text.format(n=tasks, day=short_date(away.first_day, today))


def _away(message: Message) -> Away | None:
    found = Away.objects.filter(pk=message.data["away"], garden_id=message.garden_id)
    return found.select_related("person", "cover").first()

"""The words of the weekly message: what falls due by day, what is late, frost, and gaps.

It is never empty: where nothing falls due it says so, and what comes next.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lifecycle.care.frost_words import chance_words, likelihood
from lifecycle.care.wording import degrees, in_units, short_date
from lifecycle.models import Ask, FrostNight, Membership, Message, Site, Task
from lifecycle.records.nights.rota import LEADING_ROLES
from lifecycle.records.work.minding import RELATED
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.digest import ABOUT
from lifecycle.reminders.work.audience import garden_tasks
from lifecycle.reminders.work.garden_gaps import Gaps, gaps_of
from lifecycle.reminders.work.task_words import (
    garden_url,
    grouped,
    lower_first,
    what,
    what_and_where,
)

WEEK = timedelta(days=7)
LISTED = 60
"""Groups of tasks that one message lists."""

_FEARED = (FrostNight.State.CALLED, FrostNight.State.POSSIBLE)


@register(ABOUT)
def week(message: Message, now: datetime) -> Composed:
    """Write the week ahead of one person in one garden."""
    site = message.garden.sites.order_by("pk").first()
    today = site.local_day(now) if site is not None else message.for_day
    mine = garden_tasks(message.garden).filter(minder=message.person_id).select_related(*RELATED)
    tasks = list(mine.filter(earliest__lte=today + WEEK).order_by("earliest", "latest", "pk"))
    late = sum(task.latest < today for task in tasks)
    subject = _subject(message, today, len(tasks), late)
    following = None if tasks else mine.order_by("earliest", "pk").first()
    return Composed(
        subject=subject,
        lines=(
            *_frost(message, now),
            *_questions(message, today),
            *(_work(message, tasks, today) if tasks else [_nothing(following, today)]),
            Line(_("All your tasks"), garden_url(message.garden, "tasks")),
            *_for_leads(message, today, now),
        ),
        short=subject[:SHORT_LENGTH],
        url=garden_url(message.garden, "tasks"),
    )


def _subject(message: Message, today: date, number: int, late: int) -> str:
    given = {"garden": message.garden.name, "number": number, "late": late}
    if not number:
        return _("{garden}: nothing falls due for you in the next seven days").format(**given)
    if late:
        return ngettext(
            "{garden}: {number} thing to do in the next seven days, {late} late",
            "{garden}: {number} things to do in the next seven days, {late} late",
            number,
        ).format(**given)
    return ngettext(
        "{garden}: {number} thing to do in the next seven days",
        "{garden}: {number} things to do in the next seven days",
        number,
    ).format(**given)


def _nothing(following: Task | None, today: date) -> Line:
    if following is None:
        return Line(_("Nothing is planned for you in the next 30 days."))
    return Line(
        _("Nothing falls due for you in the next seven days. Next: {what}, from {day}.").format(
            what=lower_first(what([following])), day=short_date(following.earliest, today)
        )
    )


def _work(message: Message, tasks: list[Task], today: date) -> Iterator[Line]:
    """Write the tasks under their days: late, to be had now, and by the day they open."""
    parts: dict[tuple[int, date], list[Task]] = {}
    for task in tasks:
        if task.latest < today:
            part = (0, today)
        elif task.earliest <= today:
            part = (1, today)
        else:
            part = (2, task.earliest)
        parts.setdefault(part, []).append(task)
    room = LISTED
    left_out = 0
    for part, members in sorted(parts.items()):
        groups = grouped(members)
        shown, room = groups[:room], max(room - len(groups), 0)
        left_out += sum(len(group) for group in groups[len(shown) :])
        if shown:
            yield Line(_heading(part), heading=True)
        for group in shown:
            yield _group_line(message, group, today)
    if left_out:
        yield Line(_("And {number} more, on the page.").format(number=left_out))


def _heading(part: tuple[int, date]) -> str:
    order, day = part
    if order == 0:
        return _("Late")
    return _("Due now") if order == 1 else f"{day:%A} {short_date(day, day)}"


def _group_line(message: Message, group: Iterable[Task], today: date) -> Line:
    listed = list(group)
    last = min(task.latest for task in listed)
    given = {"what": what_and_where(listed), "day": short_date(last, today)}
    text = _("{what}: was due by {day}.") if last < today else _("{what}: by {day}.")
    promoted = [task for task in listed if task.promoted_on]
    if not promoted:
        return Line(text.format(**given))
    person = message.person
    why = in_units(promoted[0].promoted_why, person.temperature, person.length, today)
    return Line(
        _("{what}: by {day}. The forecast closes this window: {why}").format(**given, why=why)
    )


def _frost(message: Message, now: datetime) -> Iterator[Line]:
    """Write the coming nights on which frost is feared, at every site of the garden."""
    sites = list(Site.objects.filter(garden=message.garden_id))
    first = min((site.local_day(now) for site in sites), default=message.for_day)
    nights = FrostNight.objects.filter(
        garden=message.garden_id, night__gte=first, state__in=_FEARED
    ).select_related("site")
    found = [row for row in nights.order_by("night", "pk") if row.night >= row.site.local_day(now)]
    if found:
        yield Line(_("Frost"), heading=True)
    for night in found:
        yield Line(
            _(
                "{likelihood} on the night of {day} at {site}: likely lowest {low}, frost {chance}"
            ).format(
                likelihood=likelihood(night.harm_chance),
                day=f"{night.night:%A} {short_date(night.night, first)}",
                site=night.site,
                low=degrees(night.expected_c, message.person.temperature),
                chance=chance_words(night.harm_chance),
            ),
            _night_url(message, night),
        )


def _questions(message: Message, today: date) -> Iterator[Line]:
    """Ask of each past night the reader went out for, and that nobody has told of yet."""
    asks = Ask.objects.filter(
        person=message.person_id,
        garden=message.garden_id,
        state=Ask.State.ACCEPTED,
        frost_night__night__range=(today - WEEK, today - timedelta(1)),
        frost_night__outcome_at__isnull=True,
    ).select_related("frost_night")
    for ask in asks.order_by("frost_night__night", "pk"):
        day = short_date(ask.frost_night.night, today)
        yield Line(
            _("What happened on the night of {day}? One tap tells.").format(day=day),
            _night_url(message, ask.frost_night),
        )


def _for_leads(message: Message, today: date, now: datetime) -> Iterator[Line]:
    leads = Membership.objects.filter(
        garden=message.garden_id,
        person=message.person_id,
        left_on__isnull=True,
        role__in=LEADING_ROLES,
    ).exists()
    if not leads:
        return
    yield Line(_("For coordinators"), heading=True)
    gaps = gaps_of(message.garden, today=today, now=now)
    if not gaps.any:
        yield Line(_("Nothing is missing: every task and plant has somebody."))
    for text in gap_sentences(gaps, today):
        yield Line(text)
    yield Line(_("See to it"), garden_url(message.garden, "coordinate"))


def gap_sentences(gaps: Gaps, today: date) -> Iterator[str]:
    """Return one sentence a kind of gap."""
    counts = (
        (gaps.unminded, "{n} task due within a week has nobody.",
         "{n} tasks due within a week have nobody."),
        (gaps.late, "{n} task is past its last day.", "{n} tasks are past their last day."),
        (gaps.raised, "{n} of them was offered and nobody took it.",
         "{n} of them were offered and nobody took them."),
        (gaps.unheld, "{n} plant has no holder.", "{n} plants have no holder."),
        (gaps.failed, "{n} message did not arrive.", "{n} messages did not arrive."),
        (gaps.forecasts, "{n} forecast cannot be fetched.", "{n} forecasts cannot be fetched."),
    )  # fmt: skip
    for number, one, many in counts:
        if number:
            yield ngettext(one, many, number).format(n=number)
    for each in gaps.uncovered:
        yield _("Nobody is on call at {site}, {days}.").format(
            site=each.site, days=each.days.words(today)
        )


def _night_url(message: Message, night: FrostNight) -> str:
    return garden_url(message.garden, f"frost/{night.site_id}/{night.night}")

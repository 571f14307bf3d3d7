"""Coordinate: what is wrong in the garden, worst first, each with where it is put right."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.models import Ask, ForecastSource, FrostNight, Membership, Message
from lifecycle.records.messages.message_choices import stopped_by_kind
from lifecycle.records.people.handing import unanswered
from lifecycle.records.work.week_work import week_of
from lifecycle.reminders.nights.alert_health import AlertHealth, health_of
from lifecycle.reminders.work.garden_gaps import AHEAD, Gaps, gaps_of
from lifecycle.web.door import enter, first_site, garden_day, page, rows
from lifecycle.web.words import counted, day_words
from lifecycle.web.work.coordinate_week import week_problems
from lifecycle.web.work.groups import NOBODY, TaskGroup, grouped, minded

GROUPS_SHOWN = 30
HAND_OVERS_NAMED = 3
KIND_WORDS = {
    Message.Kind.FROST: "frost messages",
    Message.Kind.DUE: "what is due",
    Message.Kind.WEEK: "the week ahead",
    Message.Kind.HANDED: "work handed or offered",
    Message.Kind.LEAD: "gaps and failures",
}


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, in a sentence, and where it is put right."""

    sentence: str
    url: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class TaskList:
    """Tasks that somebody should be found for, as groups."""

    heading: str
    explained: str
    groups: list[TaskGroup]
    left_out: int

    @property
    def number(self) -> int:
        """How many groups there are, those left out too."""
        return len(self.groups) + self.left_out


@require_safe
def coordinate(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the problems of the garden, and how its messages do."""
    member = enter(request, slug, "task.assign")
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    gaps = gaps_of(member.garden, today=today, now=now)
    problems = [
        *_frost(member, now),
        *_gaps(member, gaps, today),
        *_hand_overs(member, today, now),
        *_week(member, now),
    ]
    lists = _task_lists(member, today)
    health = health_of(member.garden, today=today, now=now)
    context = {
        "heading": _heading(len(problems) + sum(each.number for each in lists)),
        "problems": problems,
        "lists": lists,
        "today": today,
        "health": _health_rows(health, member),
        "demoted": [KIND_WORDS[each.kind] for each in health.acted_on if each.demote],
    }
    return page(request, "coordinate.html", context)


def _heading(number: int) -> str:
    if not number:
        return "Nothing to put right"
    return f"{counted(number, 'thing')} to put right"


def _frost(member: Membership, now: datetime) -> list[Problem]:
    """Return the called nights of today for which too few people come."""
    day = timedelta(days=1)
    nights = (
        rows(FrostNight, member)
        .filter(
            state=FrostNight.State.CALLED, night__range=((now - day).date(), (now + day).date())
        )
        .select_related("site")
        .annotate(coming=Count("asks", filter=Q(asks__state=Ask.State.ACCEPTED)))
        .order_by("site__name", "pk")
    )
    found = []
    for night in nights:
        needed = max(night.people_needed, 1)
        if night.night != night.site.local_day(now) or night.coming >= needed:
            continue
        said = f"{night.coming} of {needed} said yes" if night.coming else "nobody said yes yet"
        url = reverse("frost-night", args=[member.garden.slug, night.site_id, str(night.night)])
        sentence = f"Frost tonight at {night.site}: {said}"
        found.append(Problem(sentence, url))
    return found


def _gaps(member: Membership, gaps: Gaps, today: date) -> list[Problem]:
    slug = member.garden.slug
    found = []
    if gaps.failed:
        words = f"{counted(gaps.failed, 'message')} did not arrive"
        found.append(Problem(words, reverse("system", args=[slug])))
    if gaps.forecasts:
        found += _forecasts(member)
    rota = reverse("rota", args=[slug])
    found += [
        Problem(f"Nobody is on call at {each.site}, {each.days.words(today)}", rota)
        for each in gaps.uncovered
    ]
    if gaps.unheld:
        words = counted(gaps.unheld, "plant has no holder", "plants have no holder")
        found.append(Problem(words, f"{reverse('plants', args=[slug])}?holder=0"))
    return found


def _hand_overs(member: Membership, today: date, now: datetime) -> list[Problem]:
    """Return the proposals of a hand-over that nobody answered for a week."""
    slug = member.garden.slug
    found = unanswered(member.garden, now)
    return [
        Problem(
            f"{each.to} has not answered {each.by}’s hand-over since "
            f"{day_words(each.made_at.date(), today)}",
            reverse("hand-over-page", args=[slug, each.pk]),
        )
        for each in found[:HAND_OVERS_NAMED]
    ] + [
        Problem(
            f"{counted(len(found) - HAND_OVERS_NAMED, 'more hand-over')} without an answer",
            reverse("hand-overs", args=[slug]),
        )
        for _ in found[HAND_OVERS_NAMED : HAND_OVERS_NAMED + 1]
    ]


def _week(member: Membership, now: datetime) -> list[Problem]:
    url = reverse("week", args=[member.garden.slug])
    return [Problem(words, url) for words in week_problems(week_of(member.garden, now=now))]


def _forecasts(member: Membership) -> list[Problem]:
    failing = rows(ForecastSource, member).filter(failures__gt=0).select_related("site")
    return [
        Problem(
            f"The forecast for {each.site} cannot be fetched",
            reverse("climate", args=[member.garden.slug, each.site_id]),
            each.last_error,
        )
        for each in failing.order_by("site__name", "pk")
    ]


def _task_lists(member: Membership, today: date) -> list[TaskList]:
    """Return the tasks that need somebody; each task stands in one list only."""
    tasks = minded(member)
    soon = today + AHEAD
    nobody = tasks.filter(whose=NOBODY, raised_on__isnull=True, earliest__lte=soon)
    others = tasks.exclude(whose=NOBODY)
    late = others.filter(latest__lt=today, raised_on__isnull=True)
    wanted = (
        (
            "Neglected",
            "Told twice and offered to others of the bed. Nobody took it.",
            tasks.filter(raised_on__isnull=False),
        ),
        ("Nobody has it", f"Due by {day_words(soon, today)}.", nobody),
        (
            "Offered to others of the bed",
            "Three days past the last day; each was asked once.",
            late.filter(offered_on__isnull=False),
        ),
        (
            "Past its last day",
            "Told to whoever has it.",
            late.filter(offered_on__isnull=True),
        ),
    )
    found = []
    for heading, explained, some in wanted:
        groups = grouped(some, today)
        if groups:
            left_out = max(len(groups) - GROUPS_SHOWN, 0)
            found.append(TaskList(heading, explained, groups[:GROUPS_SHOWN], left_out))
    return found


def _health_rows(health: AlertHealth, member: Membership) -> list[tuple[str, str]]:
    """Return the month in pairs of a name and words."""
    people = counted(health.people, "member")
    average = health.sent / health.people if health.people else 0.0
    rows_ = [
        (
            "E-mails and push messages",
            f"{health.sent} to {people}: {average:.1f} each, most to one {health.most}",
        ),
        ("Asks on frost nights", _asks(health)),
        (
            "Frost calls",
            f"{health.calls.called_killing} right, {health.calls.called_mild} for nothing, "
            f"{counted(health.calls.missed, 'killing night')} not called",
        ),
        ("Called nights of which something is not known", str(health.unknown)),
    ]
    acted = [
        f"{KIND_WORDS[each.kind]} {each.acted} of {each.number}"
        for each in health.acted_on
        if each.number
    ]
    stopped = [
        f"{KIND_WORDS[kind]} {number}"
        for kind, number in stopped_by_kind(member.garden_id)
        if number
    ]
    rows_.append(("Acted on", ", ".join(acted) or "Nothing to count yet"))
    rows_.append(("Members who stopped e-mail", ", ".join(stopped) or "None"))
    return rows_


def _asks(health: AlertHealth) -> str:
    if not health.asks:
        return "None"
    middle = health.answer_minutes
    answered = "none answered" if middle is None else f"half of the answers within {middle:.0f} min"
    return f"{health.asks}: {health.in_time} answered before others were asked, {answered}"

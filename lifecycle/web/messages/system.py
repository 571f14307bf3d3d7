"""How delivery stands: ticks, queue, failures, who stopped what, and a message to try it."""

from datetime import datetime, timedelta
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Min, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import ForecastSource, Membership, Message
from lifecycle.records.messages.deliveries import drop, retry
from lifecycle.records.messages.message_choices import stopped_by_kind
from lifecycle.records.refusal import Refused
from lifecycle.reminders.heartbeats import Pulse, Tick, ticks_at
from lifecycle.reminders.messages.trial import ABOUT, send_test
from lifecycle.web.door import enter, first_site, garden_day, number_in, page, refused_page, rows
from lifecycle.web.words import counted

PAGE_OF = 50
TICK_WORDS = {
    "forecast": "Fetch forecasts",
    "frost": "Judge the coming nights, and ask people",
    "plan": "Plan the work",
    "remind": "Announce what is due",
    "dispatch": "Send messages",
}
ACTS = frozenset({"test", "retry", "drop"})
SAID = {
    "test": "A test message is on its way to you. Load this page again to see what came of it.",
    "retry": "It goes out again with the next look, within a minute or so.",
    "drop": "It is dropped.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def system(request: HttpRequest, slug: str) -> HttpResponse:
    """Show how delivery stands; POST sends a test, or settles a failed message."""
    member = enter(request, slug, "message.lead")
    now = timezone.now()
    if request.method == "POST" and request.POST.get("act") in ACTS:
        return _act(request, member, now)
    failed = _messages(member).filter(state=Message.State.FAILED)
    site = first_site(member.garden)
    ticks = ticks_at(now)
    context = {
        "verdict": _verdict(ticks, failed.count()),
        "ticks": [_tick_row(tick, now) for tick in ticks],
        "queue": _queue(member, now),
        "shown": Paginator(
            failed.select_related("person").order_by("-not_before", "-pk"), PAGE_OF
        ).get_page(number_in(request, "page") or 1),
        "stopped": [
            (str(kind.label), number) for kind, number in stopped_by_kind(member.garden_id)
        ],
        "sources": list(rows(ForecastSource, member).exclude(last_error="").select_related("site")),
        "tests": _last_test(member),
        "said": SAID.get(request.GET.get("said", ""), ""),
        "site": site,
        "today": garden_day(site, now),
    }
    return page(request, "system.html", context)


def _messages(member: Membership) -> Any:
    return rows(Message, member)


def _act(request: HttpRequest, member: Membership, now: datetime) -> HttpResponse:
    act = request.POST["act"]
    back = reverse("system", args=[member.garden.slug])
    try:
        if act == "test":
            send_test(member, today=garden_day(first_site(member.garden), now), now=now)
        elif act == "retry":
            retry(member, _named(request, member), now=now)
        else:
            drop(member, _named(request, member))
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label="How delivery stands")
    return redirect(f"{back}?said={act}")


def _named(request: HttpRequest, member: Membership) -> Message:
    pk = request.POST.get("message", "")
    if not (pk.isascii() and pk.isdigit() and len(pk) < 19):
        raise Http404("There is no such message.")
    found: Message = get_object_or_404(_messages(member), pk=int(pk))
    return found


def _verdict(ticks: list[Tick], failed: int) -> str:
    behind = [tick for tick in ticks if tick.pulse is not Pulse.ON_TIME]
    if behind:
        return f"{len(behind)} of {len(ticks)} things that run by themselves are not on time"
    if failed:
        return f"{counted(failed, 'message')} did not arrive"
    return "Messages go out"


def _tick_row(tick: Tick, now: datetime) -> dict[str, str]:
    return {
        "words": TICK_WORDS.get(tick.name, tick.name),
        "pulse": tick.pulse.value,
        "every": f"every {span(tick.every).removeprefix('1 ')}",
        "last": f"last run {span(now - tick.at)} ago" if tick.at else "has never run",
    }


def span(length: timedelta) -> str:
    """Return a length of time in its largest whole unit: "5 minutes", "2 days"."""
    seconds = max(0, int(length.total_seconds()))
    for size, unit in ((86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= 2 * size or seconds == size:
            return counted(seconds // size, unit)
    return counted(seconds, "second")


def _queue(member: Membership, now: datetime) -> dict[str, Any]:
    pending = Q(state=Message.State.PENDING)
    held = pending & Q(lease_until__gte=now)
    due = pending & Q(not_before__lte=now) & ~Q(lease_until__gte=now)
    found: dict[str, Any] = _messages(member).aggregate(
        due=Count("pk", filter=due),
        oldest=Min("not_before", filter=due),
        held=Count("pk", filter=held),
        later=Count("pk", filter=pending & Q(not_before__gt=now)),
        failed=Count("pk", filter=Q(state=Message.State.FAILED)),
        refused=Count("pk", filter=pending & ~Q(last_error="")),
    )
    if found["oldest"] is not None:
        found["late"] = span(now - found["oldest"])
    return found


def _last_test(member: Membership) -> list[Message]:
    tests = _messages(member).filter(person=member.person, about=ABOUT)
    newest = tests.order_by("-made_at", "-pk").first()
    return list(tests.filter(made_at=newest.made_at).order_by("channel")) if newest else []

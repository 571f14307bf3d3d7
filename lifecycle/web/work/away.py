"""Away: who is away from when to when, and who does their work meanwhile."""

from collections.abc import Callable
from datetime import date, datetime

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Away, Membership
from lifecycle.permissions import can
from lifecycle.records.nights.rota import Stretch
from lifecycle.records.refusal import Refused
from lifecycle.records.work.away import agree, ask_to_cover, come_back, go_away, say_no
from lifecycle.records.work.cover import to_pass
from lifecycle.reminders.work.cover_words import passing_words, tell_agreed, tell_cover
from lifecycle.web.door import attempt, enter, first_site, garden_day, page, refused_page, rows
from lifecycle.web.forms.away import AwayForm, CoverForm


@require_http_methods(["GET", "HEAD", "POST"])
def away(request: HttpRequest, slug: str) -> HttpResponse:
    """Show who is away or will be; say that one is, cover for somebody, come back early."""
    member = enter(request, slug, "task.do")
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    act = request.POST.get("act", "") if request.method == "POST" else ""
    leads = can(member, "people.edit")
    form = AwayForm(member, today, leads=leads, data=request.POST if act == "go" else None)
    asking = CoverForm(member, request.POST if act == "ask" else None, prefix="ask")
    if act:
        answer = _act(request, member, act, form, asking, now)
        if answer is not None:
            return answer
    listed = list(
        rows(Away, member)
        .filter(last_day__gte=today)
        .select_related("person", "cover")
        .order_by("first_day", "pk")
    )
    tasks = to_pass(each for each in listed if _still_to_pass(each, today))
    context = {
        "heading": _heading(listed, today),
        "listed": [
            (
                each,
                Stretch(each.first_day, each.last_day).words(today),
                passing_words(each, tasks[each.pk], today) if each.pk in tasks else "",
            )
            for each in listed
        ],
        "form": form,
        "asking": asking,
        "bad_form": next((each for each in (form, asking) if each.errors), None),
        "today": today,
        "own": member.person_id,
        "leads": leads,
        "saved": request.GET.get("saved") == "1",
    }
    return page(request, "away.html", context)


def _still_to_pass(each: Away, today: date) -> bool:
    """Whether somebody is named to cover, and the tasks are not with them yet."""
    begun = each.cover_agreed_at is not None and each.first_day <= today
    return each.cover_id is not None and not begun


def _heading(listed: list[Away], today: date) -> str:
    names = dict.fromkeys(str(each.person) for each in listed if each.first_day <= today)
    return f"Away today: {', '.join(names)}" if names else "Nobody is away today"


def _act(
    request: HttpRequest,
    member: Membership,
    act: str,
    form: AwayForm,
    asking: CoverForm,
    now: datetime,
) -> HttpResponse | None:
    here = reverse("away", args=[member.garden.slug])
    if act == "go":
        sent: forms.Form = form
        verb: Callable[[], object] = lambda: tell_cover(  # noqa: E731 - read when it runs
            go_away(member, now=now, **form.cleaned_data), now=now
        )
    else:
        found = get_object_or_404(
            rows(Away, member).select_related("person", "cover"), pk=_number(request)
        )
        if act != "ask":
            return _answer(request, member, found, act, here, now)
        sent = asking
        verb = lambda: tell_cover(  # noqa: E731 - read when it runs
            ask_to_cover(member, found, asking.cleaned_data["cover"], now=now), now=now
        )
    if sent.is_valid() and attempt(sent, verb) is not None:
        return redirect(f"{here}?saved=1")
    return None


def _answer(
    request: HttpRequest, member: Membership, found: Away, act: str, here: str, now: datetime
) -> HttpResponse | None:
    """Agree to cover, say no, or come back."""
    verbs: dict[str, Callable[[], object]] = {
        "agree": lambda: tell_agreed(agree(member, found, now=now), member.person, now=now),
        "say_no": lambda: tell_agreed(say_no(member, found, now=now), member.person, now=now),
        "come_back": lambda: come_back(member, found, now=now),
    }
    if act not in verbs:
        return None
    try:
        verbs[act]()
    except Refused as refusal:
        return refused_page(request, str(refusal), back=here, back_label="Away")
    return redirect(f"{here}?saved=1")


def _number(request: HttpRequest) -> int:
    text = request.POST.get("away", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0

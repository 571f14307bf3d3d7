"""A task offered by one member to another: taken in one tap, refused, or taken back."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Task, TaskOffer
from lifecycle.permissions import can
from lifecycle.records.refusal import Refused
from lifecycle.records.work.minding import RELATED, where_of
from lifecycle.records.work.offers import accept, refuse, take_back
from lifecycle.reminders.work.offer_words import tell_answer
from lifecycle.reminders.work.task_words import cautions_of, task_name, time_words
from lifecycle.web.door import enter, page, refused_page, rows
from lifecycle.web.ground.place_names import place_words

_VERBS = {"accept": accept, "refuse": refuse, "take_back": take_back}


@require_http_methods(["GET", "HEAD", "POST"])
def task_offer(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show an offer to anybody of the garden; the one who is asked answers it."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "task.do")
    related = [f"{side}__{name}" for side in ("task", "for_task") for name in RELATED]
    offers = rows(TaskOffer, member).select_related("by", "to", *related)
    found = get_object_or_404(offers, pk=pk)
    now = timezone.now()
    verb = _VERBS.get(request.POST.get("act", "")) if request.method == "POST" else None
    if verb is not None:
        try:
            tell_answer(verb(member, found, now=now), now=now)
        except Refused as refusal:
            here = reverse("task-offer", args=[slug, pk])
            return refused_page(request, str(refusal), back=here, back_label="the offer")
        return redirect("task-offer", slug, pk)
    asked = found.to_id == member.person_id
    is_open = found.state == TaskOffer.State.OPEN
    tasks = [task for task in (found.task, found.for_task) if task is not None]
    places = place_words(where_of(task) for task in tasks)
    context = {
        "offer": found,
        "name": task_name(found.task),
        "is_open": is_open,
        "may_answer": is_open and asked and can(member, "task.do"),
        "may_take_back": is_open
        and (found.by_id == member.person_id or can(member, "task.assign")),
        "cautions": list(dict.fromkeys(text for task in tasks for text in cautions_of(task))),
        "where": [_where_and_time(task, places) for task in tasks],
        "today": found.task.site.local_day(now),
    }
    return page(request, "task_offer.html", context)


def _where_and_time(task: Task, places: dict[int, str]) -> str:
    """Return where a task is to be done and at what time of the day, as far as that is said."""
    place = where_of(task)
    said = (places[place.pk] if place is not None else "", time_words(task))
    return ", ".join(part for part in said if part)

"""One group of tasks: done for all of it, or for those ticked."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.models import Membership, Task
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused
from lifecycle.records.work.doing import Doing, do_tasks
from lifecycle.records.work.minding import record_of
from lifecycle.records.work.tasks import reopen
from lifecycle.reminders.work.task_words import (
    cautions_of,
    label_of,
    subject_of,
    task_name,
    time_words,
    where_of,
)
from lifecycle.web.crops.records import Record, form_number
from lifecycle.web.door import after_write, number_in, page, refused_page, rows, way_back
from lifecycle.web.ground.place_names import place_words
from lifecycle.web.words import counted, due_words
from lifecycle.web.work.groups import Which, in_group, with_whose

PAGE_OF = 50
TOLD = 20
"""So many tasks are named after a tap: those others did meanwhile, those not due yet."""

LATELY = timedelta(days=1)


def is_group(request: HttpRequest) -> bool:
    """Return whether the address asks for one group."""
    kind = request.GET.get("kind")
    return kind in STEP_RULES or (kind == Task.CHORE and number_in(request, "chore") is not None)


def show_group(request: HttpRequest, member: Membership, today: date) -> HttpResponse:
    """Show the tasks of one group, those that are due ticked."""
    which = Which(
        kind=request.GET["kind"],
        place=number_in(request, "place"),
        whose=number_in(request, "whose", 0, 2),
        chore=number_in(request, "chore"),
    )
    shown = Paginator(in_group(member, which), PAGE_OF).get_page(number_in(request, "page") or 1)
    tasks = list(shown)
    places = place_words(where_of(task) for task in tasks)
    listed = [_row(task, places, today) for task in tasks]
    first = tasks[0] if tasks else None
    one_tap = which.kind == Task.CHORE or STEP_RULES[which.kind].one_tap
    context = {
        "heading": _heading(first, which, shown.paginator.count, places),
        "shown": shown,
        "listed": listed,
        "today": today,
        "one_tap": one_tap,
        "which": which,
        "cautions": cautions_of(first) if first else [],
        "form_id": form_number(),
    }
    return page(request, "task_group.html", context)


def _heading(first: Task | None, which: Which, number: int, places: dict[int, str]) -> str:
    if first is None:
        return "Nothing is open here"
    if which.kind == Task.CHORE:
        return f"{task_name(first)}: {counted(number, 'time')}"
    where = f" in {places[which.place]}" if which.place is not None else ""
    return f"{label_of(first)}: {counted(number, 'plant')}{where}"


def _row(task: Task, places: dict[int, str], today: date) -> dict[str, Any]:
    record, place = record_of(task), where_of(task)
    due = due_words(task.best, task.latest, today)
    return {
        "task": task,
        "name": subject_of(task) or label_of(task),
        "place": places[place.pk] if place is not None else "",
        "code": record.code if record else "",
        "due": f"{at_time}, {due}" if (at_time := time_words(task)) else due,
        "ticked": task.earliest <= today,
    }


def do_group(request: HttpRequest, member: Membership, today: date, now: datetime) -> HttpResponse:
    """Do the tasks ticked, or all of a group that are due; what others did meanwhile is told."""
    require(member, "task.do")
    back, back_label = way_back(request.POST.get("back", ""), member.garden.slug)
    which, form_id = _which(request), _form_id(request)
    left: list[Task] = []
    if which is None or form_id is None:
        sentence = "This form was not understood. Load the page again."
        return refused_page(request, sentence, back=back, back_label=back_label)
    if request.POST.get("some") == "1":
        chosen = _ticked(request, member, which)
        if not chosen:
            return refused_page(request, "Tick at least one.", back=back, back_label=back_label)
    else:
        chosen = list(in_group(member, which).filter(earliest__lte=today))
        left = list(in_group(member, which).filter(earliest__gt=today)[:TOLD])
    try:
        doing = do_tasks(member, chosen, form_id=form_id, now=now)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label=back_label)
    after_write(_records(chosen), now)
    before = doing.before
    if not chosen:
        before = _done_lately(member, which, now)
    return redirect(f"{back}?{urlencode(_said(doing, before, left), doseq=True)}")


def _said(doing: Doing, before: list[Task], left: list[Task]) -> dict[str, Any]:
    """Return what the status line of the next page is to tell."""
    said: dict[str, Any] = {}
    if doing.logged:
        said["saved"] = doing.logged[0].entry.pk
    chores = [task.pk for task in doing.done if task.chore_id is not None]
    if chores:
        said["did"] = chores[:TOLD]
    if not said:
        said["nothing"] = 1
    if before:
        said["before"] = [task.pk for task in before[:TOLD]]
    if left:
        said["left"] = [task.pk for task in left]
    return said


def _records(tasks: Iterable[Task]) -> list[Record]:
    found = {(type(record), record.pk): record for record in map(record_of, tasks) if record}
    return list(found.values())


def _which(request: HttpRequest) -> Which | None:
    kind = request.POST.get("kind", "")
    chore = _whole(request.POST.get("chore"))
    known = STEP_RULES.get(kind)
    if not (kind == Task.CHORE and chore) and not (known is not None and known.one_tap):
        return None
    place, whose = _whole(request.POST.get("place")), _whole(request.POST.get("whose"))
    return Which(kind, place, whose, chore if kind == Task.CHORE else None)


def _form_id(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.POST.get("uuid", ""))
    except ValueError:
        return None


def _ticked(request: HttpRequest, member: Membership, which: Which) -> list[Task]:
    """Return the tasks ticked, open or not, of the kind or chore of the group."""
    given = map(_whole, request.POST.getlist("task")[: 10 * PAGE_OF])
    wanted = {pk for pk in given if pk}
    found = rows(Task, member).filter(pk__in=wanted, kind=which.kind, chore=which.chore)
    return list(found.select_related("plant__site", "sowing__site").order_by("pk"))


def _done_lately(member: Membership, which: Which, now: datetime) -> list[Task]:
    """Return the tasks of the group that somebody closed within a day, the last first."""
    closed = rows(Task, member).filter(
        state__in=[Task.State.DONE, Task.State.CANNOT], closed_at__gte=now - LATELY
    )
    found = which.of(with_whose(member, closed))
    return list(found.order_by("-closed_at", "-pk")[:TOLD])


def undo_chores(request: HttpRequest, member: Membership, now: datetime) -> HttpResponse:
    """Open again the chores that one tap did, and go back to where it was tapped."""
    require(member, "task.do")
    back, back_label = way_back(request.POST.get("back", ""), member.garden.slug)
    given = map(_whole, request.POST.getlist("task")[:TOLD])
    found = rows(Task, member).filter(
        pk__in={pk for pk in given if pk}, kind=Task.CHORE, state=Task.State.DONE
    )
    undone = list(found.order_by("pk"))
    try:
        with transaction.atomic():
            for task in undone:
                reopen(member, task, now=now)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label=back_label)
    undid = urlencode({"undid": [task.pk for task in undone]}, doseq=True)
    return redirect(f"{back}?{undid}" if undone else reverse("tasks", args=[member.garden.slug]))


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None

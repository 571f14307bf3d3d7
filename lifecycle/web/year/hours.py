"""Your own hours: set down, added up, struck. Nobody else's are shown anywhere."""

from datetime import date, datetime

from django.db.models import QuerySet, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Membership, WorkHours
from lifecycle.records.year.hours import log_hours, strike_hours
from lifecycle.records.year.report_years import years_of
from lifecycle.web.door import attempt, enter, page, rows
from lifecycle.web.forms.giving import HoursForm
from lifecycle.web.year.amounts import hours_words

SHOWN = 100


@require_http_methods(["GET", "HEAD", "POST"])
def hours(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the reader's own hours and take more, where the garden keeps such a ledger."""
    member = enter(request, slug, "hours.own")
    now = timezone.now()
    if request.POST.get("act") == "strike":
        return _strike(request, member, now)
    calendar = years_of(member.garden)
    today = calendar.local_day(now)
    form = HoursForm(today, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: log_hours(member, now=now, **form.cleaned_data))
        if made is not None:
            return redirect(f"{request.path}?saved=1")
    span = calendar.span(calendar.year_of(today))
    own = _own(member)
    context = {
        "kept": member.garden.hours_ledger,
        "total": hours_words(_total(own, span.first, span.last)),
        "year": span.year,
        "days": span.words(),
        "listed": [(each, hours_words(each.minutes)) for each in own[:SHOWN]],
        "form": form,
        "bad_form": form if form.errors else None,
        "saved": request.GET.get("saved") == "1",
        "today": today,
    }
    return page(request, "hours.html", context)


def _own(member: Membership) -> QuerySet[WorkHours]:
    return rows(WorkHours, member).filter(person=member.person)


def _total(own: QuerySet[WorkHours], first: date, last: date) -> int:
    standing = own.filter(struck_at__isnull=True, worked_on__range=(first, last))
    return standing.aggregate(total=Sum("minutes"))["total"] or 0


def _strike(request: HttpRequest, member: Membership, now: datetime) -> HttpResponse:
    text = request.POST.get("row", "")
    pk = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    strike_hours(member, get_object_or_404(_own(member), pk=pk), now=now)
    return redirect(request.path)

"""The rows behind one figure of the report, as a page and as CSV."""

from collections.abc import Sequence

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.models import Membership
from lifecycle.records.people import audit
from lifecycle.records.year.report_figure import Figure
from lifecycle.web.csv_file import csv_response
from lifecycle.web.door import enter, number_in, page
from lifecycle.web.year.report_row_cells import HEADS, as_csv, as_words, rows_behind
from lifecycle.web.year.report_words import value_words
from lifecycle.web.year.report_year import ShownYear, calendar_of, shown_year

PER_PAGE = 100


@require_safe
def report_rows(request: HttpRequest, slug: str, year: int, figure: str) -> HttpResponse:
    """Show the rows that a figure counts; with ``now=1`` those it would count today."""
    member = enter(request, slug, "report.read")
    now = timezone.now()
    shown = shown_year(member, calendar_of(member, now), year, now, compared=False)
    of_today = request.GET.get("now") == "1" and shown.known_now is not None
    found, values = _figure(shown, figure, of_today)
    if found.rows is None:
        raise Http404("These rows are private.")
    numbers = found.rows()
    if request.GET.get("as") == "csv":
        if request.method == "GET":
            audit.note(member, "report_seen", now=now, year=year, figure=figure)
        return _csv(member, found, numbers, f"{slug}-{year}-{figure}")
    shown_page = Paginator(numbers, PER_PAGE).get_page(number_in(request, "page") or 1)
    context = {
        "figure": found,
        "value": value_words(found, values, member.person),
        "year": year,
        "days": shown.report.span.words(),
        "closed": shown.closed,
        "of_today": of_today,
        "heads": HEADS[found.behind],
        "rows": [
            (url, [as_words(cell, member.person) for cell in cells])
            for url, cells in rows_behind(member, found.behind, shown_page.object_list)
        ],
        "shown": shown_page,
        "back": reverse("report-year", args=[slug, year]),
    }
    return page(request, "report_rows.html", context)


def _figure(shown: ShownYear, key: str, of_today: bool) -> tuple[Figure, dict[str, int]]:
    report = shown.known_now if of_today and shown.known_now is not None else shown.report
    found = report.figures.get(key)
    if found is None:
        raise Http404("The report has no such figure.")
    return found, report.values if of_today else {**report.values, **shown.values}


def _csv(member: Membership, figure: Figure, numbers: Sequence[int], name: str) -> HttpResponse:
    lines = [
        [as_csv(cell) for cell in cells]
        for start in range(0, len(numbers), 500)
        for _, cells in rows_behind(member, figure.behind, numbers[start : start + 500])
    ]
    return csv_response(name, HEADS[figure.behind], lines)

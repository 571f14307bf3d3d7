"""The committee's report: a growing year's figures, their definitions, and closing the year."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.models import Membership
from lifecycle.permissions import can, require
from lifecycle.records.people import audit
from lifecycle.records.refusal import Refused
from lifecycle.records.year.closing import close_year
from lifecycle.records.year.report_figure import Figure, Section
from lifecycle.web.csv_file import csv_response
from lifecycle.web.door import enter, page, refused_page
from lifecycle.web.year.report_words import NOT_KNOWN, value_words
from lifecycle.web.year.report_year import Calendar, ShownYear, calendar_of, shown_year


@require_safe
def report(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the report of the last complete growing year."""
    member = enter(request, slug, "report.read")
    now = timezone.now()
    calendar = calendar_of(member, now)
    return _shown(request, member, calendar, calendar.usual, now)


@require_http_methods(["GET", "HEAD", "POST"])
def report_year(request: HttpRequest, slug: str, year: int) -> HttpResponse:
    """Show the report of a growing year, give it as CSV, or close it."""
    member = enter(request, slug, "report.read")
    now = timezone.now()
    if request.method == "POST":
        return _close(request, member, year, now)
    calendar = calendar_of(member, now)
    if request.GET.get("as") == "csv":
        return _csv(request, member, shown_year(member, calendar, year, now), now)
    return _shown(request, member, calendar, year, now)


def _shown(
    request: HttpRequest, member: Membership, calendar: Calendar, year: int, now: datetime
) -> HttpResponse:
    shown = shown_year(member, calendar, year, now)
    may_close = can(member, "report.close") and shown.over and shown.closed is None
    context = {
        "year": year,
        "days": shown.report.span.words(),
        "site": calendar.years.site,
        "shown": shown,
        "sections": [_section(section, shown, member) for section in shown.report.sections],
        "known_since": [
            (
                figure,
                value_words(figure, shown.values, member.person),
                value_words(figure, _now_values(shown), member.person),
                reverse("report-rows", args=[member.garden.slug, year, figure.key]),
            )
            for figure, _, _ in shown.known_since
        ],
        "others": [each for each in reversed(calendar.known) if each != year],
        "address": reverse("report-year", args=[member.garden.slug, year]),
        "may_close": may_close,
        "closing": may_close and request.GET.get("close") == "1",
        "today": calendar.today,
        "closed_on": (
            calendar.years.local_day(shown.closed.as_of) if shown.closed is not None else None
        ),
    }
    return page(request, "report.html", context)


def _now_values(shown: ShownYear) -> dict[str, int]:
    return shown.known_now.values if shown.known_now is not None else {}


def _section(section: Section, shown: ShownYear, member: Membership) -> dict[str, Any]:
    return {
        "section": section,
        "figures": [_row(figure, shown, member) for figure in section.figures],
        "meanings": [figure for figure in section.figures if figure.meaning],
    }


def _row(figure: Figure, shown: ShownYear, member: Membership) -> dict[str, str]:
    year = shown.report.span.year
    return {
        "label": figure.label,
        "url": (
            reverse("report-rows", args=[member.garden.slug, year, figure.key])
            if figure.rows is not None
            else ""
        ),
        "value": value_words(figure, shown.values, member.person),
        "before": (
            NOT_KNOWN if shown.before is None else value_words(figure, shown.before, member.person)
        ),
    }


def _csv(request: HttpRequest, member: Membership, shown: ShownYear, now: datetime) -> HttpResponse:
    year = shown.report.span.year
    if request.method == "GET":
        audit.note(member, "report_seen", now=now, year=year)
    before = shown.before or {}
    lines = [
        (
            section.title,
            figure.label,
            shown.values.get(figure.key, ""),
            before.get(figure.key, ""),
            figure.unit,
            figure.meaning or section.meaning,
        )
        for section in shown.report.sections
        for figure in section.figures
    ]
    heads = ("part", "figure", str(year), str(year - 1), "unit", "definition")
    return csv_response(f"{member.garden.slug}-report-{year}", heads, lines)


def _close(request: HttpRequest, member: Membership, year: int, now: datetime) -> HttpResponse:
    require(member, "report.close")
    back = reverse("report-year", args=[member.garden.slug, year])
    if request.POST.get("act") != "close":
        return redirect(back)
    try:
        close_year(member, year, now=now)
    except Refused as refusal:
        report_page = reverse("report", args=[member.garden.slug])
        return refused_page(
            request, str(refusal), back=report_page, back_label="Report of the year"
        )
    return redirect(back)

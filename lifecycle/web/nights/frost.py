"""Frost: the coming nights of every site, what came of the past ones, and the rule in force."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.frost_night import Ratios
from lifecycle.care.frost_policy import (
    Curve,
    CurvePoint,
    Suggestion,
    Tally,
    ratios_of,
    suggestion,
)
from lifecycle.care.frost_words import chance_words, likelihood, ratio_words
from lifecycle.care.policy import SETTINGS, Policy
from lifecycle.care.wording import degrees
from lifecycle.models import FrostNight, Membership, Person, Site
from lifecycle.permissions import can
from lifecycle.records.nights.frost_curve import curve_of, is_missing, ratios_in_force
from lifecycle.reminders.nights.frost_record import lows_of, tally_of, was_called
from lifecycle.reminders.nights.frost_watch import work_out_curve
from lifecycle.web.door import enter, page, rows, site_or_404
from lifecycle.web.words import counted, long_day

PAST_SHOWN = 60
State = FrostNight.State


@dataclass(frozen=True, slots=True)
class NightRow:
    """One line of the list."""

    url: str
    day: str
    words: str


@dataclass(frozen=True, slots=True)
class SiteRecord:
    """A site with its nights, its counts, and what each rule costs on its record."""

    site: Site
    coming: tuple[NightRow, ...]
    past: tuple[NightRow, ...]
    tally: Tally
    counted: int
    ratios: Ratios
    kill_rule: str
    harm_rule: str
    curve: tuple[Mapping[str, str | bool], ...]
    years: str
    suggested: str
    missing: bool


@require_http_methods(["GET", "HEAD", "POST"])
def frost(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the record of every site of the garden; work out what each rule costs at one."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "frost.lead")
    now = timezone.now()
    if request.method == "POST":
        text = request.POST.get("site", "")
        number = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
        work_out_curve(site_or_404(member, number), now)
        return redirect("frost", slug)
    sites = list(rows(Site, member).order_by("pk"))
    records = [_record(member, site, now) for site in sites]
    context = {
        "heading": _heading(sites, member, now),
        "records": records,
        "may_choose": can(member, "site.edit"),
        "shown": PAST_SHOWN,
    }
    return page(request, "frost.html", context)


def _heading(sites: list[Site], member: Membership, now: datetime) -> str:
    tonight = [
        night
        for night in rows(FrostNight, member).filter(state=State.CALLED).select_related("site")
        if night.night == night.site.local_day(now)
    ]
    if not sites:
        return "No site yet, and no frost nights"
    if tonight:
        names = sorted({night.site.name for night in tonight})
        return f"Frost is called tonight: {', '.join(names)}"
    return "No frost is called tonight"


def _record(member: Membership, site: Site, now: datetime) -> SiteRecord:
    person, slug = member.person, member.garden.slug
    today = site.local_day(now)
    nights = list(rows(FrostNight, member).filter(site=site).order_by("-night"))
    lows = lows_of(nights)
    past = [night for night in nights if night.night < today]
    coming = sorted((night for night in nights if night.night >= today), key=lambda row: row.night)
    tally = tally_of(past, lows)
    ratios, curve = ratios_in_force(site), curve_of(site)
    changed = suggestion(ratios.kill, curve, tally)
    return SiteRecord(
        site=site,
        coming=tuple(_row(night, slug, coming_words(night, person)) for night in coming),
        past=tuple(
            _row(night, slug, past_words(night, lows.get(night.pk), person))
            for night in past[:PAST_SHOWN]
        ),
        tally=tally,
        counted=tally.calls + tally.missed + tally.quiet,
        ratios=ratios,
        kill_rule=ratio_words(ratios.kill),
        harm_rule=ratio_words(ratios.harm),
        curve=() if curve is None else tuple(_cells(curve, each, ratios) for each in curve.points),
        years="" if curve is None else counted(round(curve.years), "year"),
        suggested="" if changed is None or curve is None else suggested_words(changed, curve),
        missing=is_missing(site),
    )


def _row(night: FrostNight, slug: str, words: str) -> NightRow:
    url = reverse("frost-night", args=[slug, night.site_id, night.night.isoformat()])
    return NightRow(url, long_day(night.night), words)


def coming_words(night: FrostNight, person: Person) -> str:
    """Return where a coming night stands: its state, the low to expect and the chances."""
    low = degrees(night.expected_c, person.temperature)
    chances = (
        f"likely lowest {low}; killing {chance_words(night.kill_chance)}, "
        f"frost {chance_words(night.harm_chance)}"
    )
    state = {
        State.POSSIBLE: likelihood(night.harm_chance),
        State.CALLED: "Called",
        State.NOT_NEEDED: "Not needed, a coordinator says",
        State.CANCELLED: "Called off",
    }.get(State(night.state), "No frost to fear")
    old = "; the forecast is old" if night.stale else ""
    return f"{state}; {chances}{old}"


def past_words(night: FrostNight, low_c: float | None, person: Person) -> str:
    """Return what was said of a past night and what it brought."""
    if was_called(night):
        said = "Called"
    elif night.dismissed_by_id:
        said = "Not needed, said a coordinator"
    elif night.called_at is not None:
        said = "Called off"
    else:
        said = "Not called"
    low = "lowest not known" if low_c is None else f"lowest {degrees(low_c, person.temperature)}"
    harm = f"; {night.get_harm_display().lower()}" if night.harm else ""
    return f"{said}; {low}{harm}"


def _cells(curve: Curve, point: CurvePoint, ratios: Ratios) -> Mapping[str, str | bool]:
    return {
        "rule": ratio_words(point.ratio),
        "in_force": curve.at(ratios.kill) == point,
        "evenings": per_year(point.calls, curve),
        "nothing": per_year(point.for_nothing, curve),
        "caught": f"{point.caught} of {point.killing}",
        "missed": str(point.missed),
    }


def per_year(number: int, curve: Curve) -> str:
    """Return a count of the whole record as so many a year."""
    return f"{number / curve.years:.1f}".removesuffix(".0")


def suggested_words(changed: Suggestion, curve: Curve) -> str:
    """Return a suggestion in words, with what it costs and brings."""
    now, then = changed.now, changed.then
    return (
        f"{changed.why} On this record acting from {ratio_words(then.ratio)} would have missed "
        f"{then.missed} of {then.killing} killing nights instead of {now.missed}, with "
        f"{per_year(then.calls, curve)} evenings a year instead of {per_year(now.calls, curve)}."
    )


def costs_of(curve: Curve | None) -> Mapping[str, str]:
    """Return what each choice of ``frost_kill`` would have cost on a site's record, in words."""
    if curve is None or not curve.points:
        return {}
    return {
        choice.value: _cost_words(curve, ratios_of(Policy((("frost_kill", choice.value),)), curve))
        for choice in SETTINGS["frost_kill"].choices
    }


def _cost_words(curve: Curve, ratios: Ratios) -> str:
    point = curve.at(ratios.kill)
    if point is None:
        return ""
    return (
        f" On this site’s record: from {ratio_words(point.ratio)}, {per_year(point.calls, curve)} "
        f"evenings a year, {point.missed} of {point.killing} killing nights missed."
    )

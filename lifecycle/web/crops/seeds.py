"""Seeds: lots by age with what to expect of them, tests, and how many to sow."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.agronomy.seed_test import SeedAge, Standing
from lifecycle.care.policy import Policy
from lifecycle.care.seed_advice import LotAdvice, SeedTest, lot_advice, room_c, seeds_wanted
from lifecycle.care.wording import in_units
from lifecycle.handbook import SOURCES, Crop, fact
from lifecycle.models import GerminationTest, SeedLot
from lifecycle.records.crops.seeds import add_lot, latest_tests, still_counts, test_lot
from lifecycle.records.ground.settings import policy_in_force
from lifecycle.reminders.work.bed_planning import crop_of
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    first_site,
    form_page,
    garden_day,
    page,
    rows,
)
from lifecycle.web.forms.seeds import GerminationForm, LotForm, WantedForm

_AGES = {
    SeedAge.FRESH: "Packed this year",
    SeedAge.WITHIN: "Within its life",
    SeedAge.LAST_YEAR: "Last year of its life",
    SeedAge.PAST: "Past its life",
    None: "Age not known",
}
_STANDINGS = {
    Standing.MEETS: "meets the standard",
    Standing.MAY_BE_BELOW: "may be below the standard",
    Standing.BELOW: "below the standard",
}


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot as the page shows it; ``to_sow`` is "" until somebody asks."""

    lot: SeedLot
    crop: str
    age: str
    advice: LotAdvice
    tested: str
    source: str
    to_sow: str


@require_safe
def seeds(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the garden's seed lots, oldest first, and how much of each to sow."""
    member = enter(request, slug)
    site = first_site(member.garden)
    today = garden_day(site, timezone.now())
    policy = policy_in_force(site) if site is not None else Policy()
    asked = {"plants", "soil_c"} & set(request.GET)
    wanted = WantedForm(member, request.GET if asked else None, initial={"soil_c": room_c()})
    typed = wanted.cleaned_data if asked and wanted.is_valid() else {}
    lots = list(
        rows(SeedLot, member)
        .select_related("variety", "saved_from")
        .order_by("packed_year", "variety__name", "name", "pk")
    )
    tests = latest_tests(lot.pk for lot in lots)
    context = {
        "lots": [_row(lot, tests.get(lot.pk), typed, today, policy) for lot in lots],
        "wanted": wanted,
        "asked": bool(typed.get("plants")),
        "today": today,
        "site": site,
        "standard_source": SOURCES["cfr_germ"],
        "saved": request.GET.get("saved") == "1",
        "bad_form": wanted if asked and wanted.errors else None,
    }
    return page(request, "seeds.html", context)


def _row(
    lot: SeedLot,
    test: GerminationTest | None,
    typed: dict[str, Any],
    today: date,
    policy: Policy,
) -> LotRow:
    crop = crop_of(lot.variety)
    found = (
        SeedTest(test.sprouted, test.sown, test.tested_on, still_counts(test, today))
        if test is not None
        else None
    )
    packed = lot.packed_year if lot.packed_year is None else min(lot.packed_year, today.year)
    advice = lot_advice(crop, packed, found, today.year, policy)
    return LotRow(
        lot,
        crop.label,
        _AGES[advice.age],
        advice,
        _tested(test, advice),
        SOURCES.get(advice.source, ""),
        _to_sow(crop, advice, typed),
    )


def _tested(test: GerminationTest | None, advice: LotAdvice) -> str:
    if test is None:
        return ""
    said = f"{test.sprouted} of {test.sown} sprouted ({test.share:.0%})"
    if advice.interval is not None:
        said += f", so {advice.interval.low:.0%} to {advice.interval.high:.0%} of the lot"
    if advice.standing is not None and advice.standard is not None:
        said += f"; {_STANDINGS[advice.standing]} of {advice.standard:.0%}"
    return said


def _to_sow(crop: Crop, advice: LotAdvice, typed: dict[str, Any]) -> str:
    if not typed.get("plants"):
        return ""
    soil = typed["soil_c"] if typed.get("soil_c") is not None else room_c()
    viable = 1.0 if advice.share is None else advice.share
    try:
        number = seeds_wanted(crop, typed["plants"], soil, viable)
    except ValueError as problem:
        return str(problem)
    return "Nothing would come up." if number is None else f"Sow {number}."


@require_http_methods(["GET", "HEAD", "POST"])
def add_lot_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a lot of seed."""
    member = enter(request, slug, "plant.add")
    today = garden_day(first_site(member.garden), timezone.now())
    form = LotForm(member, today.year, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: add_lot(member, today=today, **form.cleaned_data))
        if made is not None:
            return _back(slug)
    return form_page(
        request,
        form,
        heading="Add a seed lot",
        button="Add the lot",
        back=reverse("seeds", args=[slug]),
        back_label="Seeds",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def test_lot_page(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Record a germination test of a lot."""
    member = enter(request, slug, "plant.add")
    lot = get_object_or_404(rows(SeedLot, member).select_related("variety"), pk=pk)
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    form = GerminationForm(today, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form, lambda: test_lot(member, lot, today=today, now=now, **form.cleaned_data)
        )
        if made is not None:
            after_write(made[1], now)
            return _back(slug)
    return form_page(
        request,
        form,
        heading=f"Test {lot.variety}, lot {lot}",
        lead=in_units(_how(), member.person.temperature),
        button="Save the test",
        back=reverse("seeds", args=[slug]),
        back_label="Seeds",
    )


def _how() -> str:
    warmth = fact("old_seed.towel_warmth")
    return (
        f"Roll {fact('old_seed.towel_seeds').value:.0f} seeds into a damp paper towel, keep it in "
        f"a bag at {{{warmth.si:.2f} C}} to {{{warmth.si_high:.2f} C}}, and count what has "
        "sprouted after two weeks."
    )


def _back(slug: str) -> HttpResponse:
    return redirect(f"{reverse('seeds', args=[slug])}?saved=1")

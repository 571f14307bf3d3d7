"""Why a step stands where it does: its numbers at this site, its source, and what could move it."""

from datetime import date
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.policy import SETTINGS, Policy, Setting
from lifecycle.care.site_dates import MonthDay, SiteDates
from lifecycle.care.steps import Step
from lifecycle.handbook import CAUTIONS, SOURCES
from lifecycle.models import Membership, Person, Task
from lifecycle.reminders.work.planning import ClimateInUse, climate_of, plan_under
from lifecycle.web import charts
from lifecycle.web.crops.records import Record
from lifecycle.web.door import enter, page, plant_or_404, record_url, rows, sowing_or_404
from lifecycle.web.words import both_units, month_day_words

Identity = tuple[str, int, int]
_KEY_OF_SOURCE = {title: key for key, title in SOURCES.items()}


@require_safe
def why_plant(
    request: HttpRequest, slug: str, code: str, kind: str, year: int, number: int
) -> HttpResponse:
    """Show why a step of a plant is due when it is."""
    member = enter(request, slug)
    return _why(request, member, plant_or_404(member, code), (kind, year, number))


@require_safe
def why_sowing(
    request: HttpRequest, slug: str, code: str, kind: str, year: int, number: int
) -> HttpResponse:
    """Show why a step of a sowing is due when it is."""
    member = enter(request, slug)
    return _why(request, member, sowing_or_404(member, code), (kind, year, number))


def _why(
    request: HttpRequest, member: Membership, record: Record, identity: Identity
) -> HttpResponse:
    if identity[0] not in STEP_RULES:
        raise Http404("There is no such step.")
    now = timezone.now()
    today = record.site.local_day(now)
    climate = climate_of(record.site)
    steps = plan_under(climate, record, today)
    step = next((each for each in steps if each.identity == identity), None)
    if step is None or climate.dates is None:
        return _no_longer(request, member, record, identity, today)
    context = {
        "record": record,
        "record_url": record_url(record, member.garden.slug),
        "rule": STEP_RULES[step.kind],
        "step": step,
        "today": today,
        "site": record.site,
        "basis": climate.basis,
        "numbers": _numbers(climate.dates, member.person),
        "settings": _settings(step, climate.dates.policy),
        "source_key": _KEY_OF_SOURCE.get(step.source, ""),
        "cautions": [CAUTIONS[key] for key in STEP_RULES[step.kind].cautions],
        **_chart(climate, record, step, today),
    }
    return page(request, "why.html", context)


def _no_longer(
    request: HttpRequest, member: Membership, record: Record, identity: Identity, today: date
) -> HttpResponse:
    """Show a step the plan no longer has by what its task said; unknown without a task."""
    owner = {"sowing" if record._meta.model_name == "sowing" else "plant": record}
    kind, year, number = identity
    task = rows(Task, member).filter(kind=kind, growing_year=year, number=number, **owner).first()
    if task is None:
        raise Http404("The plan does not have this step.")
    context = {
        "record": record,
        "record_url": record_url(record, member.garden.slug),
        "rule": STEP_RULES[kind],
        "task": task,
        "today": today,
        "site": record.site,
    }
    return page(request, "why.html", context)


def _chart(climate: ClimateInUse, record: Record, step: Step, today: date) -> dict[str, Any]:
    if climate.summary is None or climate.summary.curve_c[0] is None:
        return {}
    drawn = charts.nights_chart(climate.summary, record.site.year_starts_in, today, step.window)
    return {"chart": drawn}


def _settings(step: Step, policy: Policy) -> list[dict[str, Any]]:
    """Return the settings that could change the step: in force, and what others say."""
    if not step.setting:
        return []
    keys = (step.setting, *SETTINGS[step.setting].beside)
    return [_setting(SETTINGS[key], policy.of(key)) for key in keys]


def _setting(setting: Setting, chosen: str) -> dict[str, Any]:
    return {
        "key": setting.key,
        "question": setting.question,
        "effect": setting.effect,
        "choices": [
            (each.label, SOURCES[each.source], each.value == chosen) for each in setting.choices
        ],
    }


def _numbers(dates: SiteDates, person: Person) -> list[tuple[str, str]]:
    """Return the dates of the site that plans hang on, in words; those it does not have go."""
    found = [
        ("Hardiness zone", dates.half_zone),
        ("Mean coldest night", _warmth(dates.extreme_min_c, person)),
        ("Nights average 50 °F (10 °C) from", _day(dates.mild_from, always=dates.always_mild)),
        ("Nights average 50 °F (10 °C) until", _day(dates.mild_until)),
        ("Nights average 55 °F (12.8 °C) from", _day(dates.warm_from, always=dates.always_warm)),
        ("Nights average 55 °F (12.8 °C) until", _day(dates.warm_until)),
        ("Last freeze, the middle year", _day(dates.last_freeze_middle)),
        ("Last freeze, one year in ten later than", _day(dates.last_freeze_risk)),
        ("First freeze, one year in ten earlier than", _day(dates.first_freeze_risk)),
        ("First freeze, the middle year", _day(dates.first_freeze_middle)),
        ("Winters that bring a freeze", f"{dates.freeze_share:.0%}"),
    ]
    return [(name, value) for name, value in found if value]


def _day(day: MonthDay | None, *, always: bool = False) -> str:
    if always:
        return "all year"
    return month_day_words(f"{day[0]:02d}-{day[1]:02d}") if day else ""


def _warmth(value_c: float | None, person: Person) -> str:
    return both_units(value_c, person) if value_c is not None else ""


def why_url(record: Record, slug: str, step: Step | Task) -> str:
    """Return the address that says why a step, or a task made of one, stands where it does."""
    name = "why-sowing" if record._meta.model_name == "sowing" else "why-plant"
    return reverse(name, args=[slug, record.code, step.kind, step.growing_year, step.number])

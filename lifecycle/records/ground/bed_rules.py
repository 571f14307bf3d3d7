"""Bed rules of a site and of single beds: set by whoever leads, and read as the plan reads them."""

from datetime import datetime
from typing import Any

from django.db import transaction

from lifecycle.care.bed_rules import BedRules
from lifecycle.care.site_dates import MonthDay
from lifecycle.models import Membership, Place, Site
from lifecycle.models.sites import BedRules as RuleColumns
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.people import audit
from lifecycle.records.refusal import Refused

_DAYS_IN = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def as_rules(row: RuleColumns) -> BedRules:
    """Return the rules that stand in a site's or a place's row, as the plan reads them."""
    day = None
    if row.clear_month is not None and row.clear_day is not None:
        day = row.clear_month, row.clear_day
    return BedRules(day, row.perennials_in_ground, row.plots_kept)


def set_site_rules(actor: Membership, site: Site, rules: BedRules, *, now: datetime) -> int:
    """Set the rules of all beds of a site that have none of their own.

    Returns how many plants and sowings will be planned anew; the rules in force set again change
    nothing. Raises Refused for a day that does not come every year.
    """
    require(actor, "bed.rules")
    _own(actor, site.garden_id)
    check_rules(rules)
    with transaction.atomic():
        row = Site.objects.select_for_update(no_key=True).get(pk=site.pk)
        if as_rules(row) == rules:
            return 0
        columns = _columns(rules)
        _write(row, columns)
        audit.note(actor, "rules_changed", now=now, site=site.pk, **columns)
        return ledger.plan_again(site=site)


def set_bed_rules(actor: Membership, place: Place, rules: BedRules | None, *, now: datetime) -> int:
    """Give a bed rules of its own; None: those of its site hold there.

    Returns and raises as ``set_site_rules`` does, and refuses what is not a bed.
    """
    require(actor, "bed.rules")
    _own(actor, place.garden_id)
    if place.in_pots:
        raise Refused(f"{place} is not a bed: its plants stand in pots, which no bed rule is for.")
    if rules is not None:
        check_rules(rules)
    with transaction.atomic():
        locked = Place.objects.select_for_update(of=("self",), no_key=True)
        row = locked.select_related("site").get(pk=place.pk)
        before = as_rules(row) if row.own_rules else None
        if before == rules:
            return 0
        columns: dict[str, Any] = {"own_rules": rules is not None}
        if rules is not None:
            columns |= _columns(rules)
        _write(row, columns)
        audit.note(actor, "rules_changed", now=now, place=place.pk, **columns)
        return ledger.plan_again(place=place)


def _columns(rules: BedRules) -> dict[str, Any]:
    month, day = rules.clear_by or (None, None)
    return {
        "clear_month": month,
        "clear_day": day,
        "perennials_in_ground": rules.perennials_in_ground,
        "plots_kept": rules.plots_kept,
    }


def _write(row: Site | Place, columns: dict[str, Any]) -> None:
    for name, value in columns.items():
        setattr(row, name, value)
    row.save(update_fields=list(columns))


def check_rules(rules: BedRules) -> BedRules:
    """Return rules that can be; raises Refused for a day that does not come every year."""
    if rules.clear_by is not None:
        _check_day(rules.clear_by)
    return rules


def _check_day(day: MonthDay) -> None:
    month, number = day
    if day == (2, 29):
        raise Refused("29 February comes once in four years. Give 28 February.", "clear_by")
    if not (1 <= month <= 12 and 1 <= number <= _DAYS_IN[month - 1]):
        raise Refused("Give a day of the year, such as 15 October.", "clear_by")


def _own(actor: Membership, garden_id: int) -> None:
    if garden_id != actor.garden_id:
        raise Refused("That does not belong to this garden.")

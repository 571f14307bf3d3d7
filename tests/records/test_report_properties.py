"""Figures of random records, worked out by two routes that share no code."""

from collections import Counter
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from lifecycle.life.fold import ImpossibleEntry, fold
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Membership, Plant, Role, Strike
from lifecycle.records.crops.ledger import facts_by_record
from lifecycle.records.refusal import Refused
from lifecycle.records.year.report import Report, report_now
from lifecycle.records.year.report_plants import BEGINNINGS, PlantRecord
from lifecycle.records.year.report_years import years_of
from tests.factories import MembershipFactory, PlaceFactory, SiteFactory, a_plant
from tests.records.report_world import at, logged

FIRST = date(2024, 1, 1)
NOW = datetime(2027, 1, 20, tzinfo=UTC)
KINDS = (
    *(Kind.WATERED, Kind.PICKED, Kind.FIRST_GROWTH, Kind.FIRST_FLOWER, Kind.GONE_TO_REST),
    *(Kind.WOKEN, Kind.DAMAGE, Kind.ENDED, Kind.CUT_BACK, Kind.NOTE),
)
CHOICES = {Kind.DAMAGE: "frost", Kind.ENDED: "died"}

DAYS = st.integers(0, 1095).map(lambda number: FIRST + timedelta(number))
PLANTS = st.lists(
    st.tuples(DAYS, st.lists(st.tuples(DAYS, st.sampled_from(KINDS)), max_size=8)),
    min_size=1,
    max_size=4,
)
STAYS = st.lists(st.tuples(DAYS, st.none() | st.integers(0, 800)), max_size=6)
MONTHS = st.sampled_from([1, 4, 7, 10])


@pytest.mark.database
class TwoRoutes(TestCase):
    """One random garden an example."""

    @settings(max_examples=15, suppress_health_check=list(HealthCheck), deadline=None)
    @given(plants=PLANTS, stays=STAYS, month=MONTHS)
    def test_figures_agree(self, plants: list, stays: list, month: int) -> None:
        keeper = MembershipFactory(role=Role.OWNER, joined_on=FIRST)
        garden = keeper.garden
        site = SiteFactory(garden=garden, year_starts_in=month)
        bed = PlaceFactory(site=site)
        for began, entries in plants:
            plant = a_plant(keeper, bed, happened_on=began, now=at(began))
            for day, kind in sorted(entries):
                _try(keeper, plant, kind, day)
        for joined, stayed in stays:
            left = None if stayed is None else joined + timedelta(stayed)
            MembershipFactory(garden=garden, joined_on=joined, left_on=left)
        years, record = years_of(garden), PlantRecord(garden.pk)
        reports = [report_now(garden, year, years, record, now=NOW) for year in range(2023, 2028)]
        for report in reports:
            _balances(report)
            _counts_entries(report, garden.pk)
            _counts_lives(report, garden.pk)
            _counts_members(report, garden.pk)
        for before, after in pairwise(reports):
            assert before.values["plants-end"] == after.values["plants-start"]
            assert before.values["members-end"] == after.values["members-start"]


def _try(keeper: Membership, plant: Plant, kind: Kind, day: date) -> None:
    try:
        entry = logged(keeper, plant, kind, day, choice=CHOICES.get(kind, ""))
    except Refused:
        return
    if kind is Kind.WATERED and day.day % 3 == 0:
        Strike.objects.create(garden_id=plant.garden_id, entry=entry, by=keeper.person, at=at(day))


def _balances(report: Report) -> None:
    values = report.values
    added = sum(values[f"added-{kind}"] for kind in BEGINNINGS)
    ended = sum(values[key] for key in ("ended-died", "ended-removed", "ended-given_away"))
    assert values["plants-start"] + added - ended == values["plants-end"]
    joined, left = values["members-joined"], values["members-left"]
    assert values["members-start"] + joined - left == values["members-end"]
    assert values["beds-held"] + values["beds-common"] + values["beds-empty"] == values["beds-all"]


def _counts_entries(report: Report, garden: int) -> None:
    standing = Entry.objects.standing().filter(garden=garden)
    days = (report.span.first, report.span.last)
    found = Counter(standing.filter(happened_on__range=days).values_list("kind", flat=True))
    shown = {
        key.removeprefix("entries-"): value
        for key, value in report.values.items()
        if key.startswith("entries-")
    }
    assert shown == found


def _counts_lives(report: Report, garden: int) -> None:
    """The same counts from the whole fold of every plant up to a day."""
    facts = facts_by_record(
        "plant", Plant.objects.filter(garden=garden).values_list("pk", flat=True)
    )

    def alive(last: date) -> int:
        number = 0
        for own in facts.values():
            try:
                life = fold("plant", [fact for fact in own if fact.happened_on <= last])
            except ImpossibleEntry as problem:
                raise AssertionError(str(problem)) from problem
            number += life is not None and life.alive
        return number

    assert alive(report.span.first - timedelta(1)) == report.values["plants-start"]
    assert alive(report.span.last) == report.values["plants-end"]


def _counts_members(report: Report, garden: int) -> None:
    """The same count day by day: a person belongs from the day of joining to that of leaving."""
    stays = list(Membership.objects.filter(garden=garden).values_list("joined_on", "left_on"))
    here = sum(
        joined <= report.span.last and not (left is not None and left <= report.span.last)
        for joined, left in stays
    )
    assert here == report.values["members-end"]

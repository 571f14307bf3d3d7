"""Harvest given away and one's own hours: logged once, struck by who may, refused in a sentence."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import GivenAway, WorkHours
from lifecycle.records.refusal import Refused
from lifecycle.records.year.giving import give, grams_by_receiver, may_strike_given, strike_given
from lifecycle.records.year.hours import log_hours, strike_hours
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
LATER = NOON + timedelta(hours=1)
DAY = timedelta(1)


def given(world: World, who: Any = None, **more: Any) -> GivenAway:
    wanted: dict[str, Any] = {
        "uuid": uuid4(),
        "site": world.site,
        "given_on": TODAY,
        "grams": 1250.4,
        "to": "food_bank",
        "species": "annuum",
        "note": "",
        "now": NOON,
        **more,
    }
    return give(who or world.member, **wanted)


def test_harvest_given_is_logged_in_whole_grams(world: World) -> None:
    row = given(world, note="  to the   kitchen ")
    assert (row.grams, row.to, row.species, row.note) == (
        1250,
        "food_bank",
        "annuum",
        "to the kitchen",
    )
    assert (row.by, row.at) == (world.member.person, NOON)


def test_the_same_form_twice_is_one(world: World) -> None:
    once = uuid4()
    assert given(world, uuid=once) == given(world, uuid=once, grams=9.0)
    with pytest.raises(Refused, match="already used"):
        given(world, world.owner, uuid=once)
    assert GivenAway.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"grams": 0.4}, "grams"),
        ({"grams": 1_000_001.0}, "grams"),
        ({"to": "shop"}, "to"),
        ({"species": "mango"}, "species"),
        ({"given_on": TODAY + DAY}, "given_on"),
        ({"given_on": date(1949, 12, 31)}, "given_on"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_what_cannot_be_given(world: World, wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as refused:
        given(world, **wrong)
    assert refused.value.field == field


def test_a_site_elsewhere_is_refused(world: World) -> None:
    with pytest.raises(Refused, match="does not belong"):
        given(world, site=SiteFactory())


def test_the_author_or_a_coordinator_strikes_once(world: World) -> None:
    row, another = given(world), MembershipFactory(garden=world.garden)
    for who in (another, world.committee):
        assert not may_strike_given(who, row)
        with pytest.raises(PermissionDenied):
            strike_given(who, row, now=LATER)
    struck = strike_given(world.member, row, now=LATER)
    again = strike_given(world.coordinator, row, now=LATER + DAY)
    assert (struck.struck_at, again.struck_by) == (LATER, world.member.person)
    assert strike_given(world.coordinator, given(world), now=LATER).struck_at == LATER
    with pytest.raises(Refused, match="does not belong"):
        strike_given(MembershipFactory(role="owner"), row, now=LATER)


def test_totals_leave_out_what_was_struck(world: World) -> None:
    given(world, grams=100.0)
    given(world, grams=50.0)
    given(world, grams=7.0, to="other")
    strike_given(world.member, given(world, grams=900.0), now=LATER)
    rows = GivenAway.objects.filter(garden=world.garden)
    assert grams_by_receiver(rows) == {"food_bank": 150, "other": 7}


def test_who_only_reads_gives_nothing(world: World) -> None:
    with pytest.raises(PermissionDenied):
        given(world, world.committee)


# --- hours -----------------------------------------------------------------------------------


@pytest.fixture
def ledger(world: World) -> World:
    world.garden.hours_ledger = True
    world.garden.save(update_fields=["hours_ledger"])
    return world


def hours(world: World, who: Any = None, uuid: UUID | None = None, **more: Any) -> WorkHours:
    wanted: dict[str, Any] = {
        "worked_on": TODAY,
        "minutes": 90,
        "what": "Paths",
        "now": NOON,
        **more,
    }
    return log_hours(who or world.member, uuid=uuid or uuid4(), **wanted)


def test_a_garden_keeps_no_hours_until_an_owner_says_so(world: World) -> None:
    assert not world.garden.hours_ledger
    with pytest.raises(Refused, match="keeps no hours"):
        hours(world)
    assert not WorkHours.objects.exists()


def test_hours_are_set_down_once_and_struck_by_their_own_person(ledger: World) -> None:
    once = uuid4()
    row = hours(ledger, uuid=once)
    assert hours(ledger, uuid=once) == row
    assert (row.person, row.minutes, row.what) == (ledger.member.person, 90, "Paths")
    with pytest.raises(Refused, match="not yours"):
        strike_hours(ledger.owner, row, now=LATER)
    with pytest.raises(Refused, match="already used"):
        hours(ledger, ledger.owner, uuid=once)
    assert strike_hours(ledger.member, row, now=LATER).struck_at == LATER
    assert strike_hours(ledger.member, row, now=LATER + DAY).struck_at == LATER


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"minutes": 0}, "minutes"),
        ({"minutes": 1441}, "minutes"),
        ({"worked_on": TODAY + DAY}, "worked_on"),
        ({"worked_on": date(1949, 1, 1)}, "worked_on"),
        ({"what": "x" * 101}, "what"),
    ],
)
def test_hours_that_cannot_be(ledger: World, wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as refused:
        hours(ledger, **wrong)
    assert refused.value.field == field


def test_who_only_reads_keeps_no_hours(ledger: World) -> None:
    with pytest.raises(PermissionDenied):
        hours(ledger, ledger.committee)

"""The rota: who sees it, who takes and changes turns, and how gaps are named."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import OnCallTurn
from lifecycle.records.nights.rota import Stretch, change, gaps, join, leave, on_call
from lifecycle.records.nights.rota_days import days_away, days_served
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory
from tests.records.weeks import is_away
from tests.reminders.frost_nights import a_night, a_turn

pytestmark = pytest.mark.django_db
SignIn = Callable[[object], Client]
TODAY = NOON.date()
MONDAY, SUNDAY = date(2026, 10, 12), date(2026, 10, 18)
DAY = timedelta(1)


def days(first: date, last: date, **more: Any) -> dict[str, Any]:
    return {"first_day": first, "last_day": last, "wakes": False, "now": NOON, **more}


def form(world: World, first: str, last: str, **more: str) -> dict[str, Any]:
    given = {"site": world.site.pk, "first_day": first, "last_day": last, **more}
    return {f"turn-{name}": value for name, value in given.items()}


# --- the verbs -------------------------------------------------------------------------------


def test_a_member_goes_on_call_for_themselves(world: World) -> None:
    turn = join(world.member, world.site, **days(TODAY, SUNDAY, wakes=True))
    assert (turn.person, turn.position, turn.wakes) == (world.member.person, 1, True)
    assert on_call(world.site, TODAY) == [turn]
    assert on_call(world.site, SUNDAY) == [turn]
    assert on_call(world.site, SUNDAY + DAY) == on_call(world.site, TODAY - DAY) == []


def test_who_comes_later_is_asked_later(world: World) -> None:
    first = join(world.member, world.site, **days(TODAY, SUNDAY))
    second = join(world.owner, world.site, **days(TODAY, SUNDAY))
    assert [first.position, second.position] == [1, 2]
    change(world.coordinator, first, **days(TODAY, SUNDAY, position=3))
    assert [turn.pk for turn in on_call(world.site, TODAY)] == [second.pk, first.pk]


def test_only_coordinators_put_others_on_call_and_never_to_be_woken(world: World) -> None:
    who = world.owner.person
    with pytest.raises(Exception, match="Ask a coordinator"):
        join(world.member, world.site, **days(TODAY, SUNDAY, person=who))
    turn = join(world.coordinator, world.site, **days(TODAY, SUNDAY, person=who, wakes=True))
    assert not turn.wakes
    changed = change(world.coordinator, turn, **days(TODAY, SUNDAY, wakes=True))
    assert not changed.wakes
    assert change(world.owner, turn, **days(TODAY, SUNDAY, wakes=True)).wakes


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (TODAY, TODAY - DAY, "lies before"),
        (TODAY - 2 * DAY, TODAY - DAY, "are over"),
        (TODAY, TODAY + 366 * DAY, "a year at most"),
        (TODAY + 401 * DAY, TODAY + 401 * DAY, "too far ahead"),
    ],
)
def test_days_that_make_no_turn(world: World, first: date, last: date, words: str) -> None:
    with pytest.raises(Refused, match=words):
        join(world.member, world.site, **days(first, last))


@pytest.mark.parametrize(
    ("first", "last"), [(TODAY, TODAY), (TODAY, TODAY + 365 * DAY), (TODAY + 400 * DAY,) * 2]
)
def test_days_that_just_make_one(world: World, first: date, last: date) -> None:
    assert join(world.member, world.site, **days(first, last)).first_day == first


def test_nobody_is_on_call_twice_for_a_night(world: World) -> None:
    turn = join(world.member, world.site, **days(TODAY, SUNDAY))
    with pytest.raises(Refused, match="on call from 14 to 18 October already"):
        join(world.member, world.site, **days(SUNDAY, SUNDAY + DAY))
    later = join(world.member, world.site, **days(SUNDAY + DAY, SUNDAY + 2 * DAY))
    with pytest.raises(Refused, match="already"):
        change(world.member, later, **days(SUNDAY, SUNDAY + 2 * DAY))
    change(world.member, turn, **days(TODAY, SUNDAY - DAY))
    join(world.member, SiteFactory(garden=world.garden), **days(TODAY, SUNDAY))


@pytest.mark.parametrize("role", ["committee", "outsider"])
def test_who_may_not_act_is_not_put_on_call(world: World, role: str) -> None:
    who = world.committee.person if role == "committee" else world.outsider
    with pytest.raises(Refused, match="cannot be on call"):
        join(world.coordinator, world.site, **days(TODAY, SUNDAY, person=who))


def test_a_site_elsewhere_is_refused(world: World) -> None:
    with pytest.raises(Refused, match="does not belong"):
        join(world.member, SiteFactory(), **days(TODAY, SUNDAY))


@pytest.mark.parametrize(
    ("first", "left"),
    [(TODAY + DAY, None), (TODAY, None), (TODAY - DAY, (TODAY - DAY, TODAY - DAY))],
)
def test_leaving_keeps_the_days_that_were_served(
    world: World, first: date, left: tuple[date, date] | None
) -> None:
    turn = a_turn(world.site, world.member.person, first_day=first, last_day=SUNDAY)
    leave(world.member, turn, now=NOON)
    assert OnCallTurn.objects.values_list("first_day", "last_day").first() == left


def test_a_past_turn_stays_as_it_was(world: World) -> None:
    turn = a_turn(world.site, world.member.person, last_day=TODAY - DAY)
    leave(world.member, turn, now=NOON)
    turn.refresh_from_db()
    assert turn.last_day == TODAY - DAY


def test_who_left_the_garden_is_not_on_call(world: World) -> None:
    a_turn(world.site, world.member.person)
    a_turn(world.site, world.committee.person)
    a_turn(world.site, world.outsider)
    assert [turn.person for turn in on_call(world.site, TODAY)] == [world.member.person]
    world.member.person.is_active = False
    world.member.person.save()
    assert on_call(world.site, TODAY) == []


@pytest.mark.parametrize(
    ("turns", "found"),
    [
        ([], [(0, 6)]),
        ([(0, 6)], []),
        ([(-3, 9)], []),
        ([(0, 2)], [(3, 6)]),
        ([(2, 3)], [(0, 1), (4, 6)]),
        ([(4, 6), (0, 1)], [(2, 3)]),
        ([(0, 4), (1, 2), (6, 8)], [(5, 5)]),
        ([(8, 9)], [(0, 6)]),
    ],
)
def test_gaps(turns: list[tuple[int, int]], found: list[tuple[int, int]]) -> None:
    served = [Stretch(MONDAY + a * DAY, MONDAY + b * DAY) for a, b in turns]
    wanted = [Stretch(MONDAY + a * DAY, MONDAY + b * DAY) for a, b in found]
    assert gaps(served, MONDAY, SUNDAY) == wanted


@pytest.mark.parametrize(
    ("away", "served", "gone"),
    [
        ([], [(0, 6)], []),
        ([(-9, -1), (7, 9)], [(0, 6)], []),
        ([(2, 3)], [(0, 1), (4, 6)], [(2, 3)]),
        ([(5, 9), (-3, 0)], [(1, 4)], [(0, 0), (5, 6)]),
        ([(-3, 9)], [], [(0, 6)]),
        ([(0, 2), (3, 6)], [], [(0, 2), (3, 6)]),
    ],
)
def test_days_away_are_not_served(
    away: list[tuple[int, int]], served: list[tuple[int, int]], gone: list[tuple[int, int]]
) -> None:
    turn = OnCallTurn(person_id=7, first_day=MONDAY, last_day=SUNDAY)
    days = {7: [(MONDAY + a * DAY, MONDAY + b * DAY) for a, b in away], 8: [(MONDAY, SUNDAY)]}

    def stretches(pairs: list[tuple[int, int]]) -> list[Stretch]:
        return [Stretch(MONDAY + a * DAY, MONDAY + b * DAY) for a, b in pairs]

    assert days_served([turn], days) == stretches(served)
    assert days_away(turn, Stretch(MONDAY, SUNDAY), days) == stretches(gone)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (date(2026, 11, 3), date(2026, 11, 9), "3 to 9 November"),
        (date(2026, 10, 30), date(2026, 11, 2), "30 October to 2 November"),
        (date(2026, 11, 3), date(2026, 11, 3), "3 November"),
        (date(2026, 12, 30), date(2027, 1, 2), "30 December to 2 January 2027"),
        (date(2026, 11, 3), date(2027, 11, 9), "3 November to 9 November 2027"),
    ],
)
def test_a_stretch_in_words(first: date, last: date, words: str) -> None:
    assert Stretch(first, last).words(TODAY) == words


# --- the page --------------------------------------------------------------------------------


def test_the_page_says_first_who_is_on_call_this_week(world: World, as_person: SignIn) -> None:
    a_turn(world.site, world.member.person, first_day=MONDAY, last_day=SUNDAY, wakes=True)
    text = as_person(world.committee).get(f"{world.address}rota").content.decode()
    assert "<h1>On call this week: Member</h1>" in text
    assert "This week, 12 to 18 October" in text
    assert "The whole week; may be woken" in text
    assert "Nobody is on call from 19 to 25 October." in text
    assert "9 to 15 November" in text
    assert "16 to 22 November" not in text
    assert "at most once a night and twice a month" in text


def test_gaps_of_days_that_are_over_are_not_named(world: World, as_person: SignIn) -> None:
    a_turn(world.site, world.member.person, first_day=date(2026, 10, 16))
    text = as_person(world.member).get(f"{world.address}rota").content.decode()
    assert "Nobody is on call from 14 to 15 October." in text
    assert "16 to 18 October" in text


def test_who_is_away_is_said_and_leaves_a_gap(world: World, as_person: SignIn) -> None:
    a_turn(world.site, world.member.person, first_day=MONDAY, last_day=SUNDAY + 7 * DAY)
    is_away(world.member, date(2026, 10, 16), date(2026, 10, 25))
    page = f"{world.address}rota"
    text = as_person(world.committee).get(page).content.decode()
    assert "<h1>On call this week: Member</h1>" in text
    assert "The whole week; <strong>away 16 to 18 October</strong>" in text
    assert "Nobody is on call from 16 to 18 October." in text
    assert "The whole week; <strong>away 19 to 25 October</strong>" in text
    assert "Nobody is on call from 19 to 25 October." in text
    a_night(world.site)
    lead = as_person(world.coordinator).get(f"{world.address}coordinate").content.decode()
    assert "Nobody is on call at Canal bank, 16 to 20 October" in lead
    is_away(world.member, MONDAY, date(2026, 10, 15))
    text = as_person(world.committee).get(page).content.decode()
    assert "<h1>Nobody is on call this week</h1>" in text


def test_nobody_on_call_is_the_verdict(world: World, as_person: SignIn) -> None:
    text = as_person(world.member).get(f"{world.address}rota").content.decode()
    assert "<h1>Nobody is on call this week</h1>" in text


def test_a_member_takes_a_turn_changes_and_leaves_it(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)
    rota = f"{world.address}rota"
    given = form(world, "2026-10-14", "2026-10-18", wakes="on")
    assert client.post(rota, given).status_code == 302
    turn = OnCallTurn.objects.get()
    assert (turn.person, turn.wakes) == (world.member.person, True)
    assert client.get(f"{rota}/{turn.pk}").status_code == 200
    given = {"first_day": "2026-10-15", "last_day": "2026-10-18"}
    assert client.post(f"{rota}/{turn.pk}", given).status_code == 302
    turn.refresh_from_db()
    assert (turn.first_day, turn.wakes) == (date(2026, 10, 15), False)
    assert client.post(f"{rota}/{turn.pk}", {"act": "leave"}).status_code == 302
    assert not OnCallTurn.objects.exists()


def test_a_coordinator_puts_a_member_on_call_and_orders_them(
    world: World, as_person: SignIn
) -> None:
    client = as_person(world.coordinator)
    given = form(world, "2026-10-14", "2026-10-18", person=str(world.member.person_id), wakes="on")
    assert client.post(f"{world.address}rota", given).status_code == 302
    turn = OnCallTurn.objects.get()
    assert (turn.person, turn.wakes) == (world.member.person, False)
    given = {"first_day": "2026-10-14", "last_day": "2026-10-20", "position": "4"}
    assert client.post(f"{world.address}rota/{turn.pk}", given).status_code == 302
    turn.refresh_from_db()
    assert (turn.last_day, turn.position) == (date(2026, 10, 20), 4)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("2026-10-18", "2026-10-14", "The last day lies before the first"),
        ("soon", "2026-10-14", "The date was not understood"),
        ("", "", "give an answer"),
    ],
)
def test_a_refused_form_is_shown_again(
    world: World, as_person: SignIn, first: str, last: str, words: str
) -> None:
    answer = as_person(world.member).post(f"{world.address}rota", form(world, first, last))
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_roles(world: World, as_person: SignIn) -> None:
    turn = a_turn(world.site, world.owner.person)
    rota, one = f"{world.address}rota", f"{world.address}rota/{turn.pk}"
    expected = {
        "owner": (200, 422, 200),
        "coordinator": (200, 422, 200),
        "member": (200, 422, 403),
        "committee": (200, 403, 403),
    }
    for role, wanted in expected.items():
        client = as_person(getattr(world, role))
        got = (
            client.get(rota).status_code,
            client.post(rota, {}).status_code,
            client.get(one).status_code,
        )
        assert got == wanted, role
    outsider = as_person(world.outsider)
    assert {outsider.get(rota).status_code, outsider.get(one).status_code} == {404}
    assert Client().get(rota)["Location"].startswith("/sign-in")


def test_a_member_cannot_end_the_turn_of_another(world: World, as_person: SignIn) -> None:
    turn = a_turn(world.site, world.owner.person)
    answer = as_person(world.member).post(f"{world.address}rota/{turn.pk}", {"act": "leave"})
    assert answer.status_code == 403
    assert OnCallTurn.objects.filter(pk=turn.pk, last_day=turn.last_day).exists()


def test_a_turn_of_another_garden_is_not_there(world: World, as_person: SignIn) -> None:
    elsewhere = a_turn(SiteFactory(), world.outsider)
    assert as_person(world.owner).get(f"{world.address}rota/{elsewhere.pk}").status_code == 404


def test_the_page_costs_the_same_however_many_are_on_call(world: World, as_person: SignIn) -> None:
    client = as_person(world.member)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            client.get(f"{world.address}rota")
        return len(caught)

    a_turn(world.site, world.member.person)
    queries()
    few = queries()
    for _ in range(15):
        a_turn(world.site, MembershipFactory(garden=world.garden).person)
    assert queries() == few

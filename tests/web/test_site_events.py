"""Bad weather at a site: the list, the report, what to mind, the end and the mistake."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Plant, SiteEventRow
from lifecycle.web.ground.site_events import ADVICE, notices
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory

SignIn = Callable[..., Client]
TODAY = NOON.date()


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/events"


def report(**more: object) -> dict[str, object]:
    return {"weather": "heat", "began_on": "2026-10-10", **more}


def test_a_report_is_kept_said_and_planned_by(world: World, client: Client, page: str) -> None:
    assert "None on record." in client.get(page).content.decode()
    Plant.objects.update(planned_on=TODAY)
    answer = client.post(page, report(note="Thirty-eight degrees"), follow=True)
    text = answer.content.decode()
    assert "<h1>Heat wave at Canal bank</h1>" in text
    assert "All plants of Canal bank are planned again within minutes." in text
    assert "Thirty-eight degrees" in text
    assert "It lasts" in text
    assert Plant.objects.filter(planned_on=None).count() == 1
    assert "since 10 October; by Member" in client.get(page).content.decode()


@pytest.mark.parametrize(
    ("weather", "words"),
    [
        ("heat", "Look after people first"),
        ("hail", "Stay under a firm roof"),
        ("flood", "Do not eat raw what flood water touched. Discard soft fruit"),
        ("flood", "the local health office goes first"),
    ],
)
def test_each_weather_says_what_to_mind(
    client: Client, page: str, weather: str, words: str
) -> None:
    text = client.post(page, report(weather=weather), follow=True).content.decode()
    assert words in text
    assert "Common practice, no source." in text


def test_every_weather_has_its_advice() -> None:
    assert set(ADVICE) == set(SiteEventRow.Weather.values)


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"weather": "snow"}, "What befell the site: choose one from the list."),
        ({"began_on": ""}, "First day: give an answer."),
        ({"began_on": "2026-10-15"}, "is in the future at this site"),
        ({"began_on": "2026-01-01"}, "is too long ago to change the plan"),
        ({"ended_on": "2026-10-09"}, "It cannot have ended on 9 October 2026."),
        ({"note": "x" * 501}, "Note: keep it to 500 characters"),
        ({"note": "\x00"}, "Note: it holds a character nobody can read."),
    ],
)
def test_a_report_that_cannot_be_gets_a_sentence(
    client: Client, page: str, more: dict, sentence: str
) -> None:
    answer = client.post(page, report(**more))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not SiteEventRow.objects.exists()


def test_it_is_ended_and_withdrawn(world: World, client: Client, page: str) -> None:
    client.post(page, report())
    event = SiteEventRow.objects.get()
    address = f"{page}/{event.pk}"
    bad = client.post(address, {"act": "end", "ended_on": "2026-10-01"})
    assert bad.status_code == 422
    assert "It cannot have ended on 1 October 2026." in bad.content.decode()
    text = client.post(address, {"act": "end", "ended_on": "2026-10-12"}, follow=True)
    assert "It is over" not in text.content.decode()
    again = client.post(address, {"act": "end", "ended_on": "2026-10-13"})
    assert "ended on 12 October 2026 already" in again.content.decode()
    why = client.post(address, {"act": "withdraw", "withdraw-reason": ""})
    assert "Why it is withdrawn: give an answer." in why.content.decode()
    gone = client.post(address, {"act": "withdraw", "withdraw-reason": "Next door"}, follow=True)
    text = gone.content.decode()
    assert "Withdrawn by Member on 14 October: Next door" in text
    assert "It was a mistake" not in text
    assert "withdrawn: Next door" in client.get(page).content.decode()
    assert client.post(address, {"act": "other"}).status_code == 200


def test_who_may_withdraw(world: World, client: Client, page: str, as_person: SignIn) -> None:
    client.post(page, report())
    address = f"{page}/{SiteEventRow.objects.get().pk}"
    other = as_person(MembershipFactory(garden=world.garden))
    assert "Only who reported it, or a coordinator" in other.get(address).content.decode()
    data = {"act": "withdraw", "withdraw-reason": "No"}
    assert other.post(address, data).status_code == 403
    assert as_person(world.committee).post(address, data).status_code == 403
    assert as_person(world.committee).post(page, report()).status_code == 403
    assert as_person(world.coordinator).post(address, data).status_code == 302


def test_an_event_belongs_to_its_site(world: World, client: Client, page: str) -> None:
    client.post(page, report())
    event = SiteEventRow.objects.get()
    away = SiteFactory(garden=world.garden)
    assert client.get(f"{world.address}sites/{away.pk}/events/{event.pk}").status_code == 404
    assert client.get(f"{page}/{event.pk + 1}").status_code == 404


def test_what_today_is_told(world: World, client: Client, page: str) -> None:
    client.post(page, report())
    client.post(page, report(weather="flood", began_on="2026-10-12", ended_on="2026-10-13"))
    client.post(page, report(weather="hail", began_on="2026-10-13"))
    told = notices(world.site, "northfield", TODAY)
    assert [each["words"] for each in told] == [
        "Heat wave at Canal bank, since 10 October",
        "Flood at Canal bank, 12 October to 13 October",
        "Hail at Canal bank, on 13 October",
    ]
    assert told[1]["advice"] == ADVICE["flood"]
    assert client.get(told[0]["address"]).status_code == 200
    assert len(notices(world.site, "northfield", TODAY + timedelta(20))) == 1


def test_the_list_costs_the_same_whatever_it_holds(world: World, client: Client, page: str) -> None:
    seen = []
    for number in (1, 20):
        for back in range(number):
            SiteEventRow.objects.create(
                garden=world.garden,
                site=world.site,
                weather="hail",
                began_on=TODAY - timedelta(100 * number + back),
                by=MembershipFactory(garden=world.garden).person,
            )
        with CaptureQueriesContext(connection) as queries:
            client.get(page)
        seen.append(len(queries))
    # Session, person, membership, site, events.
    assert seen == [5, 5]

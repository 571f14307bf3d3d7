"""The page of the week's work: ticked, given, proposed, taken back, published once."""

import re
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Chore, Message, Person, Publication, Task, WorkDraft
from lifecycle.records.work.week_work import week_of
from lifecycle.web.work.week import SINCE_CHANGED
from lifecycle.web.work.week_rows import week_page
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, SiteFactory, a_plant, a_task
from tests.records.weeks import (
    DAY,
    TODAY,
    a_chore_task,
    a_free_task,
    a_worker,
    held_by,
    is_away,
)
from tests.web.test_coordinate import SignIn


@pytest.fixture
def page(world: World, as_person: SignIn):
    """Return a way to read the page, and one to post to it, as the coordinator."""
    client = as_person(world.coordinator)
    address = f"{world.address}week"

    class Page:
        def text(self, query: str = "") -> str:
            answer = client.get(f"{address}{query}")
            assert answer.status_code == 200
            return answer.content.decode()

        def keys(self, query: str = "") -> list[str]:
            return re.findall(r'name="piece" value="([^"]+)"', self.text(query))

        def ticked(self, query: str) -> list[str]:
            return re.findall(r'name="piece" value="([^"]+)" checked', self.text(query))

        def post(self, act: str, *, follow: bool = False, **data: object):
            return client.post(address, {"act": act, **data}, follow=follow)

    return Page()


def test_work_is_drafted_and_published_with_one_message_each(world: World, page) -> None:
    first, second = a_free_task(world), a_free_task(world, "feed")
    text = page.text()
    assert "2 things have nobody" in text
    assert "There is nothing to send" not in text
    assert "No draft changes who does what" in text
    keys = page.keys()
    answer = page.post("give", piece=keys, to=world.member.person_id)
    assert answer.status_code == 302
    assert answer["Location"] == f"{world.address}week?drafted=2#work"
    assert "2 tasks drafted. Nobody is told before you publish." in page.text("?drafted=2")
    assert Message.objects.count() == 0
    assert "Send 1 person one message now" in page.text()
    answer = page.post("publish")
    made = Publication.objects.get()
    assert answer["Location"] == f"{world.address}week/{made.pk}"
    for task in (first, second):
        task.refresh_from_db()
        assert task.assignee == world.member.person
    assert Message.objects.filter(channel="email").count() == 1
    assert "There is nothing new to publish" in page.post("publish").content.decode()
    assert Publication.objects.count() == 1


def test_what_nobody_has_is_ticked_at_once(world: World, page) -> None:
    a_free_task(world)
    held_by(world.member.person, a_free_task(world, "feed"))
    assert len(page.ticked("")) == 0
    assert len(page.ticked("?pick=free")) == 1
    assert len(page.ticked("?pick=all")) == 2
    assert page.ticked("?pick=odd") == []


def test_a_proposal_is_drafted_and_explained(world: World, page) -> None:
    a_worker(world, "Ana", skills=["ladder"])
    a_chore_task(world, "Clean the gutter", skill="ladder", minutes=50)
    a_chore_task(world, "Lay out the hoses", skill="water", minutes=20)
    answer = page.post("propose")
    assert answer["Location"].startswith(f"{world.address}week?proposed=1&drafted=1")
    text = page.text("?proposed=1")
    assert "Ana, proposed" in text
    assert "The heaviest share is 50 minutes; it cannot be smaller" in text
    assert "1 thing, about 50 minutes; the only one for ladder work." in text
    assert "Lay out the hoses: nobody named the water main as something they do." in text


def test_who_got_much_by_hand_and_keeps_their_proposal_is_not_called_fair(
    world: World, page
) -> None:
    a_chore_task(world, "Mend the gate", minutes=45)
    a_chore_task(world, "Rake the leaves", minutes=45)
    page.post("propose")
    assert "The heaviest share is 45 minutes; it cannot be smaller" in page.text()
    big = a_chore_task(world, "Turn all compost", minutes=200)
    proposed = WorkDraft.objects.order_by("task").first()
    [key] = [each for each in page.keys("") if each.startswith(f"chore-{big.chore_id}-")]
    page.post("give", piece=[key], to=proposed.to_id)
    text = page.text()
    assert "cannot be smaller" not in text
    assert (
        "The proposal is out of date, since other work was given out after it: without it "
        f"{proposed.to} has 200 minutes already, and would still get more. Propose again."
    ) in text
    page.post("propose")
    text = page.text()
    assert "out of date" not in text
    assert "cannot be smaller" in text


def test_a_draft_is_changed_and_taken_back_by_hand(world: World, page) -> None:
    a_free_task(world)
    page.post("propose")
    [key] = page.keys()
    page.post("give", piece=[key], to=world.member.person_id)
    assert "<strong>Member</strong>" in page.text()
    [key] = page.keys()
    page.post("nobody", piece=[key])
    assert "Left to nobody" in page.text()
    page.post("drop")
    assert WorkDraft.objects.count() == 0


def test_each_goes_to_whoever_did_it_last(world: World, page) -> None:
    before, now = a_free_task(world, growing_year=2025), None
    Task.objects.filter(pk=before.pk).update(
        state="done", closed_by=world.owner.person, closed_at=before.made_at - 360 * DAY
    )
    now = a_task(before.plant, "cut_back")
    assert 'data-label="Last time">Owner<' in page.text()
    page.post("before", piece=page.keys())
    assert WorkDraft.objects.get().to == world.owner.person
    assert WorkDraft.objects.get().task == now


@pytest.mark.parametrize(
    ("act", "data", "sentence"),
    [
        ("give", {"piece": [], "to": "me"}, "Tick at least one piece of work first."),
        ("give", {"piece": ["first"]}, "Choose a person to give it to."),
        ("give", {"piece": ["first"], "to": "outsider"}, "Person: choose one from the list."),
        ("give", {"piece": ["first"], "to": "committee"}, "Person: choose one from the list."),
        ("give", {"piece": ["gone"], "to": "me"}, SINCE_CHANGED),
        ("nobody", {"piece": []}, "Tick at least one piece of work first."),
        ("before", {"piece": ["first"]}, "Nobody is known who did this before."),
        ("moon", {}, "This form was not understood."),
        ("", {}, "This form was not understood."),
    ],
)
def test_what_is_refused_says_why_and_keeps_the_ticks(
    world: World, page, act: str, data: dict[str, object], sentence: str
) -> None:
    a_free_task(world)
    [first] = page.keys()
    people = {
        "me": world.member.person_id,
        "outsider": world.outsider.pk,
        "committee": world.committee.person_id,
    }
    sent = {"piece": [first if each == "first" else each for each in data.get("piece", [])]}
    if "to" in data:
        sent["to"] = people[data["to"]]
    answer = page.post(act, **sent)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert sentence in text
    assert (f'value="{first}" checked' in text) is ("first" in data.get("piece", []))
    assert WorkDraft.objects.count() == 0


def test_nothing_to_share_is_refused(world: World, page) -> None:
    answer = page.post("propose")
    assert answer.status_code == 422
    assert "Everything of this week has somebody." in answer.content.decode()


def test_work_of_another_garden_is_neither_shown_nor_touched(world: World, page) -> None:
    other = MembershipFactory(role="owner")
    bed = PlaceFactory(site=SiteFactory(garden=other.garden))
    theirs = a_task(a_plant(other, bed, holder=None), "cut_back")
    assert page.keys() == []
    page.post("give", piece=[f"cut_back-0-{bed.pk}-0-0"], to=world.member.person_id)
    assert WorkDraft.objects.filter(task=theirs).count() == 0


def test_left_out_drafts_are_named(world: World, page) -> None:
    kept, done = a_free_task(world), a_free_task(world, "feed")
    page.post("give", piece=page.keys(), to=world.member.person_id)
    Task.objects.filter(pk=done.pk).update(
        state="done", closed_by=world.owner.person, closed_at=done.made_at
    )
    text = page.post("publish").content.decode()
    assert "Published, and 1 person is told." in text
    assert "Feed: Cayenne" in text
    assert "Done by Owner at 12:00." in text
    kept.refresh_from_db()
    assert kept.assignee == world.member.person


@pytest.mark.parametrize(
    ("role", "status"), [("member", 403), ("committee", 403), ("owner", 200), ("outsider", 404)]
)
def test_only_who_leads_shares_out(world: World, as_person: SignIn, role: str, status: int) -> None:
    client = as_person(getattr(world, role))
    assert client.get(f"{world.address}week").status_code == status
    a_free_task(world)
    answer = client.post(f"{world.address}week", {"act": "propose"})
    assert answer.status_code == (302 if status == 200 else status)


def test_the_rota_is_for_everybody_of_the_garden(world: World, as_person: SignIn, page) -> None:
    a_free_task(world)
    page.post("give", piece=page.keys(), to=world.member.person_id)
    rota = page.post("publish")["Location"]
    for who in (world.member, world.committee):
        text = as_person(who).get(rota).content.decode()
        assert "Work from 14 October to 20 October 2026" in text
        assert "<h2>Member</h2>" in text
        assert "Cut back: Cayenne" in text
    assert as_person(world.outsider).get(rota).status_code == 404
    assert as_person(world.member).post(rota).status_code == 405


def test_a_later_publication_shows_the_whole_week(world: World, page, as_person: SignIn) -> None:
    a_free_task(world)
    page.post("give", piece=page.keys(), to=world.member.person_id)
    page.post("publish")
    a_free_task(world, "feed")
    free = page.ticked("?pick=free")
    page.post("give", piece=free, to=world.owner.person_id)
    rota = page.post("publish")["Location"]
    text = as_person(world.member).get(rota).content.decode()
    assert "<h2>Member</h2>" in text
    assert "<h2>Owner</h2>" in text


def test_who_is_quiet_is_said(world: World, page) -> None:
    person = world.member.person
    person.last_seen_on = TODAY - 8 * DAY
    person.save()
    assert "8 days ago, quiet this week" in page.text()
    person.last_seen_on = TODAY
    person.save()
    assert ">today<" in page.text()


@pytest.mark.parametrize(
    ("zone", "at", "seen", "words"),
    [
        # In Auckland the morning of the 15th is the 14th by UTC.
        ("Pacific/Auckland", NOON, TODAY, "today"),
        ("Pacific/Auckland", NOON, TODAY - DAY, "2 days ago"),
        # In Denver the evening of the 13th is the 14th by UTC.
        ("America/Denver", NOON - timedelta(hours=9), TODAY, "today"),
        ("America/Denver", NOON - timedelta(hours=9), TODAY - DAY, "today"),
        ("America/Denver", NOON - timedelta(hours=9), TODAY - 2 * DAY, "yesterday"),
    ],
)
def test_who_is_here_now_is_here_today(
    world: World, as_person: SignIn, zone: str, at: datetime, seen: date, words: str
) -> None:
    world.site.time_zone = zone
    world.site.save()
    Person.objects.filter(pk=world.member.person_id).update(last_seen_on=seen)
    week = week_of(world.garden, now=at)
    rows = week_page(week, "", (), explain=False, utc_day=at.astimezone(UTC).date()).people
    assert {row.name: row.seen for row in rows}["Member"] == words


def test_what_speaks_against_a_draft_is_said_beside_it(world: World, page) -> None:
    birgit = a_worker(world, "Birgit", minutes_a_week=60)
    chore = a_chore_task(world, "Clear the gutter", skill="ladder", minutes=90, latest=TODAY)
    page.post("give", piece=page.keys(), to=birgit.person_id)
    told = "Birgit has not named ladder work; offers 60 minutes a week and would have 90."
    assert told in page.text()
    is_away(birgit, TODAY, TODAY + 2 * DAY)
    assert "Birgit has not named ladder work; is away 14 to 16 October; offers" in page.text()
    page.post("publish")
    chore.refresh_from_db()
    assert chore.assignee == birgit.person
    assert "has not named" not in page.text()


def test_nothing_speaks_against_who_can(world: World, page) -> None:
    ana = a_worker(world, "Ana", skills=["ladder"], minutes_a_week=90)
    is_away(ana, TODAY, TODAY)
    a_chore_task(world, "Clear the gutter", skill="ladder", minutes=90)
    page.post("give", piece=page.keys(), to=ana.person_id)
    text = page.text()
    assert "<strong>Ana</strong></td>" in text


def test_days_and_the_time_of_day_are_said_in_full(world: World, page) -> None:
    task = a_chore_task(world, "Open the gate")
    Chore.objects.filter(pk=task.chore_id).update(at_time=time(10))
    bed = PlaceFactory(site=world.site, name="Bed of two")
    for latest in (TODAY + 3 * DAY, TODAY + 5 * DAY):
        a_free_task(world, "winter_check", bed=bed, latest=latest)
    text = page.text()
    assert "due now, by 17 October, at 10:00<" in text
    assert "by 17 October, the last by 19 October<" in text
    page.post("give", piece=page.keys(), to=world.member.person_id)
    rota = page.post("publish", follow=True).content.decode()
    assert "17 October, at 10:00" in rota
    assert "Bed of two, by 17 October, the last by 19 October" in rota


def test_places_of_one_name_say_their_site(world: World, page) -> None:
    other = SiteFactory(garden=world.garden, name="Mill Lane")
    a_free_task(world, bed=PlaceFactory(site=world.site, name="Bed 7"))
    a_free_task(world, bed=PlaceFactory(site=other, name="bed 7"))
    a_free_task(world, bed=PlaceFactory(site=other, name="Bed 8"))
    text = page.text()
    for where in ("Bed 7, Canal bank", "bed 7, Mill Lane", "Bed 8"):
        assert f'data-label="Where">{where}<' in text
    page.post("give", piece=page.keys(), to=world.member.person_id)
    rota = page.post("publish", follow=True).content.decode()
    for where in ("Bed 7, Canal bank, ", "bed 7, Mill Lane, ", ">Bed 8, "):
        assert where in rota


def test_the_way_to_propose_and_publish_is_at_the_top(world: World, page) -> None:
    a_free_task(world)
    page.post("give", piece=page.keys(), to=world.member.person_id)
    text = page.text()
    top = text[: text.index("<table")]
    assert 'value="propose">Propose fair shares<' in top
    assert 'value="publish">Send 1 person one message now<' in top
    for target in ("give", "people"):
        assert f'href="#{target}"' in top
        assert f'id="{target}"' in text


def test_the_queries_do_not_grow(world: World, page) -> None:
    def queries(number: int) -> int:
        for _ in range(number):
            a_free_task(world)
            a_chore_task(world)
            held_by(a_worker(world, "Somebody").person, a_free_task(world, "feed"))
        page.post("propose")
        with CaptureQueriesContext(connection) as found:
            page.text()
        return len(found)

    assert queries(2) == queries(10)

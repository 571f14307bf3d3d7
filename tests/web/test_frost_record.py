"""The record of frost nights, what Today says of them, and the covers of a site."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.demo.weather import InventedClimate, daily_csv
from lifecycle.models import DayReading, FrostBed, FrostNight, GardenCover, WeatherRecord
from lifecycle.records.ground.settings import choose, policy_in_force
from lifecycle.records.nights.covers import add_cover
from lifecycle.records.nights.frost_curve import curve_of
from lifecycle.records.weather.weather import add_record
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory
from tests.records.frosts import NIGHT, a_bed, a_night

SignIn = Callable[..., Client]

CURVE = {
    "years": 30,
    "points": [
        {"ratio": ratio, "calls": calls, "caught": caught, "missed": 40 - caught}
        for ratio, calls, caught in (
            (0.2, 60, 30),
            (0.1, 90, 36),
            (0.05, 150, 39),
            (0.02, 300, 40),
        )
    ],
    "keeping": [[10, 0.1], [20, 0.06], [50, 0.02], [100, 0.02]],
}


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def record(world: World) -> str:
    return f"{world.address}frost"


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


def past(world: World, ago: int, low: float | None, **more) -> FrostNight:
    """A night that is over, with the low its morning read."""
    night = NIGHT - timedelta(ago)
    given = {"state": "over", "called_at": None, "forecast": None, **more}
    if low is not None:
        DayReading.objects.create(
            garden=world.garden, site=world.site, day=night + timedelta(1), tmin_c=low, at=NOON
        )
    return a_night(world, night, **given)


def give_curve(world: World) -> None:
    WeatherRecord.objects.create(
        garden=world.garden,
        site=world.site,
        name="Station",
        source_gz=b"",
        climate={"frost_curve": CURVE},
        added_at=NOON,
    )


def test_a_garden_of_which_nothing_is_known(client, record) -> None:
    text = text_of(client, record)
    assert "<h1>No frost is called tonight</h1>" in text
    assert "Nothing is judged: no forecast is known, or nothing stands out" in text
    assert "from a chance of 1 in 20 that plants are killed, and of 1 in 5 that they are" in text
    assert "What each rule costs here is not known" in text
    assert "the low of no past night is on record" in text


def test_a_garden_without_ground(db, as_person) -> None:
    member = MembershipFactory(role="owner")
    text = text_of(as_person(member), f"/g/{member.garden.slug}/frost")
    assert "No site yet, and no frost nights" in text


def test_coming_nights_with_their_state_and_chances(world, client, record) -> None:
    a_night(world)
    states = ("possible", "quiet", "cancelled")
    for ahead, state in enumerate(states, 1):
        a_night(world, NIGHT + timedelta(ahead), state=state, stale=state == "possible")
    text = text_of(client, record)
    assert "<h1>Frost is called tonight: Canal bank</h1>" in text
    assert "Wednesday 14 October" in text
    assert "Called; likely lowest −1 °C; killing 7 in 10, frost 9 in 10" in text
    assert "Frost likely; likely lowest −1 °C; killing 7 in 10, frost 9 in 10; the forecast" in text
    assert "No frost to fear; " in text
    assert "Called off; " in text
    assert f"{record}/{world.site.pk}/2026-10-15" in text


def test_calls_against_what_happened(world, client, record) -> None:
    called = {"called_at": NOON}
    past(world, 2, -1.0, **called)
    past(world, 3, 0.0, **called, harm="some")
    past(world, 4, 0.1, **called)
    past(world, 5, -0.5)
    past(world, 6, 4.0)
    past(world, 7, None, **called)
    past(world, 8, 3.0, **called, called_off_at=NOON)
    past(world, 9, 5.0, **called, called_off_at=NOON, dismissed_by=world.owner.person)
    # What somebody said goes before the thermometer.
    past(world, 10, 3.0, **called, lowest_c=-2.0)
    text = text_of(client, record)
    assert "8 nights whose low is known" in text
    assert 'Called</th><td role="cell">3</td><td role="cell">1</td>' in text
    assert 'Not called</th><td role="cell">1</td><td role="cell">3</td>' in text
    assert "4 nights called, 1 of them for nothing; 1 killing night not called." in text
    for words in (
        "Called; lowest 0 °C; some harmed",
        "Called; lowest not known",
        "Called off; lowest 3 °C",
        "Not needed, said a coordinator; lowest 5 °C",
        "Not called; lowest −0.5 °C",
        "Called; lowest −2 °C",
    ):
        assert words in text, words


def test_what_each_rule_costs_and_a_suggestion_that_changes_nothing(world, client, record) -> None:
    give_curve(world)
    choose(world.owner, world.site, "frost_kill", "10", now=NOON)
    text = text_of(client, record)
    assert "in 30 years on this site’s record" in text
    assert "1 in 10, in force" in text
    assert "1 in 20</th>" in text
    assert (
        "Killing nights are missed. On this record acting from 1 in 20 would have missed 1 of 40 "
        "killing nights instead of 4, with 5 evenings a year instead of 3." in text
    )
    assert f'sites/{world.site.pk}/settings#frost_kill">Change it here' in text
    assert policy_in_force(world.site).of("frost_kill") == "10"
    choose(world.owner, world.site, "frost_kill", "20", now=NOON)
    assert "On this record acting" not in text_of(client, record)


def test_missing_one_in_so_many_follows_the_curve(world, client, record) -> None:
    choose(world.owner, world.site, "frost_kill", "miss_100", now=NOON)
    assert "from a chance of 1 in 20 that" in text_of(client, record)
    give_curve(world)
    assert "from a chance of 1 in 50 that" in text_of(client, record)


def test_the_settings_say_what_each_choice_would_have_cost(world, client) -> None:
    address = f"{world.address}sites/{world.site.pk}/settings"
    assert "On this site’s record: from" not in text_of(client, address)
    give_curve(world)
    text = text_of(client, address)
    assert "from 1 in 20, 5 evenings a year, 1 of 40 killing nights missed." in text
    assert text.count("On this site’s record: from") == 9


def test_what_each_rule_costs_is_worked_out_when_asked(world, client, record) -> None:
    data = daily_csv(InventedClimate(-2.6, 19.0, 6.1, 11.5, False, 7), 2025)
    add_record(world.owner, world.site, name="Station", data=data, units="C", now=NOON)
    assert "What each rule costs here is not worked out yet." in text_of(client, record)
    assert client.post(record, {"site": world.site.pk}).status_code == 302
    text = text_of(client, record)
    assert "What each rule would have cost and caught in 30 years" in text
    curve = curve_of(world.site)
    assert curve is not None
    assert {1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100} <= {point.ratio for point in curve.points}
    missed = [point.missed for point in curve.points]
    assert missed == sorted(missed, reverse=True)
    for nights, ratio in curve.keeping:
        point = curve.at(ratio)
        assert point.missed * nights <= point.killing
    for wrong in ("", "x", "999999"):
        assert client.post(record, {"site": wrong}).status_code == 404


def test_only_coordinators_have_it_worked_out(world, record, as_person) -> None:
    for role in ("member", "committee"):
        assert as_person(getattr(world, role)).post(record, {}).status_code == 403


def test_choosing_when_to_act_plans_nothing_anew(world) -> None:
    assert choose(world.owner, world.site, "frost_kill", "50", now=NOON) == 0
    assert choose(world.owner, world.site, "frost_harm", "10", now=NOON) == 0


def test_as_many_queries_for_many_nights(world, client, record) -> None:
    give_curve(world)
    past(world, 1, 1.0)
    with CaptureQueriesContext(connection) as few:
        client.get(record)
    for ago in range(2, 30):
        past(world, ago, float(ago))
    with CaptureQueriesContext(connection) as many:
        client.get(record)
    assert len(many) == len(few)


def test_today_says_it_first(world, client) -> None:
    a_bed(a_night(world), world.bed)
    text = text_of(client, world.address)
    assert "<h1>Wednesday 14 October: frost tonight, nothing is due for you</h1>" in text
    assert "<h2>Frost tonight: cover by 17:00</h2>" in text
    assert "Canal bank: Bed 3. Likely lowest −1 °C; plants are killed with a chance of 7" in text
    assert f'href="{world.address}frost/{world.site.pk}/2026-10-14">See what to cover' in text


def test_today_says_what_may_come_and_one_thing_only(world, client) -> None:
    coming = a_night(world, NIGHT + timedelta(2), state="possible", called_at=None)
    a_bed(coming, world.bed)
    text = text_of(client, world.address)
    assert "<h2>Frost likely on Friday 16 October</h2>" in text
    assert "frost tonight" not in text
    second = SiteFactory(garden=world.garden, name="Hill")
    a_night(world, site=second, forecast=None)
    text = text_of(client, world.address)
    assert text.count('class="act"') == 1
    assert "<h2>Frost tonight: cover by 17:00</h2>" in text
    assert "Hill. Likely lowest" in text


@pytest.mark.parametrize("state", ["quiet", "cancelled", "not_needed", "over"])
def test_today_is_silent_about_what_presses_nobody(world, client, state) -> None:
    a_bed(a_night(world, state=state), world.bed)
    assert 'class="act"' not in text_of(client, world.address)


def test_today_asks_to_uncover(world, client) -> None:
    bed = a_bed(a_night(world), world.bed, mark="done")
    with time_machine.travel(datetime(2026, 10, 15, 8, tzinfo=UTC), tick=False):
        text = text_of(client, world.address)
        assert "<h2>Uncover, and say what happened</h2>" in text
        assert "Canal bank: Bed 3. Plants cook under covers" in text
        FrostBed.objects.filter(pk=bed.pk).update(uncovered_at=NOON)
        assert 'class="act"' not in text_of(client, world.address)


def test_nights_of_another_garden_are_not_told(world, client) -> None:
    other = MembershipFactory(role="owner", person=world.coordinator.person)
    site = SiteFactory(garden=other.garden)
    FrostNight.objects.create(
        garden=other.garden, site=site, night=NIGHT, state="called", expected_c=-1, sd_c=1,
        kill_chance=1, harm_chance=1, kill_ratio=0.05, harm_ratio=0.2, judged_at=NOON,
    )  # fmt: skip
    assert 'class="act"' not in text_of(client, world.address)
    assert "No frost is called tonight" in text_of(client, f"{world.address}frost")


def test_more_leads_there(world, client) -> None:
    assert f'href="{world.address}frost"' in text_of(client, f"{world.address}more")


def covers_of(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/covers"


def test_covers_are_listed_added_changed_and_taken_off(world, client) -> None:
    address = covers_of(world)
    assert "<h1>No covers are on record at Canal bank</h1>" in text_of(client, address)
    given = {"protection": "cover_light", "pieces": "4", "area_m2": "6", "kept_in": "shed 2"}
    answer = client.post(address, given, follow=True)
    text = " ".join(unescape(answer.content.decode()).split())
    assert "Light row cover" in text
    assert "4 pieces of 6 m²; sure of 1 degrees C warmer in still air; kept in shed 2" in text
    assert "Saved." in text
    cover = GardenCover.objects.get()
    client.post(f"{address}/{cover.pk}", {**given, "pieces": "9"})
    cover.refresh_from_db()
    assert cover.pieces == 9
    assert client.post(f"{address}/{cover.pk}", {**given, "pieces": "0"}).status_code == 422
    client.post(f"{address}/{cover.pk}", {"act": "remove"})
    assert not GardenCover.objects.exists()


def test_lights_among_the_covers_bring_their_cautions(world, client) -> None:
    add_cover(world.owner, world.site, protection="lights", pieces=1, area_m2=1.0, kept_in="")
    assert "Light strings outdoors: made for outdoors" in text_of(client, covers_of(world))


@pytest.mark.parametrize("field", ["protection", "pieces", "area_m2", "kept_in"])
def test_what_cannot_be_a_cover_gets_a_sentence(world, client, field) -> None:
    given = {"protection": "cover_light", "pieces": "4", "area_m2": "6", "kept_in": "shed 2"}
    for wrong in ("\x00", "-1", "x" * 500):
        answer = client.post(covers_of(world), {**given, field: wrong})
        assert answer.status_code in ((422,) if field != "kept_in" else (302, 422))
    assert GardenCover.objects.count() <= 1


def test_only_coordinators_keep_the_list(world, as_person) -> None:
    cover = add_cover(
        world.owner, world.site, protection="blanket", pieces=1, area_m2=1.0, kept_in=""
    )
    for role in ("member", "committee"):
        client = as_person(getattr(world, role))
        text = text_of(client, covers_of(world))
        assert "An owner or a coordinator keeps this list." in text
        assert "<form" not in text.partition("<main")[2].partition("</main")[0]
        assert client.post(covers_of(world), {}).status_code == 403
        assert client.get(f"{covers_of(world)}/{cover.pk}").status_code == 403
    assert as_person(world.outsider).get(covers_of(world)).status_code == 404

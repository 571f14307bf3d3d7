"""Forecasts fetched from a service of the tests' own: good, wrong, slow, half, and too often."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from typing import Any

import httpx
import pytest

from lifecycle.models import FetchedForecast, ForecastSource, NightForecast
from lifecycle.reminders.weather import (
    forecast_fetch,
    forecasting,
)
from lifecycle.reminders.weather.forecasting import BACKOFF, fetch_all
from tests.conftest import World
from tests.factories import SiteFactory
from tests.reminders.forecast_server import (
    GRID,
    OPEN,
    POINT,
    Service,
    half,
    kept,
    reply,
    running,
    silent,
    trickling,
)
from tests.reminders.sources import JULY, MINUTE, OCTOBER, a_source, after, north, south

Kind = ForecastSource.Kind


@pytest.fixture
def service(settings: Any) -> Iterator[Service]:
    with running() as found:
        settings.GRIDPOINT_URL = settings.FORECAST_URL = found.address
        settings.FORECAST_CONTACT = "garden@northfield.example"
        found.answers = {
            POINT: point(f"{found.address}{GRID}"),
            GRID: kept("gridpoint.json"),
            OPEN: kept("open_hourly.json"),
        }
        yield found


def point(address: object) -> Any:
    body = {"properties": {"forecastGridData": address}}
    return reply(200, json.dumps(body).encode())


def test_a_gridpoint_is_asked_by_its_place_and_kept_as_issued(
    world: World, service: Service
) -> None:
    source = north(world)
    assert fetch_all(now=OCTOBER) == 6
    assert service.asked == ["/points/42.3,-93.1", GRID]
    assert set(service.agents) == {"lifecycle-garden/1 (garden@northfield.example)"}
    first = NightForecast.objects.order_by("night")[0]
    assert first.issued_at == datetime(2026, 10, 14, 18, 7, 50, tzinfo=UTC)
    assert (first.received_at, first.source, first.by) == (OCTOBER, "gridpoint", None)
    assert (first.low_c, first.lead_nights, first.wind_m_s) == (-1.67, 0, pytest.approx(1.0))
    assert (first.garden, first.site) == (world.garden, source.site)
    done = after(source)
    assert (done.tried_at, done.worked_at, done.failures, done.last_error) == (
        OCTOBER, OCTOBER, 0, "",
    )  # fmt: skip
    assert done.next_try_at == OCTOBER + timedelta(hours=1)


def test_an_open_forecast_is_asked_for_what_is_read(world: World, service: Service) -> None:
    south(world)
    assert fetch_all(now=JULY) == 4
    [asked] = service.asked
    for wanted in (
        "latitude=-27.3&longitude=153&",
        "hourly=temperature_2m,wind_speed_10m,cloud_cover,dew_point_2m&",
        "wind_speed_unit=ms&timezone=Australia/Brisbane&past_days=1&forecast_days=8",
    ):
        assert wanted in asked
    rows = NightForecast.objects.order_by("night")
    assert {row.issued_at for row in rows} == {JULY}
    assert [(row.night.day, row.low_c, row.lead_nights) for row in rows] == [
        (13, 4.0, -1), (14, 5.5, 0), (15, 7.0, 1), (16, 3.2, 2),
    ]  # fmt: skip


def test_nothing_is_asked_before_it_is_due_and_the_same_issue_is_kept_once(
    world: World, service: Service
) -> None:
    north(world)
    fetch_all(now=OCTOBER)
    assert fetch_all(now=OCTOBER + 59 * MINUTE) == 0
    assert len(service.asked) == 2
    # An hour later the place is still known, and the forecast is the same.
    assert fetch_all(now=OCTOBER + 60 * MINUTE) == 0
    assert service.asked[2:] == [GRID]
    assert NightForecast.objects.count() == 6


def test_two_gardens_at_one_place_make_one_fetch(world: World, service: Service) -> None:
    for _ in range(3):
        a_source(SiteFactory(latitude=42.2994, longitude=-93.1046, time_zone="UTC"), Kind.GRIDPOINT)
    south(world)
    a_source(
        SiteFactory(latitude=-27.301, longitude=153.004, time_zone="Australia/Brisbane"), Kind.DAILY
    )
    assert fetch_all(now=OCTOBER) == 3 * 6
    assert sorted(service.paths()) == [GRID, "/points/42.3,-93.1", OPEN]
    fetch_all(now=OCTOBER + 5 * MINUTE)
    assert len(service.asked) == 3


def test_typed_sources_are_never_asked(world: World, service: Service) -> None:
    a_source(world.site, Kind.TYPED)
    assert fetch_all(now=OCTOBER) == 0
    assert service.asked == []


@pytest.mark.parametrize(
    ("headers", "minutes"),
    [
        ({}, 60),
        ({"Cache_Control": "public, max-age=1800"}, 30),
        ({"Cache_Control": "s-maxage=5, max-age=1800"}, 30),
        ({"Cache_Control": "max-age=60"}, 10),
        ({"Cache_Control": "max-age=600"}, 10),
        ({"Cache_Control": "max-age=86400"}, 120),
        ({"Cache_Control": "no-cache"}, 10),
        ({"Cache_Control": "no-store, max-age=3600"}, 10),
        ({"Expires": format_datetime(OCTOBER + 45 * MINUTE, usegmt=True)}, 45),
        ({"Expires": format_datetime(OCTOBER - 45 * MINUTE, usegmt=True)}, 10),
        ({"Expires": "0"}, 60),
    ],
)
def test_an_answer_is_kept_as_long_as_it_says_within_bounds(
    world: World, service: Service, headers: dict[str, str], minutes: int
) -> None:
    service.answers[GRID] = kept("gridpoint.json", **headers)
    source = north(world)
    fetch_all(now=OCTOBER)
    assert after(source).next_try_at == OCTOBER + minutes * MINUTE


def test_an_unchanged_answer_is_not_sent_again(world: World, service: Service) -> None:
    seen = []

    def by_etag(handler: Any) -> None:
        seen.append(handler.headers.get("If-None-Match"))
        answer = kept("open_hourly.json", ETag='"a1"') if len(seen) == 1 else reply(304, b"")
        answer(handler)

    service.answers[OPEN] = by_etag
    source = south(world)
    assert fetch_all(now=JULY) == 4
    later = JULY + 60 * MINUTE
    # The service says that this is still its newest: it counts as told now.
    assert fetch_all(now=later) == 4
    assert seen == [None, '"a1"']
    assert after(source).worked_at == later
    assert NightForecast.objects.filter(issued_at=later).count() == 4


@pytest.mark.parametrize(
    ("path", "answer", "sentence"),
    [
        (GRID, reply(500, b"oops"), "The forecast service has a fault of its own (500)."),
        (GRID, reply(403, b""), "The forecast service refused to answer (403)."),
        (POINT, reply(404, b""), "The forecast service has no forecast for this place (404)."),
        (GRID, reply(503, b""), "The forecast service is not available now (503)."),
        (
            GRID,
            reply(429, b""),
            "The forecast service was asked too often and wants a pause (429).",
        ),
        (GRID, reply(204, b""), "The forecast service refused to answer (204)."),
        (GRID, reply(200, b"<html>"), "The answer is not JSON, or was cut off in the middle."),
        (GRID, reply(200, b"[]"), "The answer is JSON, but not a forecast: it is no object."),
        (GRID, reply(200, b"{}"), "The answer's “properties” is not an object."),
        (
            GRID,
            reply(200, b"not packed at all", Content_Encoding="gzip"),
            "broke off in the middle",
        ),
        (GRID, half(b'{"properties": {}}'), "broke off in the middle of its answer."),
        (GRID, reply(200, b" " * 2_200_000), "The answer is larger than 2 MB; a forecast is not."),
        (POINT, reply(200, b"{}"), "The answer's “properties” is not an object."),
        (POINT, point("http://localhost/x"), "sends us on to another host"),
        (POINT, point("https://elsewhere.example/gridpoints"), "sends us on to another host"),
        (POINT, point("file:///etc/passwd"), "sends us on to another host"),
        (POINT, point("//[bad"), "sends us on to another host"),
        (POINT, point(5), "“properties.forecastGridData” is not a text."),
        (GRID, reply(302, b"", Location="http://localhost/"), "sends us on to another host"),
        (GRID, reply(302, b"", Location=GRID), "The forecast service sends us on and on."),
    ],
)
def test_what_went_wrong_is_one_sentence_and_the_next_try_comes_later(
    world: World, service: Service, path: str, answer: Any, sentence: str
) -> None:
    service.answers[path] = answer
    source = north(world)
    assert fetch_all(now=OCTOBER) == 0
    failed = after(source)
    assert sentence in failed.last_error
    assert failed.last_error.endswith(".")
    assert (failed.failures, failed.worked_at, failed.tried_at) == (1, None, OCTOBER)
    assert failed.next_try_at == OCTOBER + MINUTE
    # What was wrong is not kept: put right, it works at the next try.
    service.answers |= {POINT: point(f"{service.address}{GRID}"), GRID: kept("gridpoint.json")}
    assert fetch_all(now=OCTOBER + MINUTE) == 6
    assert (after(source).failures, after(source).last_error) == (0, "")


def test_the_tries_become_rarer(world: World, service: Service) -> None:
    service.answers[GRID] = reply(500, b"")
    source, now = north(world), OCTOBER
    waits = []
    for _ in range(7):
        fetch_all(now=now)
        wait = after(source).next_try_at - now
        waits.append(wait / MINUTE)
        now += wait
    assert waits == [1, 5, 30, 60, 120, 120, 120]
    assert after(source).failures == 7
    assert [wait / MINUTE for wait in BACKOFF] == [1, 5, 30, 60, 120]


@pytest.mark.parametrize(
    ("status", "header", "minutes"),
    [
        (429, "600", 10),
        (503, "600", 10),
        (429, "30", 1),
        (429, "999999999", 24 * 60),
        (429, format_datetime(OCTOBER + 15 * MINUTE, usegmt=True), 15),
        (429, format_datetime(OCTOBER - 15 * MINUTE, usegmt=True), 1),
        (429, "soon", 1),
        (500, "600", 1),
    ],
)
def test_a_service_that_wants_a_pause_gets_it(
    world: World, service: Service, status: int, header: str, minutes: int
) -> None:
    service.answers[GRID] = reply(status, b"", Retry_After=header)
    source = north(world)
    fetch_all(now=OCTOBER)
    assert after(source).next_try_at == OCTOBER + minutes * MINUTE


def test_a_host_that_wants_a_pause_is_left_alone_for_all_sites(
    world: World, service: Service
) -> None:
    service.answers[POINT] = reply(429, b"", Retry_After="600")
    sources = [north(world), south(world)]
    fetch_all(now=OCTOBER)
    assert len(service.asked) == 1
    assert {after(source).next_try_at for source in sources} == {OCTOBER + 10 * MINUTE}


def test_a_fault_of_one_place_leaves_the_others_be(world: World, service: Service) -> None:
    service.answers[GRID] = reply(500, b"")
    broken, fine = north(world), south(world)
    assert fetch_all(now=JULY) == 4
    assert (after(broken).failures, after(fine).failures) == (1, 0)


@pytest.mark.parametrize("answer", [silent, trickling])
def test_slow_answers_are_given_up(
    world: World, service: Service, monkeypatch: pytest.MonkeyPatch, answer: Any
) -> None:
    monkeypatch.setattr(forecast_fetch, "TIMEOUT", httpx.Timeout(0.2))
    monkeypatch.setattr(forecast_fetch, "LONGEST_S", 0.3)
    service.answers[GRID] = answer(service.over)
    source = north(world)
    assert fetch_all(now=OCTOBER) == 0
    assert after(source).last_error == "The forecast service did not answer in time."


def test_nobody_at_the_address(world: World, settings: Any) -> None:
    with running() as gone:
        settings.GRIDPOINT_URL = gone.address
    source = north(world)
    assert fetch_all(now=OCTOBER) == 0
    assert after(source).last_error == "The forecast service could not be reached."


def test_a_redirect_on_the_same_host_is_followed(world: World, service: Service) -> None:
    service.answers["/points/42.3,-93.1"] = reply(301, b"", Location="/points/there")
    service.answers["/points/there"] = point(f"{service.address}{GRID}")
    north(world)
    assert fetch_all(now=OCTOBER) == 6
    assert service.asked == ["/points/42.3,-93.1", "/points/there", GRID]


def test_a_grid_that_moved_is_looked_up_anew(world: World, service: Service) -> None:
    source = north(world)
    fetch_all(now=OCTOBER)
    service.answers[GRID] = reply(404, b"")
    fetch_all(now=OCTOBER + 60 * MINUTE)
    assert after(source).failures == 1
    service.answers[POINT] = point(f"{service.address}/gridpoints/DMX/1,1")
    service.answers["/gridpoints/DMX"] = kept("gridpoint.json")
    fetch_all(now=OCTOBER + 61 * MINUTE)
    assert after(source).failures == 0
    assert service.asked[-1] == "/gridpoints/DMX/1,1"


def test_a_place_without_a_longitude_is_not_asked_for(world: World, service: Service) -> None:
    source = a_source(SiteFactory(longitude=None), Kind.DAILY)
    fetch_all(now=OCTOBER)
    assert after(source).last_error.startswith("This site has no longitude")
    assert service.asked == []


def test_a_choice_made_meanwhile_is_not_overruled(
    world: World, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = north(world)

    def keep_while_somebody_chooses(*args: Any, **more: Any) -> int:
        ForecastSource.objects.update(set_at=OCTOBER, next_try_at=None)
        return 0

    monkeypatch.setattr(forecasting, "keep_issue", keep_while_somebody_chooses)
    fetch_all(now=OCTOBER)
    assert (after(source).worked_at, after(source).next_try_at) == (None, None)


def test_what_a_dying_tick_had_taken_is_left_to_another_one(
    world: World, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = north(world), south(world)
    with monkeypatch.context() as dying:
        dying.setattr(forecasting, "keep_issue", _die)
        with pytest.raises(RuntimeError, match="out of memory"):
            fetch_all(now=OCTOBER)
    for source in (first, second):
        assert after(source).next_try_at == OCTOBER + 10 * MINUTE
    assert fetch_all(now=OCTOBER + 9 * MINUTE) == 0
    assert fetch_all(now=OCTOBER + 10 * MINUTE) == 6
    assert after(second).tried_at == OCTOBER + 10 * MINUTE


def _die(*args: Any, **more: Any) -> int:
    raise RuntimeError("out of memory")


def test_a_forecast_from_the_future_is_refused(world: World, service: Service) -> None:
    source = north(world)
    issued = datetime(2026, 10, 14, 18, 7, 50, tzinfo=UTC)
    assert fetch_all(now=issued - 11 * MINUTE) == 0
    assert "which has not come yet" in after(source).last_error
    assert fetch_all(now=issued - 10 * MINUTE) == 6


def test_old_answers_are_let_go(world: World, service: Service) -> None:
    north(world)
    fetch_all(now=OCTOBER)
    assert FetchedForecast.objects.count() == 2
    ForecastSource.objects.all().delete()
    fetch_all(now=OCTOBER + timedelta(days=31, hours=2))
    # The place was good for a week, the forecast for an hour.
    assert [row.address.endswith("-93.1") for row in FetchedForecast.objects.all()] == [True]

"""Why a step stands where it does: two taps from a date to its reason, source and setting."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from lifecycle.care.plan import next_of_each
from lifecycle.handbook import SOURCES
from lifecycle.models import Plant, Task, TypedClimate
from lifecycle.reminders.work.planning import plan_for
from lifecycle.reminders.work.worklist import refresh
from lifecycle.web.crops.why import why_url
from tests.conftest import World
from tests.factories import a_plant, a_sowing

SignIn = Callable[..., Client]


@pytest.fixture
def kept(world: World) -> Plant:
    """A plant at rest on a site whose dates were typed."""
    TypedClimate.objects.create(
        garden=world.garden,
        site=world.site,
        half_zone="7a",
        last_freeze="04-15",
        first_freeze="10-25",
        warm_from="05-12",
        cool_from="10-05",
    )
    return a_plant(world.member, world.quarters, name="Kept one", phase="resting")


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def why_of(kept: Plant, kind: str) -> str:
    steps = plan_for(kept, timezone.now())
    return why_url(kept, kept.garden.slug, next(step for step in steps if step.kind == kind))


def test_every_step_of_a_plant_leads_to_its_reason(client: Client, kept: Plant) -> None:
    page = client.get(reverse("plant", args=["northfield", kept.code])).content.decode()
    steps = next_of_each(plan_for(kept, timezone.now()))
    assert len(steps) > 3
    for step in steps:
        address = why_url(kept, "northfield", step)
        assert f'href="{address}"' in page
        answer = client.get(address)
        assert answer.status_code == 200
        assert escape(step.source) in answer.content.decode()


def test_it_shows_the_numbers_of_the_site_and_the_setting(client: Client, kept: Plant) -> None:
    text = client.get(why_of(kept, "replant")).content.decode()
    assert "Last freeze, the middle year" in text
    assert "15 Apr" in text
    assert "How warm must nights be before peppers go out?" in text
    assert SOURCES["umn"] in text
    assert f"{SOURCES['illinois']}" in text
    assert "in force here" in text
    assert f'href="/g/northfield/sites/{kept.site_id}/settings#plant_out_night"' in text
    assert "typed in by a member" in text


def test_a_step_that_is_not_planned_is_not_found(client: Client, kept: Plant) -> None:
    address = reverse("why-plant", args=["northfield", kept.code, "replant", 1999, 1])
    assert client.get(address).status_code == 404
    unknown = reverse("why-plant", args=["northfield", kept.code, "dance", 2027, 1])
    assert client.get(unknown).status_code == 404


def test_a_step_the_plan_has_left_is_told_by_its_task(
    client: Client, kept: Plant, world: World
) -> None:
    refresh([kept], now=timezone.now())
    task = Task.objects.filter(plant=kept, kind="winter_water").get()
    Task.objects.filter(pk=task.pk).update(number=77)
    task.refresh_from_db()
    text = client.get(why_url(kept, "northfield", task)).content.decode()
    assert "The plan no longer has this step" in text
    assert escape(task.source) in text


def test_a_sowing_has_its_reasons_too(client: Client, world: World, kept: Plant) -> None:
    sowing = a_sowing(world.member, world.bench, happened_on=date(2026, 10, 1))
    [step, *_] = plan_for(sowing, timezone.now())
    text = client.get(why_url(sowing, "northfield", step)).content.decode()
    assert f"Back to {sowing}" in text
    assert escape(step.source) in text


def test_outsiders_find_nothing(world: World, kept: Plant, as_person: SignIn) -> None:
    address = why_of(kept, "replant")
    assert as_person(world.outsider).get(address).status_code == 404

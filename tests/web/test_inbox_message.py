"""A message on the page: the same parts as in the mail, nothing of it live."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import Message, Plant
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.work.announce import announce_all
from tests.conftest import World
from tests.factories import NOON, a_task

pytestmark = pytest.mark.django_db


def test_it_has_headings_and_links_and_no_foot(
    world: World, as_person: Callable[..., Client]
) -> None:
    Plant.objects.update(name="<script>Anna</script>")
    world.plant.refresh_from_db()
    task = a_task(world.plant, "lift")
    announce_all(now=NOON)
    dispatch_all(now=NOON)
    message = Message.objects.get(channel="inbox")
    page = as_person(world.member).get(f"{world.address}inbox/{message.pk}").content.decode()
    assert "<h2>Lift: &lt;script&gt;Anna&lt;/script&gt;, Bed 3</h2>" in page
    assert f'<a href="http://127.0.0.1:8000/g/northfield/tasks/{task.pk}">' in page
    assert "Stop e-mails" not in page
    assert page.count("<h1>") == 1

"""One pepper across two calendar years, from an empty database, through the pages alone.

The weather is the daily record of Champion, Nebraska, read from an installed data package. The
ticks run every day; at the end every reminder that the plan called for went out once.
"""

import os
from collections import Counter
from datetime import date, timedelta
from email import message_from_bytes, policy
from pathlib import Path

import pytest

from lifecycle.models import Entry, MessageItem, Plant, Site, Sowing, Strike, Task
from lifecycle.records.crops.proof import mismatches
from lifecycle.reminders.work.planning import plan_for
from tests.browser.conftest import Clock, Embedded, TwoWorkers
from tests.browser.gardener import PASSWORD, Gardener
from tests.external.installed_records import aquacrop_csv

Identity = tuple[str, str, int, int]


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_embedded(live_server, phone, clock, tmp_path):
    Story(Gardener(phone, live_server.url), clock, Embedded(), tmp_path).tell()


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
def test_with_postgresql_redis_and_two_workers(live_server, phone, clock, tmp_path):
    assert os.environ.get("TEST_DATABASE_URL"), "Run by .ci/services: PostgreSQL is needed."
    workers = TwoWorkers(tmp_path)
    try:
        Story(Gardener(phone, live_server.url), clock, workers, tmp_path).tell()
    finally:
        workers.stop()


class Story:
    """What happens, day by day."""

    def __init__(
        self, gardener: Gardener, clock: Clock, ticks: Embedded | TwoWorkers, folder: Path
    ) -> None:
        self.gardener, self.clock, self.ticks, self.folder = gardener, clock, ticks, folder
        self.expected: set[Identity] = set()
        self.told: dict[int, MessageItem] = {}

    def tell(self) -> None:
        """Found, sow, plant, winter, replant; then count what was announced."""
        self.found(date(2026, 4, 1))
        self.raise_one()
        self.first_summer()
        self.winter()
        self.second_spring()
        self.count_reminders()

    def until(self, day: date) -> None:
        """Let the days pass with their ticks, and note what the plan calls for on each."""
        while self.clock.day < day:
            self.clock.set(self.clock.day + timedelta(1))
            for record in (*Sowing.objects.all(), *Plant.objects.all()):
                for step in plan_for(record, self.clock.now):
                    if not step.waits_for and step.window.earliest <= self.clock.day:
                        self.expected.add((record.code, *step.identity))
            self.ticks.run(self.clock.now)
            # Sent mails are kept for a season only. A worker may still be sending those of the day
            # before when the other one has long found nothing left to send.
            since = self.clock.now - timedelta(3)
            sent = MessageItem.objects.filter(message__sent_at__gte=since)
            self.told |= {
                item.pk: item for item in sent.select_related("task__plant", "task__sowing")
            }

    def found(self, day: date) -> None:
        """Found the garden, give it places, and upload the station's file."""
        self.clock.set(day)
        gardener = self.gardener
        gardener.page.goto(f"{gardener.address}/")
        assert gardener.heading() == "Found the garden"
        gardener.fill("Name of the garden", "Prairie Commons")
        gardener.fill("Name of the site", "Champion")
        gardener.fill("Latitude", "40.4")
        gardener.fill("Longitude", "-101.7")
        gardener.choose("Time zone", "America/Denver")
        gardener.fill("Your name", "Ada Marlow")
        gardener.fill("Your e-mail address", "owner@garden.example")
        gardener.fill("Password", PASSWORD)
        gardener.press("Found the garden and sign in")
        for name, kind in (
            ("Bed 1", "Bed"),
            ("Kitchen shelf", "Raising bench under cover"),
            ("Cellar", "Winter quarters"),
        ):
            gardener.go("/g/prairie-commons/places/add")
            gardener.fill("Name", name)
            gardener.pick(kind)
            gardener.press("Add the place")
        self.upload()

    def upload(self) -> None:
        """Put Champion's record in use and read the zone it gives."""
        file = self.folder / "champion.csv"
        file.write_bytes(aquacrop_csv("champion"))
        site = Site.objects.get()
        self.gardener.go(f"/g/prairie-commons/sites/{site.pk}/climate")
        self.gardener.unfold("Station file")
        self.gardener.page.get_by_label("Station file").set_input_files(file)
        self.gardener.press("Send and compute")
        assert self.gardener.sees("5a")

    def raise_one(self) -> None:
        """Plan a sowing, sow when the plan says so, see seedlings and pot up one plant."""
        gardener = self.gardener
        gardener.go("/g/prairie-commons/sow")
        gardener.fill("Variety", "Cayenne")
        gardener.pick("Not yet: plan it for me")
        gardener.choose("Held by", "Ada Marlow")
        gardener.press("Save the sowing")
        self.until(date(2026, 4, 16))
        self.do_task("Sow", {"Place": "Kitchen shelf"}, fills={"Seeds sown": "6"})
        sowing = Sowing.objects.get()
        assert sowing.phase == "sown"
        self.until(date(2026, 4, 25))
        gardener.go(f"/g/prairie-commons/sowings/{sowing.code}")
        gardener.press("Emerged")
        gardener.fill("Seedlings up, in all", "1")
        gardener.press("Save “Emerged”")
        self.until(date(2026, 5, 9))
        gardener.go(f"/g/prairie-commons/sowings/{sowing.code}")
        gardener.press("Pot up")
        gardener.fill("Pots with one plant", "1")
        gardener.choose("Where they stand", "Kitchen shelf")
        gardener.press("Save the pots")
        assert Plant.objects.get().phase == "seedling"

    def first_summer(self) -> None:
        """Harden, plant out, feed, pick and decide."""
        self.until(date(2026, 6, 4))
        self.done_on_today("Harden off")
        self.until(date(2026, 6, 18))
        self.do_task("Plant out", {"Place": "Bed 1"})
        assert Plant.objects.get().phase == "establishing"
        self.until(date(2026, 7, 12))
        self.done_on_today("Give the first feed")
        self.until(date(2026, 8, 3))
        self.done_on_today("Feed")
        self.pick_and_take_back()
        self.until(date(2026, 8, 10))
        self.do_task("Decide: keep or let go", picks=("Keep, lift and rest",))
        self.until(date(2026, 8, 26))
        self.done_on_today("Check for pests and clean up")

    def pick_and_take_back(self) -> None:
        """Pick, once by mistake: the mistake is undone and stays readable."""
        code = Plant.objects.get().code
        gardener = self.gardener
        gardener.go(f"/g/prairie-commons/plants/{code}")
        gardener.press("Picked")
        assert gardener.sees("Picked saved")
        gardener.press("Undo")
        assert Strike.objects.count() == 1
        assert Plant.objects.get().phase == "growing"
        gardener.go(f"/g/prairie-commons/plants/{code}")
        gardener.press("Picked")
        assert Plant.objects.get().phase == "bearing"

    def winter(self) -> None:
        """Lift, cut back, bring in; then water through the winter."""
        self.until(date(2026, 9, 9))
        self.done_on_today("Lift")
        self.until(date(2026, 9, 10))
        self.do_task("Bring into winter quarters", {"Place": "Cellar"}, picks=("To rest, cool",))
        plant = Plant.objects.get()
        assert (plant.phase, plant.route) == ("resting", "resting")
        self.until(date(2026, 9, 24))
        self.do_task("Cut back", {})
        for week in range(1, 12):
            self.until(date(2026, 9, 10) + timedelta(21 * week))
            self.done_on_today("Winter watering")
            self.done_on_today("Winter check")

    def second_spring(self) -> None:
        """Wake, harden again and replant."""
        self.until(date(2027, 5, 4))
        self.done_on_today("Wake")
        assert Plant.objects.get().phase == "waking"
        self.until(date(2027, 6, 4))
        self.done_on_today("Harden off again")
        self.until(date(2027, 6, 18))
        self.do_task("Replant", {"Place": "Bed 1"})
        assert Plant.objects.get().phase == "establishing"
        self.until(date(2027, 6, 20))
        assert list(mismatches()) == []
        kinds = set(Entry.objects.values_list("kind", flat=True))
        assert {"sown", "raised", "planted_out", "picked", "lifted", "cut_back", "woken"} <= kinds
        assert Entry.objects.filter(kind="planted_out").count() == 2

    def done_on_today(self, label: str) -> None:
        """Tap Done beside a task on Today."""
        self.gardener.go("/g/prairie-commons/")
        before = Task.objects.filter(state="done").count()
        row = self.gardener.page.locator("li").filter(has_text=f"{label}:")
        row.get_by_role("button", name="Done").first.click()
        self.gardener.page.wait_for_load_state()
        assert Task.objects.filter(state="done").count() == before + 1

    def do_task(
        self,
        label: str,
        places: dict[str, str] | None = None,
        picks: tuple[str, ...] = (),
        fills: dict[str, str] | None = None,
    ) -> None:
        """Open a task from Today, give what it asks for, and press Done."""
        self.gardener.go("/g/prairie-commons/")
        before = Task.objects.filter(state="done").count()
        self.gardener.page.locator("li").filter(has_text=f"{label}:").locator("a").first.click()
        self.gardener.page.wait_for_load_state()
        for name in picks:
            self.gardener.pick(name)
        for name, value in (places or {}).items():
            self.gardener.choose(name, value)
        for name, value in (fills or {}).items():
            self.gardener.fill(name, value)
        self.gardener.press("Done")
        assert Task.objects.filter(state="done").count() == before + 1

    def count_reminders(self) -> None:
        """Hold what was sent against what the plan called for."""
        assert {step[1] for step in self.expected} >= {
            *("sow", "emergence", "pot_up", "harden", "plant_out", "first_feed", "feed", "review"),
            *("pest_check", "lift", "cut_back", "winter_water", "winter_check", "wake"),
            *("harden_again", "replant"),
        }
        for channel in ("inbox", "email"):
            sent = [item for item in self.told.values() if item.channel == channel]
            told = Counter((identity(item.task), item.stage) for item in sent)
            assert {step for step, stage in told if stage == "opened"} == self.expected, channel
            # What nobody did was told once more, on its last day.
            assert {stage for _, stage in told} == {"opened", "late"}, channel
            assert set(told.values()) == {1}, channel
        addresses = Counter(
            line.strip().rpartition("/")[2]
            for letter in self.ticks.mails()
            for line in plain_lines(letter)
            if "/tasks/" in line
        )
        by_mail = Counter(
            str(item.task_id) for item in self.told.values() if item.channel == "email"
        )
        assert addresses == by_mail


def plain_lines(letter: str) -> list[str]:
    """Return the lines of a mail's text part."""
    body = message_from_bytes(letter.encode(), policy=policy.default).get_body(("plain",))
    assert body is not None
    return body.get_content().splitlines()


def identity(task: Task) -> Identity:
    """Return a task's step with its record's code."""
    record = task.plant or task.sowing
    return (record.code, task.kind, task.growing_year, task.number)

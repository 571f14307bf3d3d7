"""Away, cover, leave, decline, hand over, open again, in any order: whose tasks are whose."""

from datetime import timedelta
from random import Random

import pytest

from lifecycle.models import Away, Membership, Task, TaskEvent
from lifecycle.records.people.handing import accept
from lifecycle.records.people.leaving import leave
from lifecycle.records.people.memberships import change_role
from lifecycle.records.refusal import Refused
from lifecycle.records.work.away import agree, ask_to_cover, come_back, go_away, say_no
from lifecycle.records.work.cover import cover_all
from lifecycle.records.work.minding import WORKING_ROLES
from lifecycle.records.work.tasks import cannot_do, decline, give, give_back, reopen, take
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task
from tests.records.handings import load_of, proposed
from tests.records.works import TODAY, a_chore, a_chore_task
from tests.reminders.climates import DAY

pytestmark = pytest.mark.django_db
STEPS = 50
ALMOST = 0.8
LEAVING = ("leave", "to read")
ACTS = (
    *("away",) * 8,
    *("agree", "agree", "tick", "tick", "tick", "take", "take", "take", "take", "give", "decline"),
    *("give back", "hand over", "cannot", "open", "open", "say no", "ask", "back", *LEAVING),
)


class Garden:
    """Random acts, and beside them who has taken or been given each task, told by the acts."""

    def __init__(self, world: World, random: Random) -> None:
        self.world, self.random, self.now = world, random, NOON
        self.people = [
            world.member.pk,
            *(MembershipFactory(garden=world.garden, person__name=f"P{n}").pk for n in range(4)),
        ]
        plants = [
            a_plant(Membership.objects.get(pk=pk), world.bed, name=f"Plant {pk}")
            for pk in self.people
        ]
        self.plants = plants
        days = [TODAY + timedelta(random.randint(0, 9)) for _ in range(8)]
        more = {"earliest": TODAY, "latest": TODAY + timedelta(90)}
        self.tasks = [
            *(
                a_task(plant, "lift", best=day, **more)
                for plant, day in zip(plants, days[:5], strict=True)
            ),
            *(
                a_chore_task(a_chore(world, title=f"Chore {day} {n}"), TODAY, **more, best=day)
                for n, day in enumerate(days[5:])
            ),
        ]
        self.owners: dict[int, int | None] = {task.pk: None for task in self.tasks}

    def member(self) -> Membership:
        rows = Membership.objects.filter(
            pk__in=self.people, left_on__isnull=True, role__in=WORKING_ROLES
        )
        found = list(rows.select_related("person", "garden").order_by("pk"))
        if not found:
            raise Refused("Everybody is gone.")
        return self.random.choice(found)

    def task(self) -> Task:
        return Task.objects.get(pk=self.random.choice(self.tasks).pk)

    def stretch(self) -> Away:
        rows = list(Away.objects.filter(last_day__gte=self.now.date()).order_by("pk"))
        if not rows:
            raise Refused("Nobody is away.")
        return self.random.choice(rows)

    def do(self, act: str) -> None:
        if act in LEAVING:
            self.go(act)
        elif act in ("away", "agree", "say no", "ask", "back"):
            self.absence(act)
        elif act == "tick":
            self.now += DAY
            cover_all(now=self.now)
        elif act == "hand over":
            self.hand_over()
        else:
            self.work(act, self.task())

    def go(self, act: str) -> None:
        member = self.member()
        if act == "leave":
            leave(member, nameless=False, now=self.now)
        else:
            change_role(self.world.owner, member, "committee", now=self.now)
        for task, owner in self.owners.items():
            if owner == member.person_id:
                self.owners[task] = None

    def absence(self, act: str) -> None:
        lead = self.world.coordinator
        if act == "away":
            first = self.now.date() + timedelta(self.random.randint(0, 1))
            last = first + timedelta(self.random.randint(0, 6))
            cover = self.member().person
            who = self.member()
            made = go_away(who, first_day=first, last_day=last, cover=cover, now=self.now)
            if self.random.random() < ALMOST:
                covers = Membership.objects.get(person=cover, garden=who.garden_id)
                agree(covers, made, now=self.now)
            return
        away = self.stretch()
        if act == "ask":
            ask_to_cover(lead, away, self.member().person, now=self.now)
        elif act == "back":
            come_back(lead, away, now=self.now)
        else:
            cover = Membership.objects.filter(
                person=away.cover_id, garden=away.garden_id, left_on__isnull=True
            ).first()
            if cover is not None and cover.role in WORKING_ROLES:
                verb = agree if act == "agree" else say_no
                verb(cover, away, now=self.now)

    def hand_over(self) -> None:
        plant = self.random.choice(self.plants)
        plant.refresh_from_db()
        giver = Membership.objects.filter(person=plant.holder_id, left_on__isnull=True).first()
        if giver is None or giver.role not in WORKING_ROLES:
            return
        given = {"actor": giver, "giver": giver.person, "load": load_of(plant)}
        to = self.member()
        made = proposed(self.world, to, **given, from_day=self.now.date(), now=self.now)
        accept(to, made, now=self.now)
        moved = TaskEvent.objects.filter(act="handed_over", at=self.now, to=to.person)
        for task in Task.objects.filter(pk__in=moved.values("task"), assignee=to.person):
            self.owners[task.pk] = to.person_id

    def work(self, act: str, task: Task) -> None:
        lead, member = self.world.coordinator, self.member()
        if act == "take":
            take(member, task, now=self.now)
            if task.assignee_id != member.person_id:
                self.owners[task.pk] = member.person_id
        elif act == "give":
            give(lead, task, member.person, now=self.now)
            if task.assignee_id != member.person_id:
                self.owners[task.pk] = member.person_id
        elif act == "give back":
            give_back(lead, task, now=self.now)
            self.owners[task.pk] = None
        elif act == "decline":
            decline(member, task, now=self.now)
            self.owners[task.pk] = None
        elif act == "cannot":
            cannot_do(member, task, "Rain", now=self.now)
        else:
            reopen(lead, task, now=self.now)


def strangers() -> list[tuple[int, int | None]]:
    """Return the open tasks that are with somebody who does not work in the garden."""
    working = Membership.objects.filter(left_on__isnull=True, role__in=WORKING_ROLES)
    rows = Task.objects.filter(state="open", assignee__isnull=False)
    return list(rows.exclude(assignee__in=working.values("person")).values_list("pk", "assignee"))


@pytest.mark.parametrize("seed", range(40))
def test_no_open_task_is_with_somebody_gone_and_all_come_home(world: World, seed: int) -> None:
    random = Random(seed)
    garden = Garden(world, random)
    acts = ACTS if seed % 2 else tuple(act for act in ACTS if act not in LEAVING)
    done = []
    for _ in range(STEPS):
        garden.now += timedelta(minutes=1)
        act = random.choice(acts)
        try:
            garden.do(act)
        except Refused:
            continue
        done.append(act)
        assert strangers() == [], done
    assert len(done) > STEPS / 4
    for task in Task.objects.filter(state="cannot"):
        reopen(world.coordinator, task, now=garden.now)
    for days in (30, 31):
        cover_all(now=garden.now + days * DAY)
    assert strangers() == []
    assert dict(Task.objects.values_list("pk", "assignee")) == garden.owners, done

"""What reminders say: complete, in the reader's units, short enough, and in plain sentences."""

import re
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.closing_windows import CLOSED_BY_COLD
from lifecycle.life.phases import Phase
from lifecycle.models import (
    Garden,
    Message,
    MessageItem,
    NightForecast,
    Person,
    Place,
    Site,
    Task,
    Variety,
)
from lifecycle.models.plants import Plant
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed
from lifecycle.reminders.messages.digest_words import week
from lifecycle.reminders.messages.fitting import GSM7
from lifecycle.reminders.messages.wording import due
from lifecycle.reminders.work.promotion_words import CORE_LENGTH, SUBJECT_LENGTH, promoted
from lifecycle.reminders.work.task_words import grouped, what_and_where, why_told, window_words
from tests.conftest import World
from tests.factories import NOON, a_task
from tests.reminders.climates import at
from tests.reminders.frost_nights import a_night

DAY = date(2026, 10, 14)


def a_promotion(world: World, **night: Any) -> Message:
    """A message about two tasks that the coming night closes."""
    forecast = NightForecast.objects.create(
        garden=world.garden,
        site=world.site,
        source="gridpoint",
        issued_at=at(DAY, 6),
        received_at=at(DAY, 6),
        night=DAY,
        low_c=-1.0,
    )
    found = a_night(Site.objects.get(pk=world.site.pk), forecast=forecast, **night)
    message = Message.objects.create(
        garden=Garden.objects.get(pk=world.garden.pk),
        person=Person.objects.get(pk=world.member.person_id),
        key="promoted",
        channel="email",
        about="promoted",
        data={"night": found.pk},
        for_day=DAY,
        not_before=NOON,
        expires_at=NOON,
        made_at=NOON,
    )
    for kind in ("lift", "last_pick"):
        item(message, a_task(world.plant, kind, promoted_on=DAY, promoted_why="x"), "promoted")
    return message


def item(message: Message, task: Task, stage: str) -> None:
    MessageItem.objects.create(
        message=message, task=task, person=message.person, channel="email", stage=stage
    )


def written(message: Message) -> Composed:
    composed = promoted(message, NOON)
    assert composed is not None
    return composed


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("unit", "low", "limit"), [("C", "−1 °C", "0 °C"), ("F", "30 °F", "32 °F")]
)
def test_a_closed_window_is_told_with_all_it_takes(
    world: World, unit: str, low: str, limit: str
) -> None:
    """Source, hazard, place, time, what to do, what happens otherwise, and the chance."""
    Person.objects.update(temperature=unit)
    composed = written(a_promotion(world))
    text = composed.lines[0].text
    for part in (
        *("Northfield, Canal bank", "frost on the night of Wed 14 Oct", "Bed 3"),
        *(f"likely {low} by 05:00", f"{limit} or below 7 in 10", "What is left out will die."),
        *("and 1 more by 17:35 on Wed 14 Oct", "National Weather Service", "06:00 on 14 October"),
    ):
        assert part in text, part
    assert len(text) <= CORE_LENGTH
    assert composed.subject.startswith("Northfield: ")
    assert composed.subject.endswith("before frost, by 17:35 on Wed 14 Oct")
    plain = low.replace("−", "-").replace(" °", "")
    for part in ("Northfield: frost on Wed 14 Oct", plain, "7 in 10", "by 17:35", "will die"):
        assert part in composed.short, part
    assert {line.url.rpartition("/")[2] for line in composed.lines if line.url} == {
        str(pk) for pk in Task.objects.values_list("pk", flat=True)
    }


@pytest.mark.django_db
def test_the_longest_names_fit_with_nothing_left_out(world: World) -> None:
    long = "Überaus lange Straße der Gärten am Fluß bei den alten Mühlen"
    Garden.objects.update(name=long[:60])
    Site.objects.update(name=long[:60])
    Place.objects.filter(pk=world.bed.pk).update(name=long[:60])
    Plant.objects.update(name=long[:60])
    composed = written(a_promotion(world))
    text = composed.lines[0].text
    assert len(text) <= CORE_LENGTH
    for part in ("frost on the night of Wed 14 Oct", "7 in 10", "will die", "by 17:35", "06:00"):
        assert part in text, part
    assert len(composed.short) <= SHORT_LENGTH
    assert set(composed.short) <= GSM7
    assert len(composed.subject) <= SUBJECT_LENGTH
    for part in ("frost", "7 in 10", "17:35", "will die"):
        assert part in composed.short, part


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("chance", "words"), [(0.5, "will die"), (0.49, "may die"), (0.06, "may die")]
)
def test_what_happens_otherwise_is_not_overstated(world: World, chance: float, words: str) -> None:
    assert words in written(a_promotion(world, kill_chance=chance)).lines[0].text


@pytest.mark.django_db
@pytest.mark.parametrize("change", ["done", "relented", "old", "gone"])
def test_nothing_is_said_when_nothing_is_left_to_say(world: World, change: str) -> None:
    message = a_promotion(world, stale=change == "old")
    if change == "done":
        Task.objects.update(state="done")
    elif change == "relented":
        Task.objects.update(promoted_on=None)
    elif change == "gone":
        message.data = {"night": 0}
    assert promoted(message, NOON) is None


@pytest.mark.django_db
def test_a_task_without_a_place_or_an_hour_can_be_told(world: World) -> None:
    message = a_promotion(world, sunset_at=None, low_at=None)
    Plant.objects.update(place=None)
    text = written(message).lines[0].text
    assert "Plants without a place: likely" in text
    assert "by dawn" in text
    assert "by dusk on Wed 14 Oct" in text


def a_due(world: World, stage: str, **task: Any) -> list[str]:
    """The lines of a morning message of 14 October about one task."""
    message = Message.objects.create(
        garden=world.garden,
        person=world.member.person,
        key="due",
        channel="email",
        for_day=DAY,
        not_before=NOON,
        expires_at=NOON,
        made_at=NOON,
    )
    made = a_task(world.plant, "lift", **task)
    item(message, made, stage)
    composed = due(message, NOON)
    assert composed is not None
    return [line.text for line in composed.lines]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("stage", "latest", "said"),
    [
        ("late", DAY, "Today is the last day."),
        ("late", DAY - timedelta(days=2), "Its last day was 12 October."),
    ],
)
def test_the_last_day_is_said(world: World, stage: str, latest: date, said: str) -> None:
    assert said in a_due(world, stage, latest=latest)


@pytest.mark.django_db
def test_what_has_just_opened_is_told_without_more(world: World) -> None:
    assert a_due(world, "opened")[1:] == [
        "Lift: Cayenne by the gate, Bed 3",
        "Between 1 October and 20 October, before the first night of 0 °C or colder, best 10 "
        "October.",
        "Nights fall below 10 °C about 20 October.",
        "What to do, and Done",
        "You get one such message a day at most.",
    ]


@pytest.mark.django_db
def test_a_closed_window_says_so_in_the_morning(world: World) -> None:
    why = "the night of {2026-10-16} may fall to {0.00 C} or below (7 in 10)."
    lines = a_due(world, "late", latest=DAY, promoted_on=DAY, promoted_why=why)
    said = "The forecast closes this window: the night of 16 October may fall to 0 °C or below"
    assert any(line.startswith(said) for line in lines)
    assert "Today is the last day." not in lines


def bare_task(kind: str, name: str, place: str | None = "Bed 3", pk: int = 1, **more: Any) -> Task:
    """A task that stands in no database."""
    plant = Plant(
        name=name,
        variety=Variety(species="annuum", name="Cayenne"),
        place=Place(pk=7, name=place) if place else None,
        phase=Phase.BEARING,
    )
    given = {"earliest": DAY, "best": DAY, "latest": DAY, **more}
    return Task(pk=pk, kind=kind, plant=plant, **given)


@pytest.mark.parametrize("kind", sorted(STEP_RULES))
def test_a_night_that_closes_a_window_is_named_with_it(kind: str) -> None:
    task = bare_task(kind, "Red")
    for unit, night in (("C", "0 °C"), ("F", "32 °F")):
        words = window_words(task, Person(temperature=unit), DAY)
        assert (f"before the first night of {night} or colder" in words) is (kind in CLOSED_BY_COLD)


def test_groups_are_named_whole() -> None:
    red, blue = (bare_task("lift", name, pk=pk) for pk, name in ((1, "Red"), (2, "Blue")))
    assert what_and_where([red]) == "Lift: Red, Bed 3"
    assert what_and_where([red, blue]) == "Lift: 2 plants, Bed 3 (Red, Blue)"
    assert what_and_where([bare_task("lift", "Red", None)]) == "Lift: Red"
    lost = [bare_task("lift", name, None) for name in ("Red", "Blue")]
    assert what_and_where(lost) == "Lift: 2 plants (Red, Blue)"
    assert grouped([red, blue, red]) == [[red, blue]]
    assert why_told([red], {"opened"}, Person(), DAY) == ""


SENTENCE = re.compile(r"[^.?]+[.?]")


def words_a_sentence(texts: list[str]) -> float:
    sentences = [
        each for text in texts for each in SENTENCE.findall(text + ".") if each.strip(" .")
    ]
    return sum(len(each.split()) for each in sentences) / len(sentences)


@pytest.mark.django_db
def test_sentences_are_short(world: World) -> None:
    """At most twenty words in the mean, as plain-language guidance has it."""
    told = written(a_promotion(world))
    texts = [line.text for line in told.lines if not line.heading]
    MessageItem.objects.all().delete()
    Task.objects.all().delete()
    why = "the night of {2026-10-16} may fall to {0.00 C} or below (7 in 10)."
    texts += a_due(world, "promoted", promoted_on=DAY, promoted_why=why)
    message = Message(
        garden=world.garden,
        person=world.coordinator.person,
        for_day=DAY,
    )
    texts += [line.text for line in week(message, NOON).lines]
    assert words_a_sentence(texts) <= 20
    assert not any("!" in text for text in (*texts, told.subject, told.short))


@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(STEP_RULES)), st.sampled_from(["A", "B"])), max_size=8
    )
)
def test_every_task_stands_in_one_group(drawn: list[tuple[str, str]]) -> None:
    tasks = [bare_task(kind, name, pk=pk) for pk, (kind, name) in enumerate(drawn)]
    groups = grouped(tasks)
    assert sorted(task.pk for group in groups for task in group) == list(range(len(drawn)))
    assert all(len({task.kind for task in group}) == 1 for group in groups)

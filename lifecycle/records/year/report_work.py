"""Figures of entries, tasks, harvest, gifts and hours, read from what is only ever added."""

from collections.abc import Sequence
from functools import partial

from django.db.models import Count, Sum

from lifecycle.life.kinds import RULES, Kind
from lifecycle.models import GivenAway, TaskEvent
from lifecycle.records.year.report_figure import (
    ENTRIES,
    GIVEN,
    GRAMS,
    HOURS,
    PEOPLE,
    TASKS,
    Figure,
    Section,
    YearFacts,
    listed,
)
from lifecycle.records.year.report_known import TaskEnd

FEWEST_PEOPLE = 3
"""Hours are named only when so many people or more set some down: nobody is singled out."""


def entries(facts: YearFacts) -> Section:
    """Return how many entries of each kind were dated in the year."""
    counts = dict(facts.known.entries().order_by().values_list("kind").annotate(number=Count("pk")))
    figures = [
        Figure(
            f"entries-{kind}",
            RULES[kind].label,
            "",
            counts[kind],
            behind=ENTRIES,
            rows=partial(_of_kind, facts, kind),
        )
        for kind in Kind
        if kind in counts
    ]
    return Section(
        "entries",
        "Entries by kind",
        tuple(figures),
        "Entries of plants and sowings dated in the year, by kind, without those struck through; "
        "kinds without any are left out.",
    )


def _of_kind(facts: YearFacts, kind: Kind) -> Sequence[int]:
    """Return the numbers of a kind's entries; asked only when somebody looks behind the figure."""
    found = facts.known.entries().filter(kind=kind)
    return list(found.order_by("happened_on", "pk").values_list("pk", flat=True))


def work(facts: YearFacts, ends: list[TaskEnd]) -> Section:
    """Return what became of tasks, and by how many people they were done."""
    acts = TaskEvent.Act
    done = [end for end in ends if end.act == acts.DONE]
    people = sorted({end.by for end in done if end.by is not None})
    return Section(
        "work",
        "Work",
        (
            listed(
                "tasks-done",
                "Tasks done",
                "Tasks that were closed as done in the year, chores among them.",
                TASKS,
                [end.task for end in done],
            ),
            listed(
                "chores-done",
                "Of them chores",
                "Tasks done that came from a chore and not from a plant’s plan.",
                TASKS,
                [end.task for end in done if end.chore],
            ),
            listed(
                "tasks-people",
                "People who did them",
                "Different people who closed a task as done in the year.",
                PEOPLE,
                people,
            ),
            listed(
                "tasks-cannot",
                "Tasks that could not be done",
                "Tasks closed in the year as impossible, with a reason.",
                TASKS,
                [end.task for end in ends if end.act == acts.CANNOT],
            ),
            listed(
                "tasks-withdrawn",
                "Tasks withdrawn",
                "Tasks that the plan took back in the year, because they were no longer needed.",
                TASKS,
                [end.task for end in ends if end.act == acts.WITHDRAWN],
            ),
        ),
        "Read from the history of each task: one that was opened again counts when it is closed "
        "again.",
    )


def harvest(facts: YearFacts) -> Section:
    """Return what was picked, by weight, and what nobody weighed."""
    picked = facts.known.entries().filter(kind=Kind.PICKED).order_by("happened_on", "pk")
    weighed = picked.filter(quantity__isnull=False)
    unweighed = list(picked.filter(quantity__isnull=True).values_list("pk", flat=True))
    numbers = list(weighed.values_list("pk", flat=True))
    return Section(
        "harvest",
        "Harvest",
        (
            Figure(
                "picked",
                "Picked",
                "The weights of all entries “Picked” dated in the year, added up.",
                round(weighed.order_by().aggregate(total=Sum("quantity"))["total"] or 0),
                unit=GRAMS,
                behind=ENTRIES,
                rows=lambda: numbers,
            ),
            listed(
                "picked-unweighed",
                "Pickings not weighed",
                "Entries “Picked” dated in the year that name no weight.",
                ENTRIES,
                unweighed,
            ),
        ),
    )


def given(facts: YearFacts) -> Section:
    """Return what was given away, by weight and to whom."""
    rows = list(facts.known.given().values_list("pk", "to", "grams"))
    figures = [_given("given-all", "Given away", "to anybody", rows)]
    figures += [
        _given(
            f"given-{to}",
            f"To {to.label.lower()}",
            f"to {to.label.lower()}",
            [row for row in rows if row[1] == to],
        )
        for to in GivenAway.To
    ]
    return Section("given", "Harvest given away", tuple(figures))


def _given(key: str, label: str, whom: str, rows: list[tuple[int, str, int]]) -> Figure:
    return Figure(
        key,
        label,
        f"The weights logged as given away {whom} on days of the year, without what was struck.",
        sum(grams for _, _, grams in rows),
        unit=GRAMS,
        behind=GIVEN,
        rows=lambda: [pk for pk, _, _ in rows],
    )


def hours(facts: YearFacts) -> Section:
    """Return the hours of all together; no figure where somebody could be singled out."""
    if not facts.kept.hours:
        return Section("hours", "Hours given", (), "This garden keeps no hours.")
    total = facts.known.hours().aggregate(
        minutes=Sum("minutes"), people=Count("person", distinct=True)
    )
    if total["people"] < FEWEST_PEOPLE:
        return Section(
            "hours",
            "Hours given",
            (),
            f"Fewer than {FEWEST_PEOPLE} people set hours down, so none are named here.",
        )
    return Section(
        "hours",
        "Hours given",
        (
            Figure(
                "hours-total",
                "Hours given",
                "Time that members set down for days of the year, all together, in whole hours.",
                round(total["minutes"] / 60),
                unit=HOURS,
            ),
            Figure(
                "hours-people",
                "People who set hours down",
                "Different people who set hours down for days of the year.",
                total["people"],
            ),
        ),
        "Hours are private: there are no rows to look at, and what is set down after the year is "
        "closed is not named.",
    )

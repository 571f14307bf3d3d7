"""Figures of members, beds and frost nights: rows that change, kept when the year is closed."""

from datetime import date

from lifecycle.life.kinds import Kind
from lifecycle.models import FrostNight, TaskEvent
from lifecycle.records.year.report_figure import (
    BEDS,
    ENTRIES,
    MEMBERS,
    NIGHTS,
    PEOPLE,
    Section,
    YearFacts,
    listed,
)
from lifecycle.records.year.report_kept import COMMON, EMPTY, HELD
from lifecycle.records.year.report_known import TaskEnd


def members(facts: YearFacts, ends: list[TaskEnd]) -> Section:
    """Return the figures of who belonged to the garden, and who did something."""
    first, last, stays = facts.first, facts.last, facts.kept.stays
    at_start = [
        each.pk
        for each in stays
        if each.joined_on < first and (each.left_on is None or each.left_on >= first)
    ]
    joined = [each.pk for each in stays if facts.within(each.joined_on)]
    left = [each.pk for each in stays if facts.within(each.left_on)]
    at_end = [each.pk for each in stays if each.left_on is None or each.left_on > last]
    return Section(
        "members",
        "Members",
        (
            listed(
                "members-start",
                "Members at the start",
                "People who belonged to the garden when the year began.",
                MEMBERS,
                at_start,
            ),
            listed(
                "members-joined",
                "Joined",
                "Memberships that began in the year; who came back counts again.",
                MEMBERS,
                joined,
            ),
            listed(
                "members-left",
                "Left",
                "Memberships that ended in the year, from the day on which they ended.",
                MEMBERS,
                left,
            ),
            listed(
                "members-end",
                "Members at the end",
                "People who belonged to the garden when the year was over; while it runs, today.",
                MEMBERS,
                at_end,
            ),
            listed(
                "people-active",
                "People who did something",
                "Different people who wrote an entry dated in the year, closed a task as done or "
                "logged harvest given away.",
                PEOPLE,
                _active(facts, ends),
            ),
        ),
        "The list of members is kept as it stands when the year is closed.",
    )


def _active(facts: YearFacts, ends: list[TaskEnd]) -> list[int]:
    wrote = facts.known.entries().filter(by__isnull=False).order_by().values_list("by", flat=True)
    gave = facts.known.given().order_by().values_list("by", flat=True)
    did = {end.by for end in ends if end.act == TaskEvent.Act.DONE and end.by is not None}
    return sorted({*wrote.distinct(), *gave.distinct(), *did})


def beds(facts: YearFacts) -> Section:
    """Return the figures of the beds and how they were held."""
    by_state = {
        state: [pk for pk, how in facts.kept.beds.items() if how == state]
        for state in (HELD, COMMON, EMPTY)
    }
    words = "on the last day of the year, or today while it runs"
    return Section(
        "beds",
        "Beds",
        (
            listed(
                "beds-all",
                "Beds",
                f"Beds on the list {words}; benches and places under a roof are left out.",
                BEDS,
                list(facts.kept.beds),
            ),
            listed(
                "beds-held",
                "Plots held",
                f"Beds held by one person or several {words}.",
                BEDS,
                by_state[HELD],
            ),
            listed(
                "beds-common", "Common beds", "Beds that everybody tends.", BEDS, by_state[COMMON]
            ),
            listed(
                "beds-empty",
                "Plots that nobody holds",
                f"Beds that are no common ground and that nobody held {words}.",
                BEDS,
                by_state[EMPTY],
            ),
        ),
        "The list of beds is kept as it stands when the year is closed.",
    )


def frost(facts: YearFacts) -> Section:
    """Return the figures of the frost nights and what they cost."""
    nights = facts.kept.nights
    harms = FrostNight.Harm
    damaged = _damaged(facts)
    died = [
        life.ended_entry
        for life in facts.lives
        if life.plant in damaged
        and life.ended_how == "died"
        and facts.within(life.ended_on)
        and life.ended_on is not None
        and life.ended_on >= damaged[life.plant][0]
    ]
    return Section(
        "frost",
        "Frost",
        (
            listed(
                "nights-called",
                "Frost nights called",
                "Nights for which people were to go, without those called off or not needed.",
                NIGHTS,
                [night.pk for night in nights if night.called],
            ),
            listed(
                "nights-missed",
                "Frost nights missed",
                "Nights of the frost pages at 0 °C (32 °F) or below, as read or told, for which "
                "nobody was called.",
                NIGHTS,
                [night.pk for night in nights if night.missed],
            ),
            listed(
                "nights-harmed",
                "Nights with plants harmed",
                "Nights after which somebody said that some plants were harmed.",
                NIGHTS,
                [night.pk for night in nights if night.harm == harms.SOME],
            ),
            listed(
                "nights-killed",
                "Nights with plants killed",
                "Nights after which somebody said that some plants were killed.",
                NIGHTS,
                [night.pk for night in nights if night.harm == harms.KILLED],
            ),
            listed(
                "frost-damaged",
                "Plants damaged by frost or cold",
                "Plants with an entry “Damage” by frost or cold shock dated in the year.",
                ENTRIES,
                [entry for _, entry in damaged.values()],
            ),
            listed(
                "frost-died",
                "Of them died in the year",
                "Those of these plants that ended as died in the year, after that damage.",
                ENTRIES,
                died,
            ),
        ),
        "Frost nights are kept as they stand when the year is closed; damage is read from entries.",
    )


def _damaged(facts: YearFacts) -> dict[int, tuple[date, int]]:
    """Return by plant the day and the entry of its first damage by frost or cold."""
    rows = (
        facts.known.entries()
        .filter(kind=Kind.DAMAGE, choice__in=("frost", "cold"), plant__isnull=False)
        .order_by("happened_on", "pk")
    )
    found: dict[int, tuple[date, int]] = {}
    for plant, day, entry in rows.values_list("plant_id", "happened_on", "pk"):
        found.setdefault(plant, (day, entry))
    return found

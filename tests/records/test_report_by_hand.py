"""Every figure of a small year against a count made by hand from ``report_world``."""

from datetime import UTC, date, datetime

import pytest

from lifecycle.models import BedHolding, WorkHours
from lifecycle.records.year.report import Report, report_now
from lifecycle.records.year.report_plants import PlantRecord
from lifecycle.records.year.report_years import known_years, years_of
from tests.conftest import World
from tests.factories import NOON, GardenFactory, SiteFactory
from tests.records.report_world import CLOSING, YEAR, write_down

pytestmark = pytest.mark.django_db

BY_HAND = {
    # Owner, coordinator, member, committee since 2024, and Cleo. Dov left the day before.
    "members-start": 5,
    # Ada in March, Ben in April. Eve comes in 2026.
    "members-joined": 2,
    # Cleo in February, Ben in September.
    "members-left": 2,
    # The four and Ada.
    "members-end": 5,
    # The member wrote, Ada watered, the coordinator did a task, the owner gave away.
    "people-active": 4,
    # Bed 3 is common, Ada holds hers, Ben's fell empty. The bench and the shed are no beds.
    "beds-all": 3,
    "beds-held": 1,
    "beds-common": 1,
    "beds-empty": 1,
    # Four taken over in June 2024.
    "plants-start": 4,
    # Three potted up in April.
    "added-raised": 3,
    # One and a pair in May.
    "added-inherited": 2,
    # Two in September.
    "added-struck_cutting": 2,
    # The second of the pair in June.
    "added-split_off": 1,
    # The second in February, the third in May.
    "ended-died": 2,
    # One potted-up plant each.
    "ended-removed": 1,
    "ended-given_away": 1,
    # 4 + 8 - 4.
    "plants-end": 8,
    # The third, which grew in April; it died of frost afterwards, not of the winter.
    "winter-in_ground-lived": 1,
    "winter-in_ground-died": 0,
    # The first lived, the second died.
    "winter-resting-lived": 1,
    "winter-resting-died": 1,
    # The fourth was hardened in May.
    "winter-growing_on-lived": 1,
    "winter-growing_on-died": 0,
    "winter-let-go": 0,
    # Coordinator's in May, Ada's chore, and the one of 31 December at 23:59.
    "tasks-done": 3,
    "chores-done": 1,
    # Coordinator, Ada, member.
    "tasks-people": 3,
    "tasks-cannot": 1,
    # Done on 1 June, opened again, then withdrawn: it counts once, as withdrawn.
    "tasks-withdrawn": 1,
    # 30 March. That of 1 November was called off.
    "nights-called": 1,
    # 19 April: the thermometer read -1 C on the 20th.
    "nights-missed": 1,
    "nights-harmed": 1,
    "nights-killed": 1,
    # The third, on 20 April; it died on 1 May.
    "frost-damaged": 1,
    "frost-died": 1,
    # 500 g on 1 August; nobody weighed those of the 10th.
    "picked": 500,
    "picked-unweighed": 1,
    # 1200 g and 300 g; 999 g was struck.
    "given-all": 1500,
    "given-food_bank": 1200,
    "given-neighbours": 300,
    "given-members": 0,
    "given-other": 0,
    # 60 + 90 + 150 minutes of three people.
    "hours-total": 5,
    "hours-people": 3,
    "entries-sown": 1,
    "entries-potted_up": 1,
    "entries-raised": 3,
    "entries-inherited": 2,
    "entries-struck_cutting": 2,
    "entries-split_off": 1,
    "entries-hardening": 1,
    # The first and the third.
    "entries-first_growth": 2,
    "entries-picked": 2,
    # Ada's; the member's was struck.
    "entries-watered": 1,
    "entries-split": 1,
    "entries-cutting_taken": 1,
    "entries-damage": 1,
    # Two died, one removed, one given away.
    "entries-ended": 4,
}


def report(world: World, year: int = YEAR, now: datetime = CLOSING) -> Report:
    garden = world.garden
    return report_now(garden, year, years_of(garden), PlantRecord(garden.pk), now=now)


def test_every_figure_is_what_a_hand_counts(world: World) -> None:
    write_down(world)
    assert report(world).values == BY_HAND


def test_the_rows_behind_a_count_are_as_many(world: World) -> None:
    write_down(world)
    weights = {"picked", *(key for key in BY_HAND if key.startswith("given-"))}
    for key, figure in report(world).figures.items():
        if key in weights or figure.rows is None:
            continue
        assert len(figure.rows()) == len(set(figure.rows())) == figure.value, key
    assert len(report(world).figures["picked"].rows()) == 1
    assert len(report(world).figures["given-all"].rows()) == 2


def test_only_hours_have_no_rows(world: World) -> None:
    write_down(world)
    private = {key for key, each in report(world).figures.items() if each.rows is None}
    assert private == {"hours-total", "hours-people"}


def test_every_figure_says_what_it_means_in_one_sentence(world: World) -> None:
    write_down(world)
    for section in report(world).sections:
        assert section.meaning.endswith((".", "")), section.key
        for figure in section.figures:
            meaning = figure.meaning or section.meaning
            assert meaning.endswith("."), figure.key
            assert meaning[:1].isupper(), figure.key


def test_the_year_before_and_the_year_after_take_their_own(world: World) -> None:
    write_down(world)
    before, after = report(world, 2024), report(world, 2026, NOON)
    assert before.values["plants-end"] == BY_HAND["plants-start"]
    assert after.values["plants-start"] == BY_HAND["plants-end"]
    assert after.values["members-start"] == BY_HAND["members-end"]
    assert before.values["tasks-done"] == after.values["tasks-done"] == 1
    # The plant of the tests' world in May 2026.
    assert after.values["added-inherited"] == 1
    assert before.values["nights-called"] == 1


def test_hours_of_two_people_are_not_named(world: World) -> None:
    write_down(world)
    row = WorkHours.objects.filter(person=world.owner.person).get()
    row.struck_at = row.at
    row.save(update_fields=["struck_at"])
    found = report(world)
    assert not {"hours-total", "hours-people"} & set(found.values)
    [section] = [each for each in found.sections if each.key == "hours"]
    assert section.meaning.startswith("Fewer than 3 people")


def test_a_garden_without_a_ledger_names_no_hours(world: World) -> None:
    write_down(world)
    world.garden.hours_ledger = False
    assert not {"hours-total", "hours-people"} & set(report(world).values)


def test_money_is_not_recorded_and_has_no_figure(world: World) -> None:
    [money] = [each for each in report(world).sections if each.key == "money"]
    assert (money.figures, money.meaning[:21]) == ((), "Money is not recorded")


def test_no_figure_is_of_one_member(world: World) -> None:
    found = write_down(world)
    text = str(report(world).figures)
    assert "Ada" not in text
    assert str(found["ada"].person.email) not in text


# --- which year a day belongs to -------------------------------------------------------------


def test_the_first_site_says_when_a_year_begins_and_whose_clock_counts(world: World) -> None:
    world.site.year_starts_in, world.site.time_zone = 7, "Australia/Perth"
    world.site.save(update_fields=["year_starts_in", "time_zone"])
    SiteFactory(garden=world.garden, year_starts_in=1)
    years = years_of(world.garden)
    span = years.span(2025)
    assert (span.first, span.last) == (date(2025, 7, 1), date(2026, 6, 30))
    assert span.words() == "1 July 2025 to 30 June 2026"
    # Perth is eight hours ahead the year round.
    assert span.start == datetime(2025, 6, 30, 16, tzinfo=UTC)
    assert span.end == datetime(2026, 6, 30, 16, tzinfo=UTC)
    assert years.site == "Canal bank"
    write_down(world)
    values = report(world, 2025, NOON).values
    # From July on: Ada's watering, two pickings, two cuttings; the world's plant in May.
    assert values["entries-watered"] == 1
    assert values["added-struck_cutting"] == 2
    assert values["added-inherited"] == 1
    assert values["winter-resting-lived"] == 0


def test_a_garden_without_ground_counts_by_the_calendar(world: World) -> None:
    years = years_of(GardenFactory())
    assert (years.starts_in, years.zone, years.site) == (1, "UTC", "")
    assert years.span(2025).words() == "1 January to 31 December 2025"


def test_years_are_known_from_the_first_member_on(world: World) -> None:
    years = years_of(world.garden)
    assert list(known_years(world.garden, years, NOON.date())) == [2024, 2025, 2026]


def test_a_plot_counts_as_held_while_it_is(world: World) -> None:
    found = write_down(world)
    holding = BedHolding.objects.get(person=found["ben"].person)
    # From the day on which a holding ends nobody holds the plot any more.
    holding.until = date(2026, 1, 1)
    holding.save(update_fields=["until"])
    assert report(world).values["beds-held"] == 2
    holding.until = date(2025, 12, 31)
    holding.save(update_fields=["until"])
    assert report(world).values["beds-held"] == 1

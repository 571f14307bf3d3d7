"""Every row of a garden is asked for through what its reader may see."""

import ast
from pathlib import Path

import pytest
from django.apps import apps
from django.db.models import Model

from lifecycle.models import Membership
from lifecycle.models.scoping import OwnedQuerySet
from tests.factories import GardenFactory, MembershipFactory

WEB = Path(__file__).resolve().parents[1] / "lifecycle" / "web"

NO_GARDEN = {
    "Person": "belongs to several gardens, or to none; reached through memberships",
    "MessageChoice": "a person's own",
    "CalendarAddress": "a person's own",
    "PushSubscription": "a person's own",
    "Letter": "goes to an address, whose person may belong nowhere yet",
    "Allowance": "holds a keyed hash and no garden",
    "FetchedForecast": "public data, shared by every garden",
    "Heartbeat": "of the whole site",
    "MessageItem": "reached through its message",
    "PublishedTask": "reached through its publication",
    "HandOverItem": "reached through its hand-over",
    "Inspection_told": "reached through its inspection",
    "Garden": "is itself what is visible: it has a visible_to of its own",
}
"""Tables of the site without a column ``garden``, and why that is right."""

UNSCOPED = {
    ("people/way_kept.py", "Invitation"): "by the number a letter keeps; its code is asked for",
    ("work/groups.py", "Place"): "by the numbers of tasks the reader may see",
    ("people/account.py", "Person"): "the reader, afresh",
    ("people/home.py", "Person"): "the reader, afresh",
    ("people/leaving.py", "Person"): "the reader, afresh",
    ("people/own_data.py", "Person"): "the reader, afresh",
    ("people/settings.py", "Person"): "the reader, afresh",
    ("people/home.py", "Membership"): "the reader's own",
    ("people/joining.py", "Membership"): "the reader's own",
    ("people/leaving.py", "Membership"): "the reader's own, also of a garden they have left",
    (
        "people/settings.py",
        "Membership",
    ): "the reader's own, and who leads a garden the reader is in",
    ("messages/calendar_feed.py", "CalendarAddress"): "the reader's own",
    ("messages/push.py", "PushSubscription"): "the reader's own",
    ("people/sign_in.py", "Garden"): "whether there is a demonstration, nothing of it",
    ("forms/choices.py", "Person"): "members of the reader's garden today",
    ("work/groups.py", "Membership"): "members of the reader's garden today",
    ("nights/ask_panel.py", "Person"): "members of a garden that the page was entered for",
    ("year/report_row_cells.py", "Person"): "numbers that the garden's own report counted",
    ("ground/beds.py", "Plant"): "a subquery of places the reader may see",
    ("ground/place_names.py", "Place"): "of the gardens of places the reader may see",
    ("work/today.py", "Plant"): "a subquery of places the reader may see",
    ("crops/entries.py", "Strike"): "of an entry the reader may see",
    ("crops/plants.py", "SeedLot"): "of a plant the reader may see",
    ("crops/plants.py", "Task"): "of a plant the reader may see",
    ("ground/tools.py", "ToolLoan"): "of tools the reader may see",
    ("work/week_rota.py", "PublishedTask"): "of a publication the reader may see",
    ("weather/rehearsal.py", "WeatherRecord"): "of a site the reader may see",
    ("weather/forecast_rows.py", "FrostNight"): "of a site the reader may see",
}
"""Where a page starts a query from a whole table: module, model, and what narrows it at once."""


def own_models() -> list[type[Model]]:
    return [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label == "lifecycle"
    ]


def test_every_table_belongs_to_a_garden_or_says_why_not() -> None:
    without = {
        model.__name__
        for model in own_models()
        if "garden" not in {field.name for field in model._meta.fields}
    }
    assert without == set(NO_GARDEN)


@pytest.mark.django_db
def test_every_row_of_a_garden_is_seen_by_its_members_only() -> None:
    member = MembershipFactory()
    for model in own_models():
        if model.__name__ in NO_GARDEN:
            continue
        manager = model._default_manager
        assert issubclass(type(manager.all()), OwnedQuerySet), model
        sql = str(manager.visible_to(member.person).query)  # type: ignore[attr-defined]
        assert "EXISTS" in sql, model
        assert "left_on" in sql, model


@pytest.mark.django_db
def test_a_membership_that_ended_shows_nothing() -> None:
    """Of two gardens only the one where the person belongs today, however often they left."""
    stays = MembershipFactory()
    left = GardenFactory()
    for day in ("2025-01-01", "2026-01-01"):
        MembershipFactory(garden=left, person=stays.person, left_on=day)
    MembershipFactory(garden=left)
    seen = Membership.objects.visible_to(stays.person)
    assert {each.garden_id for each in seen} == {stays.garden_id}


def whole_tables(path: Path) -> set[tuple[str, str]]:
    """Where a module of the pages starts from a manager without ``visible_to`` right after."""
    tree = ast.parse(path.read_text())
    scoped = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr == "visible_to"
    }
    return {
        (str(path.relative_to(WEB)), ast.unparse(node.value))
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and node.attr in ("objects", "_default_manager", "_base_manager")
        and id(node) not in scoped
    }


def test_pages_start_from_what_the_reader_may_see() -> None:
    found = {each for path in sorted(WEB.rglob("*.py")) for each in whole_tables(path)}
    assert found - set(UNSCOPED) == set(), "start from door.rows, or say here what narrows it"
    assert set(UNSCOPED) - found == set(), "these are gone"


def test_it_finds_a_whole_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(f"{__name__}.WEB", tmp_path)
    page = tmp_path / "page.py"
    page.write_text("a = Plant.objects.get(pk=1)\nb = Task.objects.visible_to(p).get(pk=1)\n")
    assert whole_tables(page) == {("page.py", "Plant")}

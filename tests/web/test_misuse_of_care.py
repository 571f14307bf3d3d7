"""Forms sent without what a page would have sent: one sentence, 422, nothing written."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.test import Client

from lifecycle.life.kinds import Quantity
from lifecycle.models import Entry, GardenMaterial, Person
from lifecycle.web.forms.fields import MeasureField
from tests.conftest import World
from tests.factories import PlaceFactory

SignIn = Callable[..., Client]


def given(**more: str) -> dict[str, str]:
    return {
        "act": "feed",
        "uuid": str(uuid4()),
        "material": "bone_meal",
        "use": "bed",
        "grams": "90",
        "happened_on": "",
        "note": "",
        **more,
    }


def test_nothing_can_be_fed_in_an_empty_bed(world: World, as_person: SignIn) -> None:
    empty = PlaceFactory(site=world.site)
    before = Entry.objects.count()
    answer = as_person(world.member).post(
        f"{world.address}beds/{empty.pk}/feed", given(plant=world.plant.code)
    )
    assert answer.status_code == 422
    assert "Nothing here can be fed." in answer.content.decode()
    assert Entry.objects.count() == before


def test_a_bed_is_not_fed_with_nothing_ticked(world: World, as_person: SignIn) -> None:
    before = Entry.objects.count()
    answer = as_person(world.member).post(
        f"{world.address}beds/{world.bed.pk}/feed", given(plant="NOBODY")
    )
    assert answer.status_code == 422
    assert "Tick at least one plant to feed." in answer.content.decode()
    assert Entry.objects.count() == before


@pytest.mark.parametrize("act", ["", "eat"])
def test_a_feeding_page_sent_without_its_act_says_so(
    world: World, as_person: SignIn, act: str
) -> None:
    before = Entry.objects.count()
    answer = as_person(world.member).post(
        f"{world.address}plants/{world.plant.code}/feed", given(act=act, plant=world.plant.code)
    )
    assert answer.status_code == 422
    assert "It was not said what to do." in answer.content.decode()
    assert (Entry.objects.count(), GardenMaterial.objects.count()) == (before, 0)


@pytest.mark.parametrize(
    ("option", "word", "choices"),
    [("--route", "moon", "'lifted', 'ground'"), ("--by", "stars", "'nights', 'dates'")],
)
def test_a_rehearsal_names_the_words_that_may_be_typed(
    option: str, word: str, choices: str
) -> None:
    with pytest.raises(CommandError, match=rf"{word}.*choose from {choices}\)"):
        call_command("rehearse", "-", option, word)


@pytest.mark.parametrize(
    ("unit", "typed", "kept"),
    [("in", "39.4", 1000.0), ("in", "39.37", 1000.0), ("mm", "1000", 1000.0)],
)
def test_the_bound_that_a_sentence_offers_is_taken(unit: str, typed: str, kept: float) -> None:
    reader = Person(length=Person.Length.INCHES if unit == "in" else Person.Length.METRIC)
    field = MeasureField(Quantity("Rain", "mm", 0, 1000), reader)
    assert field.clean(typed) == kept
    with pytest.raises(ValidationError):
        field.clean(str(float(typed) * 1.02))

"""Two places of one name are told apart by their site; one name alone stands for itself."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.web.ground.place_names import place_words
from tests.conftest import World
from tests.factories import PlaceFactory, SiteFactory

pytestmark = pytest.mark.django_db


def test_the_site_stands_where_the_garden_has_the_name_twice(world: World) -> None:
    other = SiteFactory(garden=world.garden, name="Mill Lane")
    here = PlaceFactory(site=world.site, name="Bed 7")
    there = PlaceFactory(site=other, name="BED 7")
    alone = PlaceFactory(site=other, name="Bed 8")
    # A garden elsewhere with the same name tells nothing here.
    PlaceFactory(site=SiteFactory(), name="Bed 8")
    assert place_words([here, there, None, alone]) == {
        here.pk: "Bed 7, Canal bank",
        there.pk: "BED 7, Mill Lane",
        alone.pk: "Bed 8",
    }
    assert place_words([here]) == {here.pk: "Bed 7, Canal bank"}


def test_one_query_however_many_places(world: World) -> None:
    def queries(number: int) -> int:
        places = [PlaceFactory(site=world.site) for _ in range(number)]
        with CaptureQueriesContext(connection) as found:
            place_words(places)
        return len(found)

    assert queries(1) == queries(12) == 1
    with CaptureQueriesContext(connection) as found:
        assert place_words([None]) == {}
    assert len(found) == 0

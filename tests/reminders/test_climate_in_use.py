"""Which dates a site is planned by: a firm record, else typed dates, else a short record."""

import pytest

from lifecycle.records.refusal import Refused
from lifecycle.records.weather.weather import add_record
from lifecycle.reminders.work.planning import climate_of
from tests.conftest import World
from tests.external.installed_records import aquacrop_csv, seattle_csv
from tests.factories import NOON
from tests.reminders.climates import give_climate

pytestmark = pytest.mark.django_db


def keep_record(world: World, data: bytes) -> None:
    add_record(world.owner, world.site, name="Record", data=data, units="C", now=NOON)


def test_nothing_is_known_at_first(world: World) -> None:
    climate = climate_of(world.site)
    assert (climate.basis, climate.dates, climate.nights) == ("not known yet", None, None)


def test_a_firm_record_goes_before_what_was_typed(world: World) -> None:
    give_climate(world)
    keep_record(world, aquacrop_csv("brussels"))
    climate = climate_of(world.site)
    assert climate.basis == "computed from the site's daily record"
    assert climate.dates is not None
    assert climate.dates.half_zone == "8b"
    # The other one is still there to be shown beside it.
    assert climate.typed is not None


def test_what_was_typed_goes_before_a_short_record(world: World) -> None:
    keep_record(world, seattle_csv())
    short = climate_of(world.site)
    assert short.basis == "computed from a short daily record (indicative)"
    assert short.dates is not None
    give_climate(world)
    climate = climate_of(world.site)
    assert climate.basis == "typed in by a member"
    assert climate.dates is not None
    assert climate.dates.half_zone == "5b"
    assert climate.record is not None


def test_too_little_typed_leaves_the_short_record_in_use(world: World) -> None:
    keep_record(world, seattle_csv())
    with pytest.raises(Refused, match="too few to plan by"):
        give_climate(world, first_freeze="", cool_from="")
    give_climate(world, last_freeze="", first_freeze="", warm_from="", cool_from="")
    assert climate_of(world.site).basis.startswith("computed from a short daily record")

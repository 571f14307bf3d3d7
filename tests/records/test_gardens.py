"""Gardens, sites, places and varieties, and what a person sets for themselves."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import Garden, Membership, Message, MessageChoice, Person, Plant, Role, Site
from lifecycle.permissions import can
from lifecycle.records.ground.gardens import add_place, add_site, found_garden, new_garden, variety
from lifecycle.records.messages.message_choices import choices_of
from lifecycle.records.people.people import add_person, plain_phone, set_preferences
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory, VarietyFactory

pytestmark = pytest.mark.django_db
FIRST = {
    "garden_name": "Canal bank",
    "person_name": "Ada",
    "email": " Ada@Garden.Example ",
    "password": "seven-wet-boots-in-a-row",
    "site_name": "Upper beds",
    "latitude": 41.4,
    "time_zone": "Europe/Madrid",
    "now": NOON,
}
NAN = float("nan")


@pytest.mark.parametrize(("latitude", "month"), [(41.4, 1), (0.0, 1), (-34.6, 7)])
def test_the_first_person_founds_a_garden_and_owns_it(latitude: float, month: int) -> None:
    owner = found_garden(**FIRST | {"latitude": latitude})
    assert (owner.role, owner.person.email) == (Role.OWNER, "ada@garden.example")
    assert owner.person.check_password(FIRST["password"])
    site = Site.objects.get(garden=owner.garden)
    assert (site.name, site.year_starts_in) == ("Upper beds", month)


def test_only_the_first_person_founds_it() -> None:
    found_garden(**FIRST)
    with pytest.raises(Refused, match="already has people"):
        found_garden(**FIRST | {"email": "other@garden.example"})
    assert Garden.objects.count() == Person.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"password": "12345678"}, "password"),
        ({"password": "ada"}, "password"),
        ({"email": "nowhere"}, "email"),
        ({"person_name": " "}, "person_name"),
        ({"garden_name": "x" * 10_000}, "garden_name"),
        ({"site_name": ""}, "site_name"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"latitude": 80.0}, "latitude"),
        ({"latitude": NAN}, "latitude"),
        ({"longitude": 200.0}, "longitude"),
        ({"longitude": float("inf")}, "longitude"),
    ],
)
def test_a_beginning_that_is_refused_leaves_nothing_behind(wrong: dict, field: str) -> None:
    with pytest.raises(Refused) as problem:
        found_garden(**FIRST | wrong)
    assert problem.value.field == field
    assert not Person.objects.exists()
    assert not Garden.objects.exists()


def test_gardens_of_one_name_get_addresses_of_their_own() -> None:
    assert [new_garden("Canal bank").slug for _ in range(3)] == [
        "canal-bank",
        "canal-bank-2",
        "canal-bank-3",
    ]
    assert new_garden("花园").slug == "garden"


def test_places_belong_to_sites_of_the_garden(world: World) -> None:
    place = add_place(
        world.coordinator, world.site, name="Cellar", kind="quarters", position=2, temperature_c=12
    )
    assert place.sheltered
    with pytest.raises(Refused, match="already"):
        add_place(world.coordinator, world.site, name="Cellar", kind="bed", position=1)
    with pytest.raises(Refused, match="does not belong"):
        add_place(world.coordinator, SiteFactory(), name="New", kind="bed", position=1)
    with pytest.raises(PermissionDenied):
        add_place(world.member, world.site, name="New", kind="bed", position=1)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"kind": "balcony"}, "kind"),
        ({"name": "x" * 61}, "name"),
        ({"temperature_c": NAN}, "temperature_c"),
        ({"temperature_c": 99.0}, "temperature_c"),
        ({"position": -1}, "position"),
    ],
)
def test_places_that_cannot_be(world: World, wrong: dict, field: str) -> None:
    given = {"name": "Cellar", "kind": "quarters", "position": 2} | wrong
    with pytest.raises(Refused) as problem:
        add_place(world.coordinator, world.site, **given)
    assert problem.value.field == field


def test_sites_are_the_coordinators(world: World) -> None:
    given = {
        "name": "Hill",
        "latitude": -34.6,
        "longitude": None,
        "time_zone": "America/Argentina/Buenos_Aires",
        "year_starts_in": 7,
    }
    assert add_site(world.coordinator, **given).southern
    with pytest.raises(Refused):
        add_site(world.coordinator, **given)
    with pytest.raises(PermissionDenied):
        add_site(world.member, **given | {"name": "Other"})
    with pytest.raises(Refused):
        add_site(world.coordinator, **given | {"name": "Other", "year_starts_in": 13})


def test_a_variety_is_made_once(world: World) -> None:
    first = variety(world.member, species="annuum", name="  Padrón ")
    assert variety(world.member, species="annuum", name="Padrón") == first
    assert variety(world.member, species="chinense", name="Padrón") != first
    assert VarietyFactory(species="annuum", name="Padrón").garden != world.garden
    with pytest.raises(Refused, match="species"):
        variety(world.member, species="tomato", name="Padrón")
    with pytest.raises(PermissionDenied):
        variety(world.committee, species="annuum", name="Padrón")


def test_what_a_person_sees_ends_when_they_leave(world: World) -> None:
    person = world.member.person
    assert list(Plant.objects.visible_to(person)) == [world.plant]
    assert list(Garden.objects.visible_to(person)) == [world.garden]
    assert not Plant.objects.visible_to(world.outsider).exists()
    Membership.objects.filter(pk=world.member.pk).update(left_on=date(2026, 10, 1))
    assert not Plant.objects.visible_to(person).exists()
    assert not Garden.objects.visible_to(person).exists()


def test_two_gardens_are_not_mixed_by_one_person_in_both(world: World) -> None:
    other = MembershipFactory(person=world.member.person, left_on=date(2026, 1, 1))
    assert list(Garden.objects.visible_to(world.member.person)) == [world.garden]
    assert other.garden not in Garden.objects.visible_to(world.member.person)


def test_a_role_may_what_its_row_says_until_its_person_leaves() -> None:
    """The whole table stands once more in the crawl of all addresses."""
    member = Membership(role="member")
    assert can(member, "entry.log")
    assert not can(member, "task.assign")
    member.left_on = date(2026, 1, 1)
    assert not can(member, "garden.read")
    assert not can(Membership(role="chief"), "garden.read")


EMAIL, PUSH = Message.Channel.EMAIL, Message.Channel.PUSH
PREFERENCES = {
    "name": "Ada",
    "temperature": "C",
    "length": "cm",
    "phone": "",
    "digest_day": 6,
    "digest_hour": 18,
    "choices": {},
}


def test_preferences(world: World) -> None:
    person = world.member.person
    given = {
        "name": " Ada ",
        "temperature": "F",
        "length": "in",
        "phone": "  +34 600  123 456 ",
        "digest_day": 0,
        "digest_hour": 7,
        "choices": {("due", EMAIL): False, ("due", PUSH): True},
    }
    set_preferences(person, **given)
    person = Person.objects.get(pk=person.pk)
    assert (person.name, person.temperature, person.length) == ("Ada", "F", "in")
    assert (person.phone, person.digest_day, person.digest_hour) == ("+34 600 123 456", 0, 7)
    assert choices_of(person)["due"] == {EMAIL: False, PUSH: True}
    assert choices_of(person)["week"] == {EMAIL: True, PUSH: False}
    assert choices_of(world.owner.person)["due"] == {EMAIL: True, PUSH: False}


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"temperature": "K"}, "temperature"),
        ({"length": "m"}, "length"),
        ({"name": ""}, "name"),
        ({"name": "x" * 10_000}, "name"),
        ({"phone": "call me"}, "phone"),
        ({"digest_day": 7}, "digest_day"),
        ({"digest_day": -1}, "digest_day"),
        ({"digest_hour": 6}, "digest_hour"),
        ({"digest_hour": 21}, "digest_hour"),
        ({"choices": {("due", EMAIL): False, ("due", "inbox"): False}}, ""),
        ({"choices": {("due", EMAIL): False, ("gossip", EMAIL): True}}, ""),
    ],
)
def test_preferences_are_all_set_or_none(world: World, wrong: dict, field: str) -> None:
    person = Person.objects.get(pk=world.member.person_id)
    with pytest.raises(Refused) as problem:
        set_preferences(person, **PREFERENCES | {"temperature": "F"} | wrong)
    assert (problem.value.field or "") == field
    person.refresh_from_db()
    assert (person.name, person.temperature) == ("Member", "C")
    assert not MessageChoice.objects.exists()


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("", ""), ("  ", ""), ("12345", "12345"), (" +1  555 0100 ", "+1 555 0100")],
)
def test_telephone_numbers_are_kept_plain(typed: str, kept: str) -> None:
    assert plain_phone(typed) == kept


@pytest.mark.parametrize(
    "typed", ["1234", "+", "600-123-456", "1+23456", "++34600", "6001234x", "٣٤٦٠٠", "1" * 31]
)
def test_other_text_is_no_telephone_number(typed: str) -> None:
    with pytest.raises(Refused, match="such as"):
        plain_phone(typed)


def test_a_person_may_be_made_who_gets_no_mail(db: None) -> None:
    person = add_person(email="b@garden.example", name="Bo", password="x" * 12, by_email=False)
    assert not any(channels[EMAIL] for channels in choices_of(person).values())

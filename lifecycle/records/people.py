"""What a person may change about themselves."""

from datetime import date

from lifecycle.models import Garden, Membership, Person, Role
from lifecycle.records.beginnings import plain_name
from lifecycle.records.refusal import Refused


def set_preferences(
    person: Person, *, name: str, temperature: str, length: str, wants_email: bool
) -> None:
    """Set a person's name, units and whether mail is wanted."""
    if temperature not in Person.Temperature.values:
        raise Refused("Choose degrees Celsius or Fahrenheit.", "temperature")
    if length not in Person.Length.values:
        raise Refused("Choose metric units or inches and ounces.", "length")
    person.name = plain_name(name, "person")
    person.temperature = temperature
    person.length = length
    person.wants_email = wants_email
    person.save(update_fields=["name", "temperature", "length", "wants_email"])


def add_person(*, email: str, name: str, password: str, wants_email: bool = True) -> Person:
    """Make a person who can sign in."""
    return Person.objects.create_user(
        email, password, name=plain_name(name, "person"), wants_email=wants_email
    )


def enrol(garden: Garden, person: Person, role: str, *, joined_on: date) -> Membership:
    """Make a person a member of a garden. Raises Refused for an unknown role."""
    if role not in Role.values:
        raise Refused("Choose one of the garden's roles.", "role")
    return Membership.objects.create(garden=garden, person=person, role=role, joined_on=joined_on)

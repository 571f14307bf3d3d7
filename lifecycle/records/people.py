"""What a person may change about themselves."""

from datetime import date

from lifecycle.models import Garden, Membership, Message, Person, Role
from lifecycle.records.beginnings import plain_name
from lifecycle.records.message_choices import choose
from lifecycle.records.refusal import Refused


def set_preferences(person: Person, *, name: str, temperature: str, length: str) -> None:
    """Set a person's name and units."""
    if temperature not in Person.Temperature.values:
        raise Refused("Choose degrees Celsius or Fahrenheit.", "temperature")
    if length not in Person.Length.values:
        raise Refused("Choose metric units or inches and ounces.", "length")
    person.name = plain_name(name, "person")
    person.temperature = temperature
    person.length = length
    person.save(update_fields=["name", "temperature", "length"])


def add_person(*, email: str, name: str, password: str, by_email: bool = True) -> Person:
    """Make a person who can sign in; ``by_email`` False: nothing is ever mailed to them."""
    person = Person.objects.create_user(email, password, name=plain_name(name, "person"))
    if not by_email:
        for kind in Message.Kind.values:
            choose(person, kind, Message.Channel.EMAIL, wanted=False)
    return person


def enrol(garden: Garden, person: Person, role: str, *, joined_on: date) -> Membership:
    """Make a person a member of a garden. Raises Refused for an unknown role."""
    if role not in Role.values:
        raise Refused("Choose one of the garden's roles.", "role")
    return Membership.objects.create(garden=garden, person=person, role=role, joined_on=joined_on)

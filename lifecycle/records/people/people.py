"""What a person may change about themselves."""

import re
from collections.abc import Mapping
from datetime import date

from django.db import transaction

from lifecycle.models import Garden, Membership, Message, Person, Role
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.messages.message_choices import choose
from lifecycle.records.refusal import Refused

Choices = Mapping[tuple[str, str], bool]
"""By kind and channel, whether a message is wanted."""

FIRST_HOUR, LAST_HOUR = 7, 20
"""Hours at which the weekly message may come: outside the quiet ones."""

_PHONE = re.compile(r"\+?[0-9]+(?: [0-9]+)*")
LEAST_DIGITS = 5
PHONE_LENGTH = 30
MOST_FORMER_NAMES = 20


def set_preferences(
    person: Person,
    *,
    name: str,
    temperature: str,
    length: str,
    phone: str,
    digest_day: int,
    digest_hour: int,
    choices: Choices,
) -> None:
    """Set all of a person's own settings, or none. Raises Refused.

    ``choices`` may leave kinds out: what was chosen for those stands.
    """
    if temperature not in Person.Temperature.values:
        raise Refused("Choose degrees Celsius or Fahrenheit.", "temperature")
    if length not in Person.Length.values:
        raise Refused("Choose metric units or inches and ounces.", "length")
    if digest_day not in range(7):
        raise Refused("Choose a day of the week.", "digest_day")
    if not FIRST_HOUR <= digest_hour <= LAST_HOUR:
        raise Refused(f"Choose an hour from {FIRST_HOUR} to {LAST_HOUR}.", "digest_hour")
    _rename(person, plain_name(name, "person"))
    person.temperature, person.length = temperature, length
    person.phone = plain_phone(phone)
    person.digest_day, person.digest_hour = digest_day, digest_hour
    with transaction.atomic():
        person.save(
            update_fields=[
                *("name", "former_names", "temperature", "length", "phone"),
                *("digest_day", "digest_hour"),
            ]
        )
        for (kind, channel), wanted in choices.items():
            try:
                choose(person, kind, channel, wanted)
            except ValueError as problem:
                raise Refused(str(problem)) from problem


def _rename(person: Person, name: str) -> None:
    """Give a person another name, and note the one before, so that erasing finds it too."""
    if name != person.name:
        before = [each for each in person.former_names if each not in (person.name, name)]
        person.former_names = [*before, person.name][-MOST_FORMER_NAMES:]
    person.name = name


def plain_phone(text: str) -> str:
    """Return a telephone number with single spaces, or "" for none. Raises Refused."""
    number = " ".join(text.split())
    if not number:
        return ""
    digits = sum(each.isdigit() for each in number)
    if len(number) > PHONE_LENGTH or digits < LEAST_DIGITS or not _PHONE.fullmatch(number):
        raise Refused(
            f"Telephone: give {LEAST_DIGITS} digits or more, with spaces between them and a plus "
            "sign in front if you like, such as +34 600 123 456.",
            "phone",
        )
    return number


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

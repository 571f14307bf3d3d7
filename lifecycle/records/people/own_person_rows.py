"""What concerns somebody alone, row by row, for their download: messages, settings, turns."""

from collections.abc import Iterator

from django.db.models import Q

from lifecycle.models import (
    Ask,
    Away,
    GivenAway,
    HandOver,
    Membership,
    Message,
    MessageChoice,
    OnCallTurn,
    Person,
    PushSubscription,
    ToolLoan,
    WorkHours,
)
from lifecycle.records.people.name_words import Scrubber
from lifecycle.records.people.own_record_rows import Row, newest, plainly, who


def about(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield what the site keeps of the person themselves, one setting a row."""
    kept = {
        "name": person.name,
        "names before": ", ".join(person.former_names),
        "e-mail address": person.email,
        "telephone": person.phone,
        "temperature": person.temperature,
        "length": person.length,
        "weekly message on": person.digest_day,
        "weekly message at": person.digest_hour,
        "here since": person.joined_at,
        "last here on": person.last_seen_on,
        "to be erased after": person.erase_after,
    }
    for setting, value in kept.items():
        yield {"setting": setting, "value": value}
    for device in PushSubscription.objects.filter(person=person).order_by("pk"):
        yield {"setting": "push messages on", "value": device.device or "a browser"}


def choices(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield which messages the person chose to get where."""
    for each in MessageChoice.objects.filter(person=person).order_by("kind", "channel"):
        yield {"kind": each.kind, "channel": each.channel, "wanted": each.wanted}


def memberships(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the person's memberships, with what they told each garden."""
    found = Membership.objects.filter(person=person).select_related("garden")
    for each in found.order_by("joined_on", "pk"):
        yield {
            "garden": each.garden.name,
            "role": each.role,
            "joined_on": each.joined_on,
            "left_on": each.left_on,
            "come_back_by": each.come_back_by,
            "name_goes": each.nameless,
            "skills": " ".join(each.skills),
            "minutes_a_week": each.minutes_a_week,
            "emergency_name": each.emergency_name,
            "emergency_phone": each.emergency_phone,
            "waiver_signed_on": each.waiver_signed_on,
            "safety_read_at": each.safety_read_at,
        }


def messages(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the messages to the person, with others' names taken out."""
    found = Message.objects.filter(person=person).select_related("garden")
    for each in newest(found.order_by("-made_at", "-pk")):
        yield {
            "garden": each.garden.name,
            "channel": each.channel,
            "kind": each.kind,
            "state": each.state,
            "made_at": each.made_at,
            "sent_at": each.sent_at,
            "read_at": each.read_at,
            "subject": scrubber.out_of(each.subject, own_words=True),
            "body": scrubber.out_of(each.body, own_words=True),
        }


def hours(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the hours the person wrote down."""
    found = WorkHours.objects.filter(person=person).select_related("garden")
    for each in newest(found.order_by("-worked_on", "-pk")):
        yield {
            "garden": each.garden.name,
            "worked_on": each.worked_on,
            "minutes": each.minutes,
            "what": scrubber.out_of(each.what, own_words=False),
            "struck": each.struck_at is not None,
        }


def given_away(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the harvest that the person noted as given away."""
    found = GivenAway.objects.filter(by=person).select_related("garden")
    for each in newest(found.order_by("-given_on", "-pk")):
        yield {
            "garden": each.garden.name,
            "given_on": each.given_on,
            "grams": each.grams,
            "to": each.to,
            "crop": each.species,
            "note": scrubber.out_of(each.note, own_words=False),
            "struck": each.struck_at is not None,
        }


def turns(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the person's turns on the rota."""
    found = OnCallTurn.objects.filter(person=person).select_related("garden", "site")
    for each in newest(found.order_by("-first_day", "-pk")):
        yield {
            "garden": each.garden.name,
            "site": each.site.name,
            "first_day": each.first_day,
            "last_day": each.last_day,
            "may_be_woken": each.wakes,
        }


def asks(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the frost nights that the person was asked for, and what they answered."""
    found = Ask.objects.filter(person=person).select_related("garden", "frost_night__site")
    for each in newest(found.order_by("-asked_at", "-pk")):
        yield {
            "garden": each.garden.name,
            "site": each.frost_night.site.name,
            "night": each.frost_night.night,
            "state": each.state,
            "asked_at": each.asked_at,
            "answered_at": each.answered_at,
            "passed_to": who(each.passed_to_id, person),
        }


def away(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield when the person was away, or covered for somebody."""
    found = Away.objects.filter(Q(person=person) | Q(cover=person)).select_related("garden")
    for each in newest(found.order_by("-first_day", "-pk")):
        yield {
            "garden": each.garden.name,
            "who": who(each.person_id, person),
            "first_day": each.first_day,
            "last_day": each.last_day,
            "cover": who(each.cover_id, person),
        }


def hand_overs(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the hand-overs that the person had a part in."""
    found = HandOver.objects.filter(Q(by=person) | Q(giver=person) | Q(to=person))
    rows = found.select_related("garden").prefetch_related(
        "items__plant", "items__sowing__variety", "items__place"
    )
    for each in newest(rows.order_by("-made_at", "-pk")):
        yield {
            "garden": each.garden.name,
            "what": ", ".join(plainly(item, scrubber) for item in each.items.all()),
            "giver": who(each.giver_id, person),
            "to": who(each.to_id, person),
            "from_day": each.from_day,
            "state": each.state,
            "note": scrubber.out_of(each.note, own_words=False),
            "why": scrubber.out_of(each.why, own_words=False),
        }


def loans(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the tools and keys that the person borrowed."""
    found = ToolLoan.objects.filter(person=person).select_related("garden", "tool")
    for each in newest(found.order_by("-out_at", "-pk")):
        yield {
            "garden": each.garden.name,
            "tool": plainly(each.tool, scrubber),
            "out_at": each.out_at,
            "back_at": each.back_at,
        }

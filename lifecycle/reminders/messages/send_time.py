"""What is looked at again just before a message goes out: may it still, and is it time?"""

import time
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch, Q

from lifecycle.models import Membership, Message, MessageChoice, MessageItem, Site
from lifecycle.records.messages.message_choices import DEFAULTS
from lifecycle.records.nights.rota import LEADING_ROLES
from lifecycle.reminders.clock import next_open_hour
from lifecycle.reminders.messages.claiming import held
from lifecycle.reminders.messages.composing import ASKED_FOR

_ITEMS = MessageItem.objects.select_related(
    *("task__plant__place", "task__plant__variety"),
    *("task__sowing__place", "task__sowing__variety"),
    *("task__chore__place", "task__chore__plant__place"),
)
FRESH_SECONDS = 2.0
"""What was read so long ago is read anew before the next message is sent."""


class Standings:
    """The claimed messages as they stand now, with all that decides whether they may go.

    Reading them together costs a few queries for all. On a slow mail server they are read
    again and again, so that nobody is written to on the strength of what was true long ago.
    """

    def __init__(self, token: UUID) -> None:
        self._token = token
        self._read_at = float("-inf")
        self._messages: dict[int, Message] = {}
        self._members: dict[tuple[int, int], str] = {}
        self._choices: dict[tuple[int, str, str], bool] = {}

    def of(self, pk: int) -> Message | None:
        """Return the message as it stands; None when it is not ours, or no longer."""
        if time.monotonic() - self._read_at > FRESH_SECONDS:
            self._read()
        return self._messages.get(pk)

    def is_wanted(self, message: Message) -> bool:
        """Return whether the person is still there and still wants this."""
        if not message.person.is_active:
            return False
        role = self._members.get((message.garden_id, message.person_id))
        if role is None or (_for_leads(message) and role not in LEADING_ROLES):
            return False
        if message.channel == Message.Channel.INBOX or message.about in ASKED_FOR:
            return True
        chosen = self._choices.get((message.person_id, message.kind, message.channel))
        return DEFAULTS[message.kind][message.channel] if chosen is None else chosen

    def _read(self) -> None:
        # Composers of what is due find their tasks read already.
        found = list(
            held(self._token)
            .select_related("person", "garden")
            .prefetch_related(Prefetch("items", _ITEMS))
        )
        self._messages = {message.pk: message for message in found}
        people = {message.person_id for message in found}
        members = Membership.objects.filter(
            person__in=people,
            garden__in={message.garden_id for message in found},
            left_on__isnull=True,
        )
        self._members = {
            (garden, person): role
            for garden, person, role in members.values_list("garden", "person", "role")
        }
        choices = MessageChoice.objects.filter(person__in=people)
        self._choices = {
            (person, kind, channel): wanted
            for person, kind, channel, wanted in choices.values_list(
                "person", "kind", "channel", "wanted"
            )
        }
        self._read_at = time.monotonic()


def _for_leads(message: Message) -> bool:
    """Return whether only who leads the garden may read it: gaps, failures, telephone numbers."""
    return message.kind == Message.Kind.LEAD or message.about == "frost_ladder_end"


class OpenHours:
    """When a message may disturb, on the clock of the site it is about.

    The site is the one its data names, itself or by a frost night, else the garden's first.
    """

    def __init__(self, now: datetime) -> None:
        self._now = now
        self._zones: dict[tuple[int, object, object], str] = {}

    def wait_for(self, message: Message) -> datetime | None:
        """Return the hour for which the message must wait; None when it may go now.

        What only appears on the page disturbs nobody; "Act now" goes at any hour.
        """
        if message.channel == Message.Channel.INBOX or message.about in ASKED_FOR:
            return None
        if message.level == Message.Level.ACT_NOW:
            return None
        opens = next_open_hour(self._now, self._zone(message))
        return opens if opens > self._now else None

    def _zone(self, message: Message) -> str:
        where = (message.garden_id, message.data.get("site"), message.data.get("night"))
        if where not in self._zones:
            self._zones[where] = _zone_of(*where)
        return self._zones[where]


def _zone_of(garden_id: int, site: object, night: object) -> str:
    of_garden = Site.objects.filter(garden=garden_id).order_by("pk")
    meant = Q(frost_nights=night) if isinstance(night, int) else Q(pk=None)
    if isinstance(site, int):
        meant |= Q(pk=site)
    found = of_garden.filter(meant).first() or of_garden.first()
    return found.time_zone if found is not None else "UTC"

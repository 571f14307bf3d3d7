"""Everything the site knows of one person, table by table, for them to take away.

Other people are named in it only as "another member": what they do is theirs.
"""

from datetime import datetime

from lifecycle.models import Membership, Person
from lifecycle.records.people import (
    audit,
    own_person_rows,
    own_record_rows,
)
from lifecycle.records.people.name_words import ANOTHER, Known, Scrubber
from lifecycle.records.people.own_dealings import DEALINGS
from lifecycle.records.people.own_table import OwnTable

_GARDEN = {"garden": "The garden it happened in"}
_SPAN = {"first_day": "First day", "last_day": "Last day, counted"}
_STRUCK = {"struck": "Whether it was struck through later"}


LEFT_OUT = (
    "Not in it: whom a coordinator means to give a task to and has not told yet; who wrote down "
    "readings, frost nights, beds, materials, seed lots, tools, chores, swaps and settings of the "
    "garden, which are the garden’s; passwords and secret addresses. In words that somebody typed, "
    "another’s name of one word stays, since it may be a plant’s."
)
"""What the download does not hold, as its page says it."""

TABLES: tuple[OwnTable, ...] = (
    OwnTable(
        "about_you",
        "What is kept of you yourself",
        {"setting": "Which setting", "value": "What it is; days of the week count from Monday, 0"},
        own_person_rows.about,
    ),
    OwnTable(
        "messages_chosen",
        "Which messages you chose to get where; what is not listed stands as it comes",
        {"kind": "Kind of message", "channel": "Where", "wanted": "Whether you want it there"},
        own_person_rows.choices,
    ),
    OwnTable(
        "memberships",
        "The gardens you belong or belonged to, and what you told them",
        {
            "garden": "The garden",
            "role": "Your role",
            "joined_on": "Day you joined",
            "left_on": "Day you left, if you did",
            "come_back_by": "Until when you can come back (UTC)",
            "name_goes": "Whether you asked that your name go from its record",
            "skills": "What you said you can do",
            "minutes_a_week": "Time you offered",
            "emergency_name": "Whom to call",
            "emergency_phone": "At which number",
            "waiver_signed_on": "Day you signed the waiver",
            "safety_read_at": "When you read the safety notice (UTC)",
        },
        own_person_rows.memberships,
    ),
    OwnTable(
        "entries",
        "What you wrote down about plants and sowings",
        {
            **_GARDEN,
            "about": "The plant or sowing",
            "kind": "What happened",
            "happened_on": "Day, on the site’s calendar",
            "written_at": "When it was written down (UTC)",
            "quantity": "Amount: litres, grams, centimetres or pieces, by kind",
            "choice": "What was chosen",
            "place": "Place it went to",
            "material": "What was fed",
            "note": "Your note",
            "passed_to": "Who holds it from then on",
            **_STRUCK,
        },
        own_record_rows.entries,
    ),
    OwnTable(
        "plants_held",
        "Plants and sowings you hold or held",
        {
            **_GARDEN,
            "code": "Code on the label",
            "name": "Name",
            "variety": "Variety",
            "place": "Where it stands now",
            "phase": "Where it is in its life",
            "began_on": "Day its record begins",
            "held_now": "Whether you hold it now",
        },
        own_record_rows.held,
    ),
    OwnTable(
        "plots_held",
        "Plots you hold or held",
        {**_GARDEN, "bed": "The plot", "since": "From this day", "until": "To this day"},
        own_record_rows.beds,
    ),
    OwnTable(
        "tasks",
        "Tasks you have, had when they were closed, or closed",
        {
            **_GARDEN,
            "what": "What was to be done",
            "about": "The plant or sowing",
            "earliest": "First day",
            "latest": "Last day",
            "state": "What became of it",
            "yours": "Whether it was given to you or you took it",
            "closed_by": "Who closed it",
            "closed_at": "When it was closed (UTC)",
            "why": "The reason given",
        },
        own_record_rows.tasks,
    ),
    OwnTable(
        "task_history",
        "What happened to tasks that you had a part in",
        {
            **_GARDEN,
            "task": "What was to be done",
            "act": "What happened",
            "at": "When (UTC)",
            "by": "Who did it; empty: the plan",
            "to": "Whom it was about",
            "note": "The words with it",
        },
        own_record_rows.task_events,
    ),
    OwnTable(
        "messages",
        "Messages to you",
        {
            **_GARDEN,
            "channel": "Where it went",
            "kind": "Kind of message",
            "state": "What became of it",
            "made_at": "When it was made (UTC)",
            "sent_at": "When it was sent (UTC)",
            "read_at": "When you opened it (UTC)",
            "subject": "Its subject",
            "body": "Its words",
        },
        own_person_rows.messages,
    ),
    OwnTable(
        "hours",
        "Hours you wrote down",
        {
            **_GARDEN,
            "worked_on": "Day",
            "minutes": "Minutes",
            "what": "What you did",
            **_STRUCK,
        },
        own_person_rows.hours,
    ),
    OwnTable(
        "given_away",
        "Harvest you noted as given away",
        {
            **_GARDEN,
            "given_on": "Day",
            "grams": "Weight in grams",
            "to": "Who got it",
            "crop": "Crop; empty: mixed",
            "note": "Your note",
            **_STRUCK,
        },
        own_person_rows.given_away,
    ),
    OwnTable(
        "turns",
        "Your turns on the frost rota",
        {**_GARDEN, "site": "The site", **_SPAN, "may_be_woken": "Whether you may be woken"},
        own_person_rows.turns,
    ),
    OwnTable(
        "asks",
        "Frost nights you were asked for",
        {
            **_GARDEN,
            "site": "The site",
            "night": "Date of its evening",
            "state": "Your answer, or what came of it",
            "asked_at": "When you were asked (UTC)",
            "answered_at": "When you answered (UTC)",
            "passed_to": "Whom you passed it on to",
        },
        own_person_rows.asks,
    ),
    OwnTable(
        "away",
        "When you were away, or did the work of somebody who was",
        {**_GARDEN, "who": "Who was away", **_SPAN, "cover": "Who did the work"},
        own_person_rows.away,
    ),
    OwnTable(
        "hand_overs",
        "Hand-overs you had a part in",
        {
            **_GARDEN,
            "what": "What was handed over",
            "giver": "Who had it; empty: nobody",
            "to": "Who was asked to take it",
            "from_day": "From which day",
            "state": "What became of it",
            "note": "The note with it",
            "why": "The reason given",
        },
        own_person_rows.hand_overs,
    ),
    OwnTable(
        "loans",
        "Tools and keys you borrowed",
        {
            **_GARDEN,
            "tool": "The tool or key",
            "out_at": "When you took it (UTC)",
            "back_at": "When you brought it back (UTC)",
        },
        own_person_rows.loans,
    ),
    *DEALINGS,
)


def note_export(person: Person, *, now: datetime) -> None:
    """Write down in each of the person's gardens that they downloaded their own data."""
    here = Membership.objects.filter(person=person, left_on__isnull=True)
    for member in here.order_by("pk"):
        audit.note(member, "exported", now=now, about=person)


def others_of(person: Person) -> Scrubber:
    """Return what takes the names of everybody else of the person's gardens out of words."""
    gardens = Membership.objects.filter(person=person).values("garden")
    others = Person.objects.filter(memberships__garden__in=gardens).exclude(pk=person.pk)
    known = [
        Known(
            [name for name in (each.name, *each.former_names) if name != person.name],
            [each.email],
            [each.phone],
        )
        for each in others.distinct()
    ]
    return Scrubber(known, ANOTHER)

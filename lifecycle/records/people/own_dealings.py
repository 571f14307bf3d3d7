"""What passed between somebody and others of their gardens, for their download.

Offers, notices, published work, invitations, letters, and what was noted about looking and
changing. Others stand in it as "another member".
"""

from collections.abc import Iterator

from django.db.models import Q

from lifecycle.models import (
    AuditNote,
    Inspection,
    Invitation,
    Letter,
    Person,
    PublishedTask,
    Task,
    TaskOffer,
)
from lifecycle.records.people.audit import ACTS
from lifecycle.records.people.name_words import ANOTHER, Scrubber
from lifecycle.records.people.own_record_rows import Row, newest, plainly, who
from lifecycle.records.people.own_table import OwnTable

_GARDEN = {"garden": "The garden it happened in"}


def offers(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the tasks that were offered by or to the person."""
    found = TaskOffer.objects.filter(Q(by=person) | Q(to=person)).select_related(
        "garden", "task__chore", "for_task__chore"
    )
    for each in newest(found.order_by("-made_at", "-pk")):
        yield {
            "garden": each.garden.name,
            "task": _task(each.task, scrubber),
            "for_task": _task(each.for_task, scrubber),
            "by": who(each.by_id, person),
            "to": who(each.to_id, person),
            "state": each.state,
            "made_at": each.made_at,
            "answered_at": each.answered_at,
        }


def published(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the tasks that went to or from the person when a week's work was published."""
    found = PublishedTask.objects.filter(Q(to=person) | Q(was=person)).select_related(
        "publication__garden", "task__chore"
    )
    for each in newest(found.order_by("-publication__at", "-pk")):
        yield {
            "garden": each.publication.garden.name,
            "at": each.publication.at,
            "task": _task(each.task, scrubber),
            "to": who(each.to_id, person),
            "was": who(each.was_id, person),
        }


def notices(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield what was found at beds when the person looked, closed it, or was told."""
    mine = Q(by=person) | Q(closed_by=person) | Q(told=person)
    found = Inspection.objects.filter(mine).select_related("garden", "place").distinct()
    told = set(Inspection.told.through.objects.filter(person=person).values_list("inspection"))
    for each in newest(found.order_by("-looked_on", "-pk")):
        yield {
            "garden": each.garden.name,
            "bed": plainly(each.place, scrubber),
            "looked_on": each.looked_on,
            "by": who(each.by_id, person),
            "in_order": each.in_order,
            "finding": scrubber.out_of(each.finding, own_words=False),
            "put_right_by": each.put_right_by,
            "closed_on": each.closed_on,
            "closed_by": who(each.closed_by_id, person),
            "told_you": (each.pk,) in told,
        }


def invitations(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the invitations that the person got, used, made or took back."""
    to_them = Q(email__iexact=person.email) | Q(used_by=person)
    found = Invitation.objects.filter(to_them | Q(made_by=person) | Q(revoked_by=person))
    for each in newest(found.select_related("garden").order_by("-made_at", "-pk")):
        theirs = each.used_by_id == person.pk or each.email.lower() == person.email
        yield {
            "garden": each.garden.name,
            "to": each.email if theirs else ANOTHER,
            "role": each.role,
            "made_by": who(each.made_by_id, person),
            "made_at": each.made_at,
            "used_at": each.used_at,
            "revoked_by": who(each.revoked_by_id, person),
            "revoked_at": each.revoked_at,
        }


def letters(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield the letters to the person: links to sign in, invitations, word of leaving."""
    found = Letter.objects.filter(Q(person=person) | Q(email=person.email))
    for each in newest(found.order_by("-made_at", "-pk")):
        yield {
            "about": each.about,
            "state": each.state,
            "made_at": each.made_at,
            "sent_at": each.sent_at,
            "used_at": each.used_at,
        }


def noted(person: Person, scrubber: Scrubber) -> Iterator[Row]:
    """Yield what was noted of the person's changes and looking, and of others' about them."""
    found = AuditNote.objects.filter(Q(by=person) | Q(about=person)).select_related("garden")
    for each in newest(found.order_by("-at", "-pk")):
        yield {
            "garden": each.garden.name,
            "at": each.at,
            "act": ACTS.get(each.act, each.act),
            "by": who(each.by_id, person),
            "about": who(each.about_id, person),
        }


def _task(task: Task | None, scrubber: Scrubber) -> str:
    if task is None:
        return ""
    return plainly(task.chore, scrubber) or task.kind


DEALINGS: tuple[OwnTable, ...] = (
    OwnTable(
        "offers",
        "Tasks you offered to others, and they to you",
        {
            **_GARDEN,
            "task": "What was to be done",
            "for_task": "In exchange for what; empty: for nothing",
            "by": "Who offered it",
            "to": "To whom",
            "state": "What came of it",
            "made_at": "When it was offered (UTC)",
            "answered_at": "When it was answered (UTC)",
        },
        offers,
    ),
    OwnTable(
        "published_work",
        "Tasks that you were given, or that went from you, with a week’s work",
        {
            **_GARDEN,
            "at": "When it was published (UTC)",
            "task": "What was to be done",
            "to": "Who has it since; empty: nobody",
            "was": "Who had it before; empty: nobody",
        },
        published,
    ),
    OwnTable(
        "notices",
        "What was found at beds, where you looked, closed it or were told",
        {
            **_GARDEN,
            "bed": "The bed",
            "looked_on": "Day",
            "by": "Who looked",
            "in_order": "Whether it was in order",
            "finding": "What was found",
            "put_right_by": "Day to put it right by",
            "closed_on": "Day it was closed",
            "closed_by": "Who closed it",
            "told_you": "Whether you held the bed and were told",
        },
        notices,
    ),
    OwnTable(
        "invitations",
        "Invitations to you, and those you sent or took back",
        {
            **_GARDEN,
            "to": "Address it went to, where it was yours",
            "role": "Role it gave",
            "made_by": "Who sent it; empty: asked for by the garden’s link",
            "made_at": "When it was made (UTC)",
            "used_at": "When it was used (UTC)",
            "revoked_by": "Who took it back",
            "revoked_at": "When it was taken back (UTC)",
        },
        invitations,
    ),
    OwnTable(
        "letters",
        "Letters to you from the site itself; their rows are kept for a while only",
        {
            "about": "What it was",
            "state": "What became of it",
            "made_at": "When it was asked for (UTC)",
            "sent_at": "When it was sent (UTC)",
            "used_at": "When its link was used (UTC)",
        },
        letters,
    ),
    OwnTable(
        "noted",
        "What was noted when you changed or looked at what only a few may, and others about you",
        {
            **_GARDEN,
            "at": "When (UTC)",
            "act": "What was done",
            "by": "Who did it; empty: the site itself",
            "about": "Whom it was about; empty: nobody",
        },
        noted,
    ),
)

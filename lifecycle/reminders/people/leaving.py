"""What the ticks do after somebody left: tell coordinators, and erase once the time is past."""

from datetime import datetime, timedelta

from lifecycle.models import Membership, Message, Person
from lifecycle.records.nights.rota import leads_of
from lifecycle.records.people.erasing import erase_person, forget_contacts, take_name_out
from lifecycle.records.people.erasing_asked import LAST_WORD, write_last_word
from lifecycle.records.people.leaving_ends import give_back_stranded
from lifecycle.records.people.left import left_lately
from lifecycle.records.people.memberships import local_day
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.people.handing import tell_after_leaving

KEPT = timedelta(days=7)
ABOUT = "left"


def leaving_all(*, now: datetime) -> int:
    """Tell of who left, and erase what is due. Returns how much was done."""
    told = sum(tell_who_left(member, now=now) for member in left_lately(now))
    told += give_back_stranded(now=now)
    return told + _say_last_word(now) + _erase(now) + forget_contacts(now=now)


def tell_who_left(member: Membership, *, now: datetime) -> int:
    """Tell the coordinators, once, that somebody left and what nobody has now."""
    today = local_day(member.garden_id, now)
    key = f"{ABOUT}:{member.pk}:{member.come_back_by or member.left_on:%Y%m%d%H%M%S}"
    if Message.objects.filter(key__startswith=f"{key}:").exists():
        return 0
    return tell_after_leaving(member, now=now) + sum(
        len(
            put(
                member.garden,
                lead,
                key=f"{key}:{lead.pk}",
                kind=Message.Kind.LEAD,
                level=Message.Level.NOTE,
                about=ABOUT,
                data={"membership": member.pk},
                for_day=today,
                not_before=now,
                expires_at=now + KEPT,
                now=now,
            )
        )
        for lead in leads_of(member.garden_id)
    )


def _say_last_word(now: datetime) -> int:
    soon = Person.objects.filter(
        erase_after__gt=now, erase_after__lte=now + LAST_WORD, erased_at__isnull=True
    )
    return sum(write_last_word(person, now=now) for person in soon.order_by("pk"))


def _erase(now: datetime) -> int:
    names = Membership.objects.filter(
        left_on__isnull=False, nameless=True, come_back_by__lte=now, name_gone_at__isnull=True
    )
    people = Person.objects.filter(erase_after__lte=now, erased_at__isnull=True)
    # Whoever is erased everywhere goes out of each garden by that.
    alone = names.exclude(person__in=people.values("pk"))
    done = sum(
        take_name_out(member, now=now)
        for member in alone.select_related("person", "garden").order_by("pk")
    )
    return done + sum(erase_person(person, now=now) for person in people.order_by("pk"))

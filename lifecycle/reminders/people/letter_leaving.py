"""Letters to somebody who leaves: until when they can come back, and the last one of all."""

from datetime import datetime

from django.conf import settings
from django.utils.translation import gettext as _

from lifecycle.care.wording import short_date
from lifecycle.models import Letter, Membership, Person
from lifecycle.reminders.messages.composing import Composed, Line


def compose(letter: Letter, now: datetime) -> Composed | None:
    """Write what leaving or being erased means; None when it was taken back meanwhile."""
    person = letter.person
    if person is None or person.erased_at is not None:
        return None
    if letter.about == Letter.About.ERASED:
        return _last_word(person, now)
    if letter.data.get("account"):
        return _account(person, now)
    member = (
        Membership.objects.filter(
            pk=letter.data.get("membership"), person=person, left_on__isnull=False
        )
        .select_related("garden")
        .first()
    )
    return None if member is None else _garden(member, now)


def _garden(member: Membership, now: datetime) -> Composed | None:
    if member.come_back_by is None:
        return None
    given = {
        "garden": member.garden.name,
        "day": short_date(member.come_back_by.date(), now.date()),
    }
    name = (
        _(
            "After that day your name goes from the garden’s record, and “former member” stands "
            "in its place. What was done stays."
        )
        if member.nameless
        else _("Your name stays in the garden’s record, beside what you did.")
    )
    return _composed(
        _("You left {garden}").format(**given),
        [
            _("You get no more messages from {garden}, and see nothing of it.").format(**given),
            _("Until {day} you can come back: sign in, and press “Come back”.").format(**given),
            name,
        ],
        _("Sign in"),
    )


def _account(person: Person, now: datetime) -> Composed | None:
    if person.erase_after is None:
        return None
    day = short_date(person.erase_after.date(), now.date())
    return _composed(
        _("Your account will be erased after {day}").format(day=day),
        [
            _("You left all your gardens, and every message has stopped."),
            _(
                "After {day} your name, address, telephone number and settings are erased, and "
                "“former member” stands in the records in place of your name."
            ).format(day=day),
            _("Until then you can take it back: sign in, and press “Keep my account”."),
        ],
        _("Sign in"),
    )


def _last_word(person: Person, now: datetime) -> Composed | None:
    if person.erase_after is None or person.erase_after <= now:
        return None
    given = {"moment": f"{person.erase_after:%H:%M}", "day": short_date(person.erase_after.date())}
    return _composed(
        _("Today is the last day of your account"),
        [
            _(
                "On {day} at {moment} UTC everything personal of yours is erased here. This is "
                "the last letter you get."
            ).format(**given),
            _("If you want to stay after all, sign in before then and press “Keep my account”."),
        ],
        _("Sign in"),
    )


def _composed(subject: str, sentences: list[str], link: str) -> Composed:
    url = f"{settings.SITE_URL}/"
    lines = tuple(Line(text) for text in sentences)
    return Composed(subject=subject, lines=(*lines, Line(link, url)), short=subject, url=url)

"""At least one row of every table that a garden or a person owns: work, people, shed, channels."""

from datetime import timedelta
from uuid import uuid4

from lifecycle import models
from lifecycle.models import Task
from lifecycle.records.messages.calendar import code_of
from lifecycle.records.messages.unsubscribing import stop_path
from lifecycle.records.people.invitations import link_path as invitation_path
from lifecycle.records.people.join_link import join_path
from lifecycle.records.people.letters import link_path
from lifecycle.records.year.closing import close_year
from tests.factories import NOON, a_task
from tests.web.crawl_world import LATER, SOON, TODAY, Ground

HOUR = timedelta(hours=1)


def _work(ground: Ground) -> None:
    site, holder, member = ground.site, ground.person("holder"), ground.person("member")
    lead = ground.person("coordinator")
    task = a_task(ground.plant, "cut_back", assignee=holder, reason=f"{ground.mark} reason")
    a_task(ground.sowing, "pot_up", reason=ground.words("reason"))
    swapped = a_task(ground.plant, "winter_check", assignee=member)
    offered = a_task(ground.plant, "pest_check", assignee=holder)
    chore = ground.put(
        models.Chore,
        site=site,
        place=ground.bed,
        title=ground.words("taps"),
        how=ground.words("how"),
        first_day=TODAY,
        made_by=lead,
        made_at=NOON,
    )
    job = ground.put(
        Task,
        site=site,
        chore=chore,
        kind=Task.CHORE,
        growing_year=2026,
        number=287,
        earliest=TODAY,
        best=TODAY,
        latest=SOON,
        counts_from=TODAY,
        reason=ground.words("chore"),
        made_at=NOON,
    )
    ground.put(
        models.TaskEvent,
        task=task,
        act="given",
        at=NOON,
        by=lead,
        to=holder,
        note=ground.words("event"),
    )
    offer = ground.put(models.TaskOffer, task=offered, by=holder, to=member, made_at=NOON)
    ground.put(models.WorkDraft, task=job, to=member, by=lead, at=NOON)
    published = ground.put(models.Publication, by=lead, at=NOON, first_day=TODAY, last_day=LATER)
    models.PublishedTask.objects.create(publication=published, task=task, to=holder)
    away = ground.put(
        models.Away,
        person=holder,
        first_day=SOON,
        last_day=LATER,
        cover=member,
        made_at=NOON,
    )
    message = _message(ground, "member")
    _message(ground, "holder")
    failed = _message(ground, "coordinator")
    models.Message.objects.filter(pk=failed.pk).update(state="failed", sent_at=None)
    models.MessageItem.objects.create(message=message, task=task, person=member, channel="inbox")
    ground.keep(
        task=task,
        offered_task=offered,
        swapped_task=swapped,
        chore=chore,
        chore_task=job,
        offer=offer,
        publication=published,
        away=away,
        message=message,
        failed_message=failed,
    )
    ground.things["task_year"], ground.things["task_number"] = task.growing_year, task.number


def _message(ground: Ground, who: str) -> models.Message:
    return ground.put(
        models.Message,
        key=f"crawl:{ground.mark}:{who}",
        person=ground.person(who),
        channel="inbox",
        for_day=TODAY,
        subject=ground.words("subject"),
        body=ground.words("body"),
        not_before=NOON,
        expires_at=NOON + HOUR,
        state="sent",
        sent_at=NOON,
        made_at=NOON,
    )


def _joining(ground: Ground) -> None:
    lead = ground.person("coordinator")
    mark = ground.mark.lower()
    invited = ground.put(
        models.Invitation,
        email=f"invited@{mark}.example",
        name=ground.words("Newcomer"),
        nonce=uuid4(),
        made_by=lead,
        made_at=NOON,
        sent_at=NOON,
        expires_at=NOON + timedelta(14),
        place=ground.bed,
    )
    waiting = ground.put(
        models.WaitingPerson,
        name=ground.words("Patient"),
        note=ground.words("asks"),
        email=f"waiting@{mark}.example",
        asked_on=TODAY,
        made_at=NOON,
    )
    letter = models.Letter.objects.create(
        email=ground.person("member").email,
        about="sign_in",
        person=ground.person("member"),
        nonce=uuid4(),
        made_at=NOON,
        expires_at=NOON + HOUR / 2,
        not_before=NOON,
        state="sent",
        sent_at=NOON,
    )
    note = ground.put(models.AuditNote, at=NOON, by=lead, about=lead, act="roles_seen")
    ground.keep(invitation=invited, waiting=waiting, letter=letter, audit=note)
    ground.things["garden_pk"] = ground.garden.pk
    ground.things["letter_code"] = _code_in(link_path(letter))
    ground.things["invitation_code"] = _code_in(invitation_path(invited))
    ground.things["join_code"] = _code_in(join_path(ground.garden))


def _code_in(path: str) -> str:
    return path.rsplit("/", 1)[1]


def _shed(ground: Ground) -> None:
    site, holder = ground.site, ground.person("holder")
    tool = ground.put(
        models.Tool,
        site=site,
        name=ground.words("spade"),
        kept_in=ground.words("hut"),
        note=ground.words("blunt"),
    )
    loan = ground.put(models.ToolLoan, tool=tool, person=holder, out_at=NOON)
    given = ground.put(
        models.GivenAway,
        uuid=uuid4(),
        site=site,
        given_on=TODAY,
        grams=900,
        to="food_bank",
        note=ground.words("pantry"),
        by=holder,
        at=NOON,
    )
    hours = ground.put(
        models.WorkHours,
        uuid=uuid4(),
        person=holder,
        worked_on=TODAY,
        minutes=45,
        what=ground.words("hours"),
        at=NOON,
    )
    close_year(ground.people["coordinator"], 2025, now=NOON)
    ground.keep(tool=tool, loan=loan, given=given, hours=hours)


def _handing(ground: Ground) -> None:
    holder, member = ground.person("holder"), ground.person("member")
    hand_over = ground.put(
        models.HandOver,
        uuid=uuid4(),
        by=holder,
        giver=holder,
        to=member,
        from_day=SOON,
        note=ground.words("handing"),
        made_at=NOON,
    )
    neighbour = models.Plant.objects.get(code=ground.things["neighbour"])
    models.HandOverItem.objects.create(hand_over=hand_over, plant=neighbour)
    ground.keep(hand_over=hand_over)


def _person(ground: Ground) -> None:
    holder = ground.person("holder")
    calendar = models.CalendarAddress.objects.create(person=holder, nonce=uuid4(), made_at=NOON)
    item = ground.put(
        models.CalendarItem,
        person=holder,
        uid=uuid4(),
        parts=["task:1"],
        last_day=TODAY,
        content={
            "starts": "2026-10-14",
            "ends": "2026-10-15",
            "zone": "",
            "url": "",
            "summary": ground.words("event"),
            "description": "",
            "location": "",
            "categories": [],
        },
        made_at=NOON,
        changed_at=NOON,
    )
    push = models.PushSubscription.objects.create(
        person=holder,
        endpoint=f"https://push.example/{ground.mark}",
        p256dh="k",
        auth="a",
        device=ground.words("phone"),
        made_at=NOON,
    )
    models.MessageChoice.objects.create(person=holder, kind="due", channel="push", wanted=True)
    ground.keep(calendar=calendar, calendar_item=item, push=push)
    ground.things["calendar_code"] = code_of(calendar)
    ground.things["stop_code"] = _code_in(stop_path(holder.pk, "due"))


PARTS = (_work, _joining, _shed, _handing, _person)

"""What coordinators read when somebody left: what nobody has now, and what was offered on."""

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lifecycle.models import HandOver, Membership, Message, SensorAddress
from lifecycle.records.ground.shed import out_with
from lifecycle.records.people.belongings import Group
from lifecycle.records.people.left import unheld_groups
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.people.leaving import ABOUT
from lifecycle.reminders.work.task_words import garden_url


@register(ABOUT)
def somebody_left(message: Message, now: datetime) -> Composed | None:
    """Write what is without a holder; None when they came back."""
    member = (
        Membership.objects.filter(
            pk=message.data["membership"], garden=message.garden_id, left_on__isnull=False
        )
        .select_related("person", "garden")
        .first()
    )
    if member is None:
        return None
    groups = unheld_groups(member)
    subject = _("{garden}: {who} left").format(garden=member.garden.name, who=member.person)
    lines = [Line(_summary(groups))]
    lines += [Line(_group_words(group)) for group in groups]
    offered = HandOver.objects.filter(
        garden=member.garden_id,
        giver=member.person,
        state__in=[HandOver.State.PROPOSED, HandOver.State.ACCEPTED],
    ).count()
    if offered:
        said = ngettext(
            "{n} hand-over of theirs waits for an answer or for its day.",
            "{n} hand-overs of theirs wait for an answer or for their day.",
            offered,
        )
        lines.append(Line(said.format(n=offered), garden_url(member.garden, "hand-overs")))
    lines += [
        Line(_("They still have: {tool}. Ask for it back.").format(tool=loan.tool))
        for loan in list(out_with(member.person, member.garden_id))
    ]
    lines += [
        Line(
            _(
                "The address to which the thermometer at {site} sends ended with them. Give it the "
                "new one."
            ).format(site=address.site),
            garden_url(member.garden, f"sites/{address.site_id}/forecast"),
        )
        for address in _thermometers(member)
    ]
    lines.append(Line(_("Plants without a holder"), garden_url(member.garden, "plants?holder=0")))
    return Composed(
        subject=subject, lines=tuple(lines), short=subject[:SHORT_LENGTH], url=lines[-1].url
    )


def _summary(groups: list[Group]) -> str:
    plants = sum(len(group.plants) for group in groups)
    sowings = sum(len(group.sowings) for group in groups)
    if not groups:
        return _("Nothing was theirs to look after. Their tasks wait for somebody else.")
    return _(
        "Nobody looks after these now ({plants} plants, {sowings} sowings). Their tasks wait for "
        "somebody else. Hand them to somebody on the page of each plant or bed."
    ).format(plants=plants, sowings=sowings)


def _group_words(group: Group) -> str:
    names = ", ".join(str(each) for each in [*group.plants, *group.sowings])
    place = str(group.place) if group.place is not None else _("No place noted")
    if group.holds and names:
        return _("{place}, the plot itself and: {names}").format(place=place, names=names)
    if group.holds:
        return _("{place}, the plot itself").format(place=place)
    return f"{place}: {names}"


def _thermometers(member: Membership) -> list[SensorAddress]:
    """Return the addresses that ended with somebody and that nothing has sent to since."""
    ended = SensorAddress.objects.filter(
        garden=member.garden_id, made_by=member.person, heard_at__isnull=True
    )
    return list(ended.select_related("site").order_by("site__name", "pk"))

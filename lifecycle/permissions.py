"""One table: what each role may do. Outsiders learn nothing: for them there is no garden."""

from django.core.exceptions import PermissionDenied
from django.http import Http404

from lifecycle.models import Membership, Person, Role

_READ = frozenset({"garden.read", "garden.leave", "own.edit"})
_REPORT = frozenset({"report.read"})
_DO = _READ | {
    *("entry.log", "entry.strike_own", "material.add", "plant.add", "task.do", "weather.type"),
    *("frost.do", "rota.join", "tool.borrow", "harvest.give", "hours.own"),
    *("task.offer", "plant.hand_over"),
}
_LEAD = (
    _DO
    | _REPORT
    | {
        *("entry.strike_any", "place.add", "place.edit", "site.edit", "task.assign", "weather.add"),
        *("variety.edit", "cover.edit", "forecast.edit", "frost.lead", "message.lead", "rota.edit"),
        *("people.read", "people.invite", "people.edit", "chore.edit", "week.publish"),
        *("hand_over.lead", "bed.rules", "bed.holders", "bed.inspect", "tool.edit", "report.close"),
    }
)

ROLE_ACTIONS: dict[str, frozenset[str]] = {
    Role.MEMBER: _DO,
    Role.COORDINATOR: _LEAD,
    Role.COMMITTEE: _READ | _REPORT,
    Role.OWNER: _LEAD | {"garden.edit", "role.edit", "audit.read"},
}


def can(member: Membership, action: str) -> bool:
    """Return whether ``member`` may do ``action`` in their garden today."""
    return member.left_on is None and action in ROLE_ACTIONS.get(member.role, frozenset())


def require(member: Membership, action: str) -> None:
    """Raise PermissionDenied with a sentence unless ``member`` may do ``action``."""
    if not can(member, action):
        raise PermissionDenied(
            f"Your role here is {Role(member.role).label.lower()}, which does not include this. "
            "Ask a coordinator of the garden."
        )


def membership_or_404(person: Person, slug: str) -> Membership:
    """Return the person's membership of the garden at ``slug``.

    Raises Http404 for a garden that does not exist and for one they do not belong to:
    the two answers are the same.
    """
    member = (
        Membership.objects.filter(garden__slug=slug, person=person, left_on__isnull=True)
        .select_related("garden", "person")
        .first()
    )
    if member is None:
        raise Http404("There is no such garden, or you do not belong to it.")
    return member

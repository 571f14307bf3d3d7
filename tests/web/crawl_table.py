"""Every address of the site: who may read it, who may write there, and what it names.

``ROLES`` says once more what each role may do, on purpose: a slip in the table of permissions is
noticed by the two being different.
"""

from dataclasses import dataclass, field

_ALL = "garden.read garden.leave own.edit"
_MEMBER = f"""{_ALL} entry.log entry.strike_own material.add plant.add task.do task.offer
    weather.type frost.do rota.join tool.borrow harvest.give hours.own plant.hand_over"""
_LEAD = f"""{_MEMBER} report.read report.close entry.strike_any place.add place.edit site.edit
    task.assign weather.add variety.edit cover.edit forecast.edit frost.lead message.lead rota.edit
    people.read people.invite people.edit chore.edit week.publish hand_over.lead bed.rules
    bed.holders bed.inspect tool.edit"""

ROLES = {
    "member": frozenset(_MEMBER.split()),
    "coordinator": frozenset(_LEAD.split()),
    "committee": frozenset(f"{_ALL} report.read".split()),
    "owner": frozenset(f"{_LEAD} garden.edit role.edit audit.read".split()),
}
NOBODYS = frozenset({"anonymous", "outsider", "former"})
"""Those who do not belong."""

INSIDERS = ("member", "holder", "coordinator", "committee", "owner")
READERS = ("anonymous", "outsider", "former", *INSIDERS, "both")
"""Beside those who do not belong and the members: somebody who owns this garden and another."""
METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE")

OPEN, SECRET, SIGNED_IN, GARDEN = "open", "secret", "signed in", "garden"
"""Anybody; whoever knows the code; whoever is signed in; members, by their role."""


@dataclass(frozen=True)
class Address:
    """What is expected of one address.

    ``names`` maps each part of the address to the thing of the garden it names. ``only``: to
    other members the row is not there. ``sure``: asks again who is there. ``says`` are statuses
    that differ from the usual for those who may: 200 to read, a redirect or a refusal to write.
    """

    kind: str
    methods: frozenset[str]
    names: dict[str, str]
    read: str = "garden.read"
    write: str = "garden.read"
    only: frozenset[str] = frozenset()
    sure: bool = False
    says: dict[str, frozenset[int]] = field(default_factory=dict)
    exempt: bool = False
    also: frozenset[str] = frozenset()
    notes: frozenset[str] = frozenset()


_READ, _WRITE, _BOTH = {"GET", "HEAD"}, {"POST"}, {"GET", "HEAD", "POST"}


def _address(kind: str, methods: set[str], /, **more: object) -> Address:
    named = {key: str(more.pop(key)) for key in list(more) if key not in _OPTIONS}
    return Address(kind, frozenset(methods), named, **more)  # type: ignore[arg-type]


_OPTIONS = {"also", "notes", "read", "write", "only", "sure", "says", "exempt"}


def page(read: str = "garden.read", /, **more: object) -> Address:
    """A page of a garden that is only read."""
    return _address(GARDEN, _READ, read=read, slug="slug", **more)


def form(write: str, read: str | None = None, /, **more: object) -> Address:
    """A page of a garden with forms; without ``read``, only those who may write open it."""
    return _address(GARDEN, _BOTH, read=read or write, write=write, slug="slug", **more)


def act(write: str, /, **more: object) -> Address:
    """An address of a garden that only takes a form."""
    return _address(GARDEN, _WRITE, read=write, write=write, slug="slug", **more)


def _says(**by_method: int | set[int]) -> dict[str, frozenset[int]]:
    return {
        method: frozenset({found} if isinstance(found, int) else found)
        for method, found in by_method.items()
    }


_STEP = {"kind": "task_kind", "year": "task_year", "number": "task_number"}
READ = "garden.read"
_MESSAGE = frozenset({"lifecycle_message"})
_CALENDAR = frozenset({"lifecycle_calendaraddress", "lifecycle_calendaritem"})
_AUDIT = frozenset({"lifecycle_auditnote"})
NOT_BY_HEAD = _MESSAGE
"""What a look from afar must not note: a message is read by whoever opens it."""
ALWAYS_NOTED = frozenset({"django_session"})
"""Sessions of whoever is signed in move on with every page."""

TABLE: dict[str, Address] = {
    # Open to anybody, and the codes that are the right to come in.
    "healthz": _address(OPEN, _READ),
    "readyz": _address(OPEN, _READ),
    "first-run": _address(OPEN, _BOTH, says=_says(GET=302, POST=302)),
    "sign-in": _address(OPEN, _BOTH, says=_says(GET={200, 302})),
    "push-worker": _address(OPEN, _READ),
    "manifest": _address(OPEN, _READ),
    "ask": _address(SECRET, _BOTH, pk="ask", code="ask_code", exempt=True),
    "unsubscribe": _address(
        SECRET, _BOTH, person="holder", kind="message_kind", code="stop_code", exempt=True
    ),
    "sensor": _address(
        SECRET, _WRITE, pk="sensor", code="sensor_code", exempt=True, says=_says(POST=400)
    ),
    "calendar": _address(SECRET, _READ, pk="calendar", code="calendar_code", notes=_CALENDAR),
    "sign-in-link": _address(OPEN, _BOTH),
    "sign-in-by-link": _address(SECRET, _BOTH, pk="letter", code="letter_code"),
    "accept-invitation": _address(SECRET, _BOTH, pk="invitation", code="invitation_code"),
    "join": _address(SECRET, _BOTH, pk="garden_pk", code="join_code"),
    # Of the person who is signed in.
    "sign-in-again": _address(SIGNED_IN, _BOTH),
    "change-password": _address(SIGNED_IN, _BOTH),
    "sign-out-everywhere": _address(SIGNED_IN, _WRITE),
    "come-back": _address(SIGNED_IN, _WRITE, pk="former_membership", says=_says(POST=404)),
    "erase-me": _address(SIGNED_IN, _BOTH, sure=True),
    "keep-me": _address(SIGNED_IN, _WRITE),
    "export-me": _address(SIGNED_IN, _BOTH, sure=True),
    "home": _address(SIGNED_IN, _READ, says=_says(GET={200, 302})),
    "sign-out": _address(SIGNED_IN, _WRITE),
    "settings": _address(SIGNED_IN, _BOTH),
    "allow-push": _address(SIGNED_IN, _BOTH),
    "stop-push": _address(SIGNED_IN, _WRITE),
    "calendar-address": _address(SIGNED_IN, _WRITE),
    "label": _address(GARDEN, _READ, code="plant", says=_says(GET=302)),
    # Of a garden.
    "today": page(),
    "beds": page(),
    "bed": page(pk="place"),
    "log-several": act("entry.log", pk="place", kind="entry_kind"),
    "bed-ground": form("place.edit", pk="place"),
    "bed-years": form("place.edit", pk="place"),
    "feed-bed": form("entry.log", pk="place"),
    "add-place": form("place.add"),
    "add-site": form("site.edit"),
    "plants": page(),
    "take-over": form("plant.add"),
    "plant": page(code="plant"),
    "why-plant": page(code="plant", **_STEP),
    "log-choice": page("entry.log", code="plant"),
    "log-plant": form("entry.log", code="plant", kind="entry_kind"),
    "feed-plant": form("entry.log", code="plant"),
    "move": form("entry.log", code="plant"),
    "split": form("plant.add", code="plant"),
    "cuttings": form("plant.add", code="plant"),
    "seed": form("plant.add", code="plant"),
    "identity": page(code="plant"),
    "doubt": form("entry.log", code="plant"),
    "settle": form("entry.log", code="plant"),
    "take-back": form("entry.strike_own", code="plant", pk="doubt"),
    "hand-over": form("plant.hand_over", code="plant"),
    "hand-over-sowing": form("plant.hand_over", code="sowing"),
    "bed-hand-over": form("plant.hand_over", pk="place"),
    "hand-overs": page(),
    "hand-over-page": form("plant.hand_over", READ, pk="hand_over"),
    "hand-over-sheet": page(),
    "leave": form("garden.leave", sure=True),
    "bed-rules": form("bed.rules", pk="site"),
    "bed-own-rules": form("bed.rules", pk="place"),
    "bed-holders": form("bed.holders", pk="place"),
    "chores": form("chore.edit", READ),
    "add-chore": form("chore.edit"),
    "chore": form("chore.edit", READ, pk="chore"),
    "task-offer": form("task.do", READ, pk="offer"),
    "away": form("task.do"),
    "week": form("week.publish"),
    "publication": page(pk="publication"),
    "report": page("report.read"),
    "report-year": form("report.close", "report.read", year="report_year"),
    "report-rows": page("report.read", year="report_year", figure="figure"),
    "sow": form("plant.add"),
    "sowing": page(code="sowing"),
    "why-sowing": page(code="sowing", **_STEP | {"kind": "sowing_step"}),
    "log-sowing": form("entry.log", code="sowing", kind="sowing_kind"),
    "pot-up": form("plant.add", code="sowing"),
    "entry": form("entry.strike_own", READ, pk="entry", says=_says(POST={200, 302, 422})),
    "seeds": page(),
    "add-lot": form("plant.add"),
    "test-lot": form("plant.add", pk="lot"),
    "tasks": form("task.do", READ),
    "task": form("task.do", READ, pk="task"),
    "inbox": page(),
    "message": page(pk="message", only=frozenset({"member"}), notes=_MESSAGE),
    "reading": form("weather.type", pk="site"),
    "climate": form("weather.add", READ, pk="site"),
    "planting-out": page(pk="site"),
    "forecast": form("forecast.edit", READ, pk="site"),
    "overnight-low": form("weather.type", pk="site"),
    "rehearsal": page(pk="site"),
    "site-events": form("weather.type", READ, pk="site"),
    "site-event": form("weather.type", READ, pk="site", event="event"),
    "site-settings": form("site.edit", READ, pk="site"),
    "covers": form("cover.edit", READ, pk="site"),
    "cover": form("cover.edit", pk="site", cover="cover"),
    "frost": form("frost.lead", READ, says=_says(POST=404)),
    "frost-night": form("frost.do", READ, site="site", night="night"),
    "varieties": page(),
    "add-variety": form("plant.add"),
    "variety": form("variety.edit", READ, pk="variety"),
    "sources": page(),
    "sources-topic": page(topic="topic"),
    "symptoms": page(),
    "symptom": page(key="symptom"),
    "more": page(),
    "coordinate": page("task.assign"),
    "system": form("message.lead"),
    "rota": form("rota.join", READ),
    "rota-turn": form("rota.edit", pk="turn", also=frozenset({"holder"})),
    "people": page(notes=_AUDIT),
    "person": form("people.edit", READ, pk="member", notes=_AUDIT),
    "person-role": form("role.edit", pk="member", sure=True),
    "person-out": form("people.edit", pk="member", sure=True),
    "invite": form("people.invite"),
    "invitation": form("people.invite", pk="invitation"),
    "waiting-list": form("people.invite"),
    "garden-settings": form("garden.edit", sure=True),
    "audit": page("audit.read", sure=True, notes=_AUDIT),
    "my-membership": form("own.edit"),
    "welcome": page(),
    "tools": form("tool.edit", READ),
    "tool": form("tool.edit", READ, pk="tool"),
    "inspections": form("bed.inspect", says=_says(POST=404)),
    "inspect": form("bed.inspect", pk="place"),
    "given-away": form("harvest.give", READ),
    "hours": form("hours.own"),
    "frost-ask": act("frost.lead", pk="frost_night"),
    "frost-volunteer": act("frost.do", pk="frost_night"),
    "frost-answer": act("frost.do", pk="frost_night", only=frozenset({"holder"})),
}

WORDS: dict[str, str | int] = {
    "task_kind": "cut_back",
    "entry_kind": "pest_check",
    "sowing_kind": "emerged",
    "sowing_step": "pot_up",
    "message_kind": "due",
    "topic": "raising",
    "symptom": "mosaic",
    "report_year": 2025,
    "figure": "given-all",
}
"""Parts of addresses that name nothing of a garden."""

"""Forms about people: inviting, the waiting list, roles, and what a member says of themselves."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.care.skills import SKILLS
from lifecycle.models import Garden, Joining, Membership, Person, PlaceKind, Role
from lifecycle.permissions import can
from lifecycle.records.people.garden_settings import TEXT_LENGTH
from lifecycle.records.people.invitations import roles_to_give
from lifecycle.records.people.memberships import MOST_MINUTES
from lifecycle.records.people.waiting import NOTE_LENGTH
from lifecycle.web.forms.account import OwnDeviceField, PasswordField
from lifecycle.web.forms.choices import PlaceChoice
from lifecycle.web.forms.fields import CountField, DayField, PlainForm, TextField
from lifecycle.web.forms.public import PublicForm

LIST_LENGTH = 60_000


class AddressField(forms.EmailField):
    """An e-mail address of somebody."""

    def __init__(self, label: str = "E-mail address", autocomplete: str = "off") -> None:
        sentence = f"{label}: type it whole, such as anna@example.org."
        super().__init__(
            label=label,
            max_length=254,
            error_messages={
                **dict.fromkeys(("required", "invalid", "max_length"), sentence),
                "null_characters_not_allowed": sentence,
            },
            widget=forms.EmailInput(attrs={"autocomplete": autocomplete, "autocapitalize": "none"}),
        )
        self.widget.attrs.pop("maxlength", None)


def safety_field() -> forms.BooleanField:
    """Return the box that says the safety notice was read."""
    return forms.BooleanField(
        label="I have read the safety notice",
        error_messages={"required": "Read the safety notice, and tick that you have."},
    )


class InviteForm(PlainForm):
    """Who is invited; an owner chooses a role where ``gives_roles``, whoever gives beds a bed."""

    email = AddressField()
    name = TextField(label="Name", max_length=60, required=False, help_text="May stay empty.")

    def __init__(self, member: Membership, data: Any = None, *, gives_roles: bool) -> None:
        super().__init__(data, prefix="one")
        roles = roles_to_give(member) if gives_roles else []
        if len(roles) > 1:
            self.ask(
                role=forms.ChoiceField(
                    label="Role",
                    choices=[(role.value, role.label) for role in roles],
                    initial=Role.MEMBER,
                )
            )
        if can(member, "bed.holders"):
            place = PlaceChoice(
                member,
                label="Bed",
                required=False,
                empty_label="No bed yet",
                help_text="The bed that the newcomer will hold.",
            )
            assert place.queryset is not None
            place.queryset = place.queryset.filter(kind=PlaceKind.BED)
            self.ask(place=place)


class InviteListForm(PlainForm):
    """Many people at once, a line each."""

    people = TextField(
        label="One person a line",
        max_length=LIST_LENGTH,
        help_text="Name and address with a comma, semicolon or tab between them, an address "
        "alone, or Name <address>. Up to 200 lines; a line of column heads may stay.",
        widget=forms.Textarea(attrs={"rows": 8, "autocapitalize": "none", "spellcheck": "false"}),
    )

    def __init__(self, data: Any = None, initial: str = "") -> None:
        super().__init__(data, prefix="list", initial={"people": initial})


class AcceptForm(PublicForm):
    """Somebody new joins: at most four fields."""

    name = TextField(
        label="Your name", max_length=60, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    password = PasswordField(
        "Password",
        new=True,
        required=False,
        help_text="At least 8 characters, and not a common one. Leave it empty and we mail you a "
        "link each time you sign in.",
    )
    own_device = OwnDeviceField()

    def __init__(self, garden: Garden, name: str, data: Any = None) -> None:
        super().__init__(data, initial={"name": name})
        if garden.safety:
            self.ask(safety_read=safety_field())
        self.order_fields(["name", "password", "safety_read", "own_device"])


class JoinAsForm(PlainForm):
    """Somebody who is signed in joins, as who they were when the page was made."""

    person = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(
            ("required", "invalid"), "This form was not understood. Load the page again."
        ),
    )

    def __init__(self, garden: Garden, person: Person, data: Any = None) -> None:
        super().__init__(data, initial={"person": person.pk})
        self.signed_in = person
        if garden.safety:
            self.ask(safety_read=safety_field())

    def clean_person(self) -> int:
        """Refuse to join as somebody whom the page did not name."""
        if self.cleaned_data["person"] != self.signed_in.pk:
            raise forms.ValidationError(
                f"Meanwhile {self.signed_in} has signed in here. Load the page again."
            )
        return self.signed_in.pk


class AskToJoinForm(PublicForm):
    """Somebody who has the garden's link asks to join, or to wait for a place."""

    name = TextField(
        label="Your name", max_length=60, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = AddressField("Your e-mail address", autocomplete="email")

    def __init__(self, *, waits: bool, data: Any = None, initial: Any = None) -> None:
        super().__init__(data, initial=initial)
        if waits:
            self.ask(note=note_field("What you would like us to know"))


def note_field(label: str) -> TextField:
    """Return a line that may stay empty."""
    return TextField(
        label=label, max_length=NOTE_LENGTH, required=False, help_text="May stay empty."
    )


class WaitingForm(PlainForm):
    """Somebody who asked for a place, and when."""

    name = TextField(label="Name", max_length=60)
    email = AddressField()
    note = note_field("Note")
    asked_on = DayField(label="Asked on")

    def __init__(self, today: date, data: Any = None) -> None:
        super().__init__(data, initial={"asked_on": today})


class RoleForm(PlainForm):
    """What somebody may do in the garden."""

    role = forms.ChoiceField(label="Role", choices=Role.choices, widget=forms.RadioSelect)


class WaiverForm(PlainForm):
    """When the waiver was signed on paper."""

    signed_on = DayField(label="Signed on", required=False, help_text="Empty: not signed.")


class MyMembershipForm(PlainForm):
    """What a member offers, and whom to call for them."""

    skills = forms.MultipleChoiceField(
        label="What you can do",
        choices=list(SKILLS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Work that asks for it is proposed only to people who said so here.",
        error_messages={"invalid_choice": "What you can do: choose from the list."},
    )
    minutes_a_week = CountField(
        label="Minutes a week you offer",
        low=0,
        high=MOST_MINUTES,
        required=False,
        help_text="Beside your own beds. Empty: you say nothing; 0: none for now.",
    )
    emergency_name = TextField(
        label="In an emergency call", max_length=60, required=False, help_text="Their name."
    )
    emergency_phone = TextField(
        label="Their telephone",
        max_length=30,
        required=False,
        help_text="Only who leads the garden sees it.",
        widget=forms.TextInput(attrs={"type": "tel", "inputmode": "tel"}),
    )


class GardenForm(PlainForm):
    """What an owner sets for the whole garden."""

    name = TextField(label="Name of the garden", max_length=60)
    joining = forms.ChoiceField(
        label="How people join", choices=Joining.choices, widget=forms.RadioSelect
    )
    safety = TextField(
        label="Safety notice",
        max_length=TEXT_LENGTH,
        required=False,
        help_text="What everybody must know: water main, first aid, ladders, heat. When it "
        "changes, everybody is asked to read it again.",
        widget=forms.Textarea(attrs={"rows": 6}),
    )
    waiver = TextField(
        label="Waiver",
        max_length=TEXT_LENGTH,
        required=False,
        help_text="What members sign on paper. Coordinators note who has signed, and when.",
        widget=forms.Textarea(attrs={"rows": 6}),
    )
    hours_ledger = forms.BooleanField(
        label="Members may keep a ledger of their own hours",
        required=False,
        help_text="Each sees only their own.",
    )

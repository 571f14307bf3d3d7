"""Forms of hand-overs: whom to ask, why not, and what was agreed in person."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.models import Membership, Person
from lifecycle.permissions import can
from lifecycle.records.people.handing_load import RECEIVING_ROLES
from lifecycle.records.people.handing_rows import NOTE_LENGTH, WHY_LENGTH
from lifecycle.web.forms.choices import workers_of
from lifecycle.web.forms.fields import DayField, NoteField, OnceForm, PlainForm, TextField

ASK, AGREED = "ask", "agreed"


def receivers(member: Membership, giver: Person | None) -> "forms.ModelChoiceField[Person]":
    """Return a field to choose who may look after plants here, the giver left out."""
    people = workers_of(member, RECEIVING_ROLES)
    if giver is not None:
        people = people.exclude(pk=giver.pk)
    return forms.ModelChoiceField(
        people, label="Who looks after it from then on", empty_label="Choose a member"
    )


class HandOverForm(OnceForm):
    """Who is to look after plants from which day; coordinators say whether both agreed already."""

    def __init__(
        self, member: Membership, giver: Person | None, today: date, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, initial={"from_day": today, "how": ASK}, **kwargs)
        self.ask(to=receivers(member, giver))
        self.ask(from_day=DayField(label="From which day"))
        if can(member, "hand_over.lead"):
            self.ask(
                how=forms.ChoiceField(
                    label="How",
                    choices=[
                        (ASK, "Ask them: it counts once they accept"),
                        (AGREED, "Both agreed in person: record it now"),
                    ],
                    widget=forms.RadioSelect,
                    required=False,
                )
            )
        self.ask(note=NoteField("What they should know", max_length=NOTE_LENGTH))

    @property
    def agreed(self) -> bool:
        """Whether a coordinator records what both agreed on in person."""
        return self.cleaned_data.get("how") == AGREED


class WhoseForm(PlainForm):
    """Whose part of a bed a coordinator hands on; 0: what nobody has."""

    def __init__(self, people: list[Person], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [*((str(each.pk), each.name) for each in people), ("0", "What nobody has")]
        self.ask(whose=forms.ChoiceField(label="Whose part of the bed", choices=choices))


class DeclineForm(PlainForm):
    """Why somebody does not take what they were asked to take."""

    why = TextField(label="Why you cannot take it", max_length=WHY_LENGTH)

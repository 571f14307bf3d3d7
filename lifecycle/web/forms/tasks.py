"""Forms of a task: why it cannot be done, who is to do it, to whom it is offered."""

from typing import Any

from django import forms

from lifecycle.models import Membership, Person, Task
from lifecycle.records.work.minding import MINDER, RELATED
from lifecycle.records.work.tasks import ANY
from lifecycle.reminders.work.task_words import task_name, where_of
from lifecycle.web.door import rows
from lifecycle.web.forms.choices import workers_of
from lifecycle.web.forms.fields import NoteField, PlainForm


class CannotForm(PlainForm):
    """Why a task cannot be done."""

    why = NoteField("Why it cannot be done", 200, required=True)


class DeclineForm(PlainForm):
    """Why a task is declined; nobody has to say."""

    why = NoteField("Why, if you want to say", 200)


class GiveForm(PlainForm):
    """Who is to do a task; nobody is an answer. It carries who had it when it was shown."""

    seen = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            to=forms.ModelChoiceField(
                workers_of(member), label="Give it to", required=False, empty_label="Nobody"
            )
        )

    def shown(self) -> int | None:
        """Return who had the task on the page that was sent: 0 is nobody."""
        seen = self.cleaned_data.get("seen")
        if seen is None:
            return ANY
        return seen or None


class OfferForm(PlainForm):
    """To whom one offers a task."""

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = workers_of(member).exclude(pk=member.person_id)
        self.ask(
            to=forms.ModelChoiceField(others, label="Offer it to", empty_label="Choose a member")
        )


class SwapForm(PlainForm):
    """Which task of another member one would do in exchange."""

    def __init__(
        self, member: Membership, other: Person, task: Task, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        theirs = (
            rows(Task, member)
            .annotate(minder=MINDER)
            .filter(state=Task.State.OPEN, minder=other.pk)
            .exclude(pk=task.pk)
            .select_related(*RELATED)
            .order_by("best", "pk")
        )
        self.ask(for_task=_TaskChoice(theirs, label="In exchange for", empty_label="Choose one"))


class _TaskChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """One of somebody's open tasks."""

    def label_from_instance(self, obj: Any) -> str:
        """Return what it is, where, and by when."""
        place = where_of(obj)
        where = f", {place}" if place else ""
        return f"{task_name(obj)}{where}, by {obj.latest.day} {obj.latest:%B}"

"""Forms of leaving: who takes what, and whether the name stays."""

from collections.abc import Sequence
from typing import Any

from django import forms

from lifecycle.models import Membership, Person
from lifecycle.records.people.belongings import Group
from lifecycle.records.people.leaving import Passing
from lifecycle.web.forms.fields import PlainForm
from lifecycle.web.forms.handing import receivers
from lifecycle.web.words import counted

NOBODY = "Nobody; coordinators are told"
KEEP, TAKE_OUT = "keep", "former"


class LeaveForm(PlainForm):
    """Who is asked to take what, place by place or all of it, and what becomes of the name."""

    def __init__(self, member: Membership, groups: list[Group], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"name": KEEP}, **kwargs)
        self.groups = [group for group in groups if not group.load.empty]
        if self.groups:
            self.ask(everything=_taker(member, "All of it"))
        if len(self.groups) > 1:
            self.ask(
                **{
                    f"to-{group.key}": _taker(member, f"Or only {group_words(group, self.groups)}")
                    for group in self.groups
                }
            )
        self.ask(
            name=forms.ChoiceField(
                label="Your name in the garden’s record",
                choices=[
                    (KEEP, "It stays beside what I did"),
                    (TAKE_OUT, "“Former member” stands in its place after 14 days"),
                ],
                widget=forms.RadioSelect,
            )
        )

    def passings(self) -> list[Passing]:
        """Return who is asked for what; what is chosen for one place goes before the rest."""
        everything: Person | None = self.cleaned_data.get("everything")
        chosen = [
            (group.key, self.cleaned_data.get(f"to-{group.key}") or everything)
            for group in self.groups
        ]
        return [Passing(key, to) for key, to in chosen if to is not None]

    @property
    def nameless(self) -> bool:
        """Whether the name is to go from the garden's record."""
        return bool(self.cleaned_data["name"] == TAKE_OUT)

    def as_hidden(self) -> list[tuple[str, str]]:
        """Return what was chosen, for the page that asks once more."""
        return [(name, str(self.data.get(name, ""))) for name in self.fields]


def group_words(group: Group, among: Sequence[Group]) -> str:
    """Return a group as "Bed 3: the plot itself, 4 plants".

    Where another place of these has the same name, its site is named too.
    """
    parts = ["the plot itself"] if group.holds else []
    parts += [counted(len(group.plants), "plant")] if group.plants else []
    parts += [counted(len(group.sowings), "sowing")] if group.sowings else []
    place = group.place.name if group.place is not None else "no place noted"
    names = [each.place.name for each in among if each.place is not None]
    if group.place is not None and names.count(place) > 1:
        place = f"{place}, {group.place.site}"
    return f"{place}: {', '.join(parts)}"


def _taker(member: Membership, label: str) -> "forms.ModelChoiceField[Person]":
    field = receivers(member, member.person)
    field.label, field.empty_label, field.required = label, NOBODY, False
    return field

"""The people of a garden as tables that sort: for everybody, and with contacts for who leads."""

from datetime import date
from typing import Any

import django_tables2 as tables

from lifecycle.models import Membership
from lifecycle.web.tables import GardenTable


class PeopleTable(GardenTable):
    """Who belongs to the garden, in which role and since when."""

    rows_template = "lifecycle/people_rows.html"
    caption = "People"

    name = tables.Column(verbose_name="Name", order_by=("person__name", "pk"))
    role = tables.Column(verbose_name="Role", order_by=("role", "person__name", "pk"))
    since = tables.Column(verbose_name="Since", accessor="joined_on", order_by=("joined_on", "pk"))

    context: dict[str, Any]

    class Meta:
        model = Membership
        fields = ("name", "role", "since")

    @property
    def today(self) -> date:
        """The day from which years are left out."""
        return self.context["today"]  # type: ignore[no-any-return]


class ContactTable(PeopleTable):
    """With what only who leads may see, and so may sort by."""

    email = tables.Column(verbose_name="E-mail", order_by=("person__email",))
    phone = tables.Column(verbose_name="Telephone", order_by=("person__phone", "pk"))
    seen = tables.Column(
        verbose_name="Last here",
        accessor="person__last_seen_on",
        order_by=("person__last_seen_on", "pk"),
    )
    waiver = tables.Column(
        verbose_name="Waiver signed",
        accessor="waiver_signed_on",
        order_by=("waiver_signed_on", "pk"),
    )

    class Meta:
        model = Membership
        fields = ("name", "role", "since", "email", "phone", "seen", "waiver")

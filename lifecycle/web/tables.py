"""Tables that sort and page, whatever the address holds."""

from datetime import date
from typing import Any, ClassVar, Self

import django_tables2 as tables
from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest

from lifecycle.models import Person, Plant
from lifecycle.web.door import number_in

PER_PAGE, MOST_PER_PAGE = 50, 200


class GardenTable(tables.Table):  # type: ignore[misc]
    """A table whose rows come from a template of their own, one page at a time.

    The library sorts; its renderer is left out, because a cell by it costs several times
    what the same cell costs in a template.
    """

    rows_template: ClassVar[str]
    shown_page: "Page[Any]"
    context: dict[str, Any]

    @classmethod
    def shown(cls, request: HttpRequest, found: QuerySet[Any], **context: Any) -> Self:
        """Return the table for this request: its sort and page, brought within bounds."""
        asked = request.GET.get("sort", "")[:200].split(",")
        known = [name for name in asked if name.removeprefix("-") in cls.base_columns]
        table = cls(found, order_by=known)
        wanted = number_in(request, "per_page") or PER_PAGE
        paginator = Paginator(table.data.data, min(wanted, MOST_PER_PAGE))
        table.shown_page = paginator.get_page(number_in(request, "page") or 1)
        table.context = context
        return table

    def heads(self) -> list[dict[str, str]]:
        """Return the column heads: words, the address of the next sort, the sort now."""
        heads = []
        for column in self.columns:
            aria, following = "", column.name
            if column.is_ordered:
                down = column.order_by_alias.is_descending
                aria = "descending" if down else "ascending"
                following = column.name if down else f"-{column.name}"
            heads.append({"label": column.header, "sort": following, "aria": aria})
        return heads


class PlantTable(GardenTable):
    """Plants with where they stand and what happened last."""

    rows_template = "lifecycle/plant_rows.html"
    caption = "Plants"

    name = tables.Column(verbose_name="Name", order_by=("name", "pk"))
    code = tables.Column(verbose_name="Code", order_by=("code", "pk"))
    variety = tables.Column(verbose_name="Variety", order_by=("variety__name", "name", "pk"))
    phase = tables.Column(verbose_name="Phase", order_by=("phase", "name", "pk"))
    place = tables.Column(
        verbose_name="Place", order_by=("place__position", "place__name", "name", "pk")
    )
    holder = tables.Column(verbose_name="Held by", order_by=("holder__name", "name", "pk"))
    last = tables.Column(verbose_name="Last entry", accessor="last_on", order_by=("last_on", "pk"))

    context: dict[str, Any]

    class Meta:
        model = Plant
        fields = ("name", "code", "variety", "phase", "place", "holder", "last")

    @property
    def today(self) -> date:
        """The day from which "3 days ago" counts."""
        return self.context["today"]  # type: ignore[no-any-return]

    @property
    def person(self) -> Person:
        """Who reads the table."""
        return self.context["person"]  # type: ignore[no-any-return]

"""Forms that anybody may send, signed in or not."""

from typing import Any

from django.forms.boundfield import BoundField

from lifecycle.web.forms.fields import PlainForm


class ShortEcho(BoundField):
    """A field that shows no more again of what was typed than it would take."""

    def value(self) -> Any:
        """Return what the field shows, cut off at its longest."""
        found, longest = super().value(), getattr(self.field, "max_length", None)
        return found[:longest] if isinstance(found, str) and longest else found


class PublicForm(PlainForm):
    """A form of a public page: its answer does not grow with what was sent."""

    bound_field_class = ShortEcho

"""Why something was not written."""


class Refused(ValueError):
    """An act the record does not take; ``str`` is one sentence for the person.

    ``field`` names the input that is wrong, for the form it came from; empty when the
    act as a whole cannot follow.
    """

    def __init__(self, sentence: str, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field

"""What a reader says of an input that may be good or bad."""

from collections.abc import Callable


def sentence_of(call: Callable[[], object]) -> str:
    """The sentence with which ``call`` refuses; nothing when it takes what it was given."""
    try:
        call()
    except ValueError as problem:
        return str(problem)
    return ""

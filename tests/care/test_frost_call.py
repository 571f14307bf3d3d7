"""From chances to states, without flickering."""

import pytest

from lifecycle.care.frost_call import Signs, State, next_state
from lifecycle.care.frost_night import Action
from lifecycle.models import FrostBed, FrostNight

QUIET, POSSIBLE, CALLED = State.QUIET, State.POSSIBLE, State.CALLED
CANCELLED, NOT_NEEDED, OVER = State.CANCELLED, State.NOT_NEEDED, State.OVER


@pytest.mark.parametrize(
    ("state", "fear", "tonight", "stale", "after"),
    [
        (QUIET, 0.99, True, False, QUIET),
        (QUIET, 1.0, True, False, CALLED),
        (QUIET, 1.0, False, False, POSSIBLE),
        (QUIET, 1.0, True, True, POSSIBLE),
        (POSSIBLE, 1.0, True, False, CALLED),
        (POSSIBLE, 9.0, True, True, POSSIBLE),
        (POSSIBLE, 0.99, False, False, QUIET),
        (CALLED, 0.99, True, False, CALLED),
        (CALLED, 0.5, True, False, CALLED),
        (CALLED, 0.499, True, False, CANCELLED),
        (CALLED, 0.0, True, True, CALLED),
        (CANCELLED, 0.99, True, False, CANCELLED),
        (CANCELLED, 1.0, True, False, CALLED),
        (CANCELLED, 1.0, True, True, CANCELLED),
        (NOT_NEEDED, 9.0, True, False, NOT_NEEDED),
        (OVER, 9.0, True, False, OVER),
    ],
)
def test_the_next_state(state, fear, tonight, stale, after) -> None:
    assert next_state(state, Signs(fear, tonight, stale)) is after


def test_what_a_person_called_no_forecast_calls_off() -> None:
    assert next_state(CALLED, Signs(0.0, True, False), by_hand=True) is CALLED


def test_the_states_are_those_of_the_record() -> None:
    assert {state.value for state in State} == set(FrostNight.State.values)
    assert {action.value for action in Action} == set(FrostBed.Action.values)

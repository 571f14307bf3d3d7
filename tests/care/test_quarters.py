"""Is the room right for a plant at rest?"""

import pytest

from lifecycle.care.quarters import Room, resting_room


@pytest.mark.parametrize(
    ("room_f", "answer"),
    [(30, Room.COLD), (49, Room.COLD), (50, Room.RIGHT), (60, Room.RIGHT), (61, Room.WARM)],
)
def test_the_edges_in_whole_f(room_f: int, answer: Room) -> None:
    exact = (room_f - 32) / 1.8
    assert resting_room(exact).answer is answer
    assert resting_room(round(exact, 1)).answer is answer


def test_the_sentence_names_the_room_and_the_limit() -> None:
    assert "{8.00 C}, below {10.00 C}" in resting_room(8.0).reason
    assert "{20.00 C}, above {15.56 C}" in resting_room(20.0).reason
    assert resting_room(13.0).reason == "The room has {13.00 C}, right for rest."

"""What the record shows of cold and of heat: damage logged, or a symptom whose cause that is.

Purple veins as cold shock and short feed are common practice, no source; sunscald under too little
shade: Diaz-Perez, ASHS 2011 (University of Georgia).
"""

from datetime import date, timedelta

import pytest

from lifecycle.care.signs import cold_shock, scald
from lifecycle.handbook import SYMPTOMS
from lifecycle.life.kinds import Kind
from tests.care.summers import OUT, later, young
from tests.life.facts import fact, life_of

SEEN = later(5)


def life(*seen: tuple[Kind, date, str]):
    return life_of([*young(), *(fact(kind, day, choice=choice) for kind, day, choice in seen)])


@pytest.mark.parametrize(
    ("kind", "choice", "cold", "hot"),
    [
        (Kind.DAMAGE, "cold", True, False),
        (Kind.DAMAGE, "heat", False, True),
        (Kind.DAMAGE, "frost", False, False),
        (Kind.DAMAGE, "hail", False, False),
        (Kind.SYMPTOM, "purple_veins", True, False),
        (Kind.SYMPTOM, "sunscald", False, True),
        (Kind.SYMPTOM, "puckered", False, False),
        (Kind.SYMPTOM, "other", False, False),
    ],
)
def test_what_is_read_as_what(kind: Kind, choice: str, cold: bool, hot: bool) -> None:
    noted = life((kind, SEEN, choice))
    assert cold_shock(noted, OUT) == (SEEN if cold else None)
    assert scald(noted, OUT) == (SEEN if hot else None)


def test_of_all_symptoms_one_is_cold_shock_and_one_is_scald() -> None:
    def read_as(step: str) -> list[str]:
        return [
            symptom.key
            for symptom in SYMPTOMS.values()
            if any(cause.step == step for cause in symptom.causes)
        ]

    assert read_as("first_feed") == ["purple_veins"]
    assert read_as("shade") == ["sunscald"]


def test_nothing_seen() -> None:
    assert cold_shock(life(), OUT) is None
    assert scald(life(), OUT) is None


@pytest.mark.parametrize(
    ("kind", "choice"), [(Kind.DAMAGE, "cold"), (Kind.SYMPTOM, "purple_veins")]
)
def test_it_counts_from_the_day_that_is_asked_about(kind: Kind, choice: str) -> None:
    noted = life((kind, SEEN, choice))
    assert cold_shock(noted, SEEN) == SEEN
    assert cold_shock(noted, SEEN + timedelta(1)) is None


def test_the_last_sight_of_either_counts() -> None:
    first, last = (Kind.DAMAGE, SEEN, "cold"), (Kind.SYMPTOM, later(9), "purple_veins")
    assert cold_shock(life(first, last), OUT) == later(9)
    swapped = (Kind.SYMPTOM, SEEN, "purple_veins"), (Kind.DAMAGE, later(9), "cold")
    assert cold_shock(life(*swapped), OUT) == later(9)
    # Of one kind of entry the last says what it was.
    assert cold_shock(life(first, (Kind.DAMAGE, later(9), "hail")), OUT) is None
    assert cold_shock(life(*swapped), later(6)) == later(9)

"""What the record of a plant shows of cold and of heat: damage logged, or a symptom seen."""

from datetime import date

from lifecycle.handbook import SYMPTOMS
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind


def cold_shock(life: Life, since: date) -> date | None:
    """Return the day on or after ``since`` on which cold shock was last seen, or None.

    Purple veins and curled leaves count: after an early night out they mean cold and a short feed.
    """
    return _seen(life, since, "cold", "first_feed")


def scald(life: Life, since: date) -> date | None:
    """Return the day on or after ``since`` on which heat or sunscald was last seen, or None."""
    return _seen(life, since, "heat", "shade")


def _seen(life: Life, since: date, damage: str, step: str) -> date | None:
    days = []
    if life.last_choice.get(Kind.DAMAGE) == damage:
        days.append(life.since(Kind.DAMAGE, since))
    symptom = SYMPTOMS.get(life.last_choice.get(Kind.SYMPTOM, ""))
    if symptom is not None and any(cause.step == step for cause in symptom.causes):
        days.append(life.since(Kind.SYMPTOM, since))
    return max((day for day in days if day is not None), default=None)

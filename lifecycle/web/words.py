"""Sentences and words that several pages share."""

from datetime import date

from lifecycle.care.wording import CM_IN_INCH, GRAMS_IN_OUNCE, degrees
from lifecycle.handbook import MATERIALS
from lifecycle.life.kinds import RULES, Kind, rule_for
from lifecycle.life.phases import PHASE_LABELS, Phase
from lifecycle.models import Entry, Person


def counted(number: int, one: str, many: str = "") -> str:
    """Return "1 plant", "2 plants"; ``many`` where an s is not enough."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def planned_words(number: int) -> str:
    """Return how many plans a change moves, and when."""
    if not number:
        return "No plan changes."
    words = counted(number, "plant or sowing", "plants and sowings")
    return f"{words} will be planned anew within minutes."


def long_day(day: date) -> str:
    """Return "Tuesday 14 October"."""
    return f"{day:%A} {day.day} {day:%B}"


def day_words(day: date, today: date | None = None) -> str:
    """Return a date with its month as a word; the year only where it is another one."""
    text = f"{day.day} {day:%B}"
    return text if today is not None and day.year == today.year else f"{text} {day.year}"


def ago(day: date, today: date) -> str:
    """Return "today", "yesterday", "3 days ago", or the date."""
    days = (today - day).days
    if days == 0:
        return "today"
    if days == 1:
        return "yesterday"
    return f"{days} days ago" if 1 < days <= 14 else f"on {day_words(day, today)}"


def due_words(best: date, latest: date, today: date) -> str:
    """Return when something is due, seen from today."""
    late = (today - latest).days
    if late > 0:
        return f"{counted(late, 'day')} late"
    if latest == today:
        return "last day today"
    if best <= today:
        return f"due now, by {day_words(latest, today)}"
    return f"best {day_words(best, today)}, by {day_words(latest, today)}"


def entry_words(kind: str, day: date, today: date) -> str:
    """Return the last entry of a record in words: "watered 3 days ago"."""
    label = RULES[Kind(kind)].label
    return f"{label[0].lower()}{label[1:]} {ago(day, today)}"


def phase_words(phase: str) -> str:
    """Return the word for a phase."""
    return PHASE_LABELS[Phase(phase)]


def label_of(entry: Entry) -> str:
    """Return what an entry is called in the record it belongs to."""
    subject = "sowing" if entry.sowing_id else "plant"
    return rule_for(Kind(entry.kind), subject).label


def choice_of(entry: Entry) -> str:
    """Return the words for the choice an entry made."""
    subject = "sowing" if entry.sowing_id else "plant"
    return rule_for(Kind(entry.kind), subject).choices.get(entry.choice, "")


def material_of(entry: Entry) -> str:
    """Return what was fed, by the handbook's name; a garden's own material is in the note."""
    return MATERIALS[entry.material].label.lower() if entry.material in MATERIALS else ""


def quantity_of(entry: Entry, person: Person) -> str:
    """Return an entry's quantity in the reader's units, with what it counts."""
    subject = "sowing" if entry.sowing_id else "plant"
    rule = rule_for(Kind(entry.kind), subject)
    if entry.quantity is None:
        return ""
    if rule.quantity is None or (rule.begins and rule.subject == "plant"):
        return "a pair" if entry.quantity == 2 else ""
    return f"{rule.quantity.label.lower()}: {amount(entry.quantity, rule.quantity.unit, person)}"


def amount(value: float, unit: str, person: Person) -> str:
    """Return a quantity kept in SI as the reader reads it."""
    inches = person.length == Person.Length.INCHES
    if unit == "g" and inches:
        return f"{round(value / GRAMS_IN_OUNCE, 1):g} oz"
    if unit == "cm" and inches:
        return f"{round(value / CM_IN_INCH, 1):g} in"
    if unit == "count":
        return f"{value:.0f}"
    return f"{value:g} {'litre' if unit == 'litre' and value == 1 else _plural(unit)}"


def _plural(unit: str) -> str:
    return "litres" if unit == "litre" else unit


def both_units(value_c: float, person: Person) -> str:
    """Return a temperature in the reader's unit, with the other one after it."""
    first = person.temperature
    other = "C" if first == "F" else "F"
    return f"{degrees(value_c, first)} ({degrees(value_c, other)})"


def month_day_words(text: str) -> str:
    """Return MM-DD with its month as a word; other words of a climate stay as they are."""
    if len(text) != 5 or text[2] != "-":
        return text
    day = date.fromisoformat(f"2000-{text}")
    return f"{day.day} {day:%b}"

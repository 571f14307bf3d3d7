"""A bed's water, rotation and room in the reader's words and units."""

from datetime import date
from typing import Any

from lifecycle.care.bed_room import Fruit, Room
from lifecycle.care.bed_rotation import FamilyYear
from lifecycle.care.bed_water import BedWater
from lifecycle.care.wording import SQ_FT_IN_M2, measure
from lifecycle.handbook import CROPS, FAMILIES, SOILS, SOURCES, fact
from lifecycle.models import Person, Place
from lifecycle.reminders.work.bed_planning import BedReport
from lifecycle.web.ground.bed_chart import days_shown, water_strip
from lifecycle.web.words import counted


def care_of(place: Place, report: BedReport, person: Person, today: date) -> dict[str, Any]:
    """Return what the bed's page shows of its water, its rotation and its room."""
    return {
        "bed_report": report,
        "water": water_words(report.water, today, person) if report.water else None,
        "bed_facts": _facts(place, person),
        "years": [_year(each) for each in report.rotation.years],
        "room_words": _room(report.room) if report.room else None,
        "fruit": _fruit(report.fruit, report, person),
    }


def water_words(water: BedWater, today: date, person: Person) -> dict[str, Any]:
    """Return a bed's water as a page says it: what to give by when, the chart and its table."""

    def mm(value: float) -> str:
        return measure(value, "mm", person.length)

    return {
        "sentence": _watering(water, today),
        "chart": water_strip(water, today, person),
        "rows": [
            (
                each.day,
                mm(each.rain) if each.rain else "",
                mm(each.given) if each.given else "",
                mm(each.used),
                mm(each.missing),
            )
            for each in days_shown(water, today)
        ],
        "assumed": water.assumed,
        "rain_unknown": water.rain_unknown,
        "much": water.due is not None and water.mm > fact("water.weekly").si,
        "source": SOURCES["fao56"],
        "holds": mm(water.holds),
        "easy": mm(water.easy),
        "missing": mm(water.missing),
    }


def _watering(water: BedWater, today: date) -> str:
    """Return the sentence above the strip; its numbers stand between braces in SI."""
    if water.due is None:
        return f"No water is needed before {{{water.days[-1].day}}}."
    amount = f"{{{max(water.mm, 1):.1f} mm}}"
    if water.litres is not None:
        amount += f", {{{water.litres:.1f} litre}} for this bed,"
    if water.due <= today:
        return f"Water {amount} today."
    ahead = (water.due - today).days
    return f"Water {amount} by {f'{water.due:%A}' if ahead < 7 else f'{{{water.due}}}'}."


def _facts(place: Place, person: Person) -> list[str]:
    """Return what is known of a bed's extent and ground, as short phrases."""
    found = []
    if place.length_m is not None and place.width_m is not None:
        area = measure(place.length_m * place.width_m, "m2", person.length)
        found.append(f"{_long(place.length_m, person)} by {_long(place.width_m, person)} ({area})")
    if place.depth_cm is not None:
        found.append(f"{measure(place.depth_cm, 'cm', person.length)} deep")
    if place.soil in SOILS:
        found.append(SOILS[place.soil].label.lower())
    if place.mulched:
        found.append("mulched")
    if place.wire:
        found.append("wire below")
    return found


def _long(metres: float, person: Person) -> str:
    if person.length == Person.Length.INCHES:
        return f"{round(metres / 0.3048, 1):g} ft"
    return f"{round(metres, 2):g} m"


def _year(each: FamilyYear) -> tuple[int, str, str]:
    crops = ", ".join(CROPS[key].label for key in each.crops)
    said = [crops, f"noted{f': {each.note}' if each.note else ''}" if each.noted else ""]
    return each.year, FAMILIES[each.family], "; ".join(part for part in said if part)


def _room(room: Room) -> dict[str, str]:
    """Return the ground taken and free, as numbers in SI between braces."""
    return {"taken": f"{{{room.taken_m2:.2f} m2}}", "free": f"{{{room.free_m2:.2f} m2}}"}


def _fruit(fruit: Fruit | None, report: BedReport, person: Person) -> dict[str, Any]:
    """Return fruit by area: what to expect in number, and the weight picked this growing year."""
    feet = person.length == Person.Length.INCHES
    per, area = (SQ_FT_IN_M2, "sq ft") if feet else (1.0, "m²")
    picked = ""
    if report.picked_g and report.bed.area_m2:
        weight = measure(report.picked_g / report.bed.area_m2 / per, "g", person.length)
        picked = f"{weight} picked a {area} this growing year"
    if fruit is None:
        return {"expected": "", "picked": picked, "sources": []}
    low, high = fruit.low_m2 / per, fruit.high_m2 / per
    span = f"{low:.1f}" if low == high else f"{low:.1f} to {high:.1f}"
    return {
        "expected": (
            f"{span} fruit a {area} in a season, from "
            f"{counted(fruit.plants, 'plant')} whose number is published"
        ),
        "picked": picked,
        "sources": [SOURCES.get(key, "the garden's own value") for key in fruit.sources],
    }

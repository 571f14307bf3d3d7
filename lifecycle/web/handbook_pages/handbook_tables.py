"""The handbook's tables as sections of a page: covers, materials, soils, lamps, cautions."""

from lifecycle.handbook import CAUTIONS, LAMPS, MATERIALS, PROTECTIONS, SOILS
from lifecycle.handbook.loader import CAUTION_ROWS
from lifecycle.handbook.tables import Lamp, Material, Protection, Soil
from lifecycle.models import Person
from lifecycle.web.handbook_pages.handbook_words import (
    Section,
    ValueRow,
    plain_row,
    si_words,
    value_row,
)


def table_sections(topic: str, person: Person) -> list[Section]:
    """Return the sections of a topic made of tables."""
    if topic == "protections":
        return [
            Section(
                each.key,
                each.label,
                tuple(_protection_rows(each, person)),
                each.note,
                tuple(CAUTIONS[key] for key in each.cautions),
            )
            for each in PROTECTIONS.values()
        ]
    if topic == "materials":
        rows = tuple(_material_row(each) for each in MATERIALS.values())
        return [Section("materials", "Percent N, P2O5 and K2O", rows)]
    if topic == "ground":
        soils = tuple(_soil_row(each) for each in SOILS.values())
        lamps = tuple(_lamp_row(each) for each in LAMPS.values())
        return [
            Section("soils", "Water that soils hold, by volume", soils),
            Section("lamps", "What a light meter shows for 1 µmol per m² a second", lamps),
        ]
    cautions = tuple(
        plain_row(f"fact-{each.key}", each.label, each.text, each.source, each.mark)
        for each in CAUTION_ROWS.values()
    )
    return [Section("cautions", "Cautions", cautions)]


def _protection_rows(each: Protection, person: Person) -> list[ValueRow]:
    given = [each.gain, *each.others]
    rows = [
        value_row(gain, "Warmer by", person, anchor=f"fact-{each.key}-{number}")
        for number, gain in enumerate(given)
        if gain is not None
    ]
    if len(rows) > 1 or (each.gain is not None and each.gain.to is not None):
        sure = si_words(each.sure_c, "dC", person)
        rows.append(
            plain_row(f"fact-{each.key}-sure", "Count on", sure, "practice", "derived", "low end")
        )
    if not rows:
        rows = [
            plain_row(
                f"fact-{each.key}", "Warmer by", "not published", "practice", "common practice"
            )
        ]
    return rows


def _material_row(each: Material) -> ValueRow:
    numbers = zip(
        (each.n, each.p2o5, each.k2o), (each.n_to, each.p2o5_to, each.k2o_to), strict=True
    )
    words = " - ".join(f"{low:g}" if to is None else f"{low:g} to {to:g}" for low, to in numbers)
    return plain_row(f"fact-{each.key}", each.label, words, each.source, each.mark, each.note)


def _soil_row(each: Soil) -> ValueRow:
    holds = f"holds {each.fc:.0%}, plants wilt at {each.wp:.1%}"
    return plain_row(f"fact-{each.key}", each.label, holds, each.source, each.mark, each.note)


def _lamp_row(each: Lamp) -> ValueRow:
    light = f"{each.lux_per_umol:g} lux or {each.fc_per_umol:g} foot-candles"
    return plain_row(f"fact-{each.key}", each.label, light, each.source, each.mark)

"""The answer of a feeding page: doses in words, what they supply, what to beware of."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from lifecycle.agronomy.nutrients import Amounts, Analysis, Nutrient
from lifecycle.agronomy.spacing import Spacing
from lifecycle.care import feeding
from lifecycle.care.bed import spacing_of
from lifecycle.care.feeding import Dose, FedPlant, Feed, Use
from lifecycle.care.policy import Policy
from lifecycle.care.wording import measure
from lifecycle.handbook import MATERIALS, SOURCES, fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from lifecycle.models import GardenMaterial, Membership, Person, Place, Plant
from lifecycle.records.crops.drafts import NOTE_LENGTH
from lifecycle.records.ground.ground import turns_of
from lifecycle.records.ground.settings import policy_in_force
from lifecycle.reminders.work.bed_planning import crop_of, nitrogen_before
from lifecycle.web.crops.records import Record
from lifecycle.web.door import rows
from lifecycle.web.forms.feed import ChooseForm


@dataclass(frozen=True, slots=True)
class DoseRow:
    """A dose of one material as a reader measures it."""

    label: str
    weight: str
    measured: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What to give of which materials for what, what it supplies, and the cautions.

    ``grams`` is what the log form begins with, ``material`` the one that weighs most;
    ``problem`` says why there is no dose.
    """

    use: Use
    doses: list[DoseRow]
    supplies: list[tuple[str, str, str]]
    warnings: list[str]
    sources: list[str]
    grams: float | None
    material: str
    note: str
    basis: str = ""
    mixed: bool = False
    problem: str = ""


def feeds_of(member: Membership) -> dict[str, Feed]:
    """Return the materials a garden may choose from: its own first, then the handbook's."""
    own = rows(GardenMaterial, member).order_by("name", "pk")
    found = [
        Feed(row.key, row.name, Analysis(row.n, row.p2o5, row.k2o), row.density) for row in own
    ]
    found += [
        Feed(
            material.key,
            material.label,
            Analysis(material.n, material.p2o5, material.k2o),
            material.density,
            material.magnesium,
        )
        for material in MATERIALS.values()
    ]
    return {feed.key: feed for feed in found}


def answer_to(
    form: ChooseForm,
    known: dict[str, Feed],
    person: Person,
    records: Sequence[Record],
    place: Place | None,
    now: datetime,
) -> Answer:
    """Return the doses that a valid form asks for, for these records.

    ``known`` are the materials at hand by key.
    """
    typed = form.cleaned_data
    use = Use(typed["use"])
    feeds = [known[key] for key in form.chosen()]
    if not records:
        return _without(use, feeds, "Nothing grows here that could be fed.", [])
    site = records[0].site
    today = site.local_day(now)
    policy = policy_in_force(site)
    left = nitrogen_before(place, today) if place is not None and not place.in_pots else None
    warnings = feeding.warnings(feeds, _plants(records), left, today)
    try:
        doses, supplies = _doses(use, feeds, typed, records, policy)
    except ValueError as problem:
        return _without(use, feeds, str(problem), warnings)
    first = max(doses, key=lambda each: each[1].grams)
    return Answer(
        use=use,
        doses=[_row(feed, dose, person) for feed, dose in doses],
        supplies=[
            (name, _grams(amount, person), "" if over is None else _grams(over, person))
            for name, amount, over in supplies
        ],
        warnings=warnings,
        sources=_sources(use, feeds),
        grams=round(sum(dose.grams for _, dose in doses), 1),
        material=first[0].key,
        note=_note(doses),
        basis=_basis(use, doses),
        mixed=len(feeds) > 1,
    )


def _without(use: Use, feeds: Sequence[Feed], problem: str, warnings: list[str]) -> Answer:
    return Answer(use, [], [], warnings, [], None, feeds[0].key, "", problem=problem)


def _doses(
    use: Use,
    feeds: Sequence[Feed],
    typed: dict[str, Any],
    records: Sequence[Record],
    policy: Policy,
) -> tuple[list[tuple[Feed, Dose]], list[tuple[str, float, float | None]]]:
    """Return the dose of each material, and of each nutrient the grams supplied and over."""
    if len(feeds) > 1:
        made = feeding.mix(feeds, typed["area_m2"], feeding.target_g_m2())
        return list(made.doses), _supplied(made.supplies, made.excess)
    if use is Use.BED:
        dose = feeding.dose_bed(feeds[0], typed["area_m2"], feeding.target_g_m2())
    elif use is Use.WATER:
        dose = feeding.dose_water(feeds[0], typed["litres"], feeding.target_ppm())
    else:
        dose = feeding.dose_hole(feeds[0], _spacing(records, policy), feeding.target_g_m2())
    return [(feeds[0], dose)], _supplied(dose.supplies, None)


def _supplied(amounts: Amounts, over: Amounts | None) -> list[tuple[str, float, float | None]]:
    return [(words, amounts.of(name), over.of(name) if over else None) for name, words in _NAMES]


_NAMES = (
    (Nutrient.N, "Nitrogen N"),
    (Nutrient.P2O5, "Phosphate P2O5"),
    (Nutrient.K2O, "Potash K2O"),
)


def _spacing(records: Sequence[Record], policy: Policy) -> Spacing:
    """Return the widest ground a plant of these takes. ValueError where none is published."""
    known = [spacing_of(crop_of(record.variety), policy) for record in records]
    found = [spacing for spacing in known if spacing is not None]
    if not found:
        raise ValueError("How far apart these plants stand is not published: feed the whole bed.")
    return max(found, key=lambda each: each.plant_m2)


def _plants(records: Sequence[Record]) -> list[FedPlant]:
    plants = [record for record in records if isinstance(record, Plant)]
    turns = turns_of(plants)
    found = []
    for plant in plants:
        out = [day for kind, day in turns.get(plant.pk, []) if kind is Kind.PLANTED_OUT]
        raised = plant.phase in (Phase.SEEDLING, Phase.HARDENING)
        establishing = plant.phase == Phase.ESTABLISHING
        old = len(out) > 1 or (not out and not raised and not establishing)
        # One taken over while it roots was set out lately, whoever did it.
        set_out = out[-1] if out else plant.phase_since if establishing else None
        resting = plant.phase == Phase.RESTING
        found.append(FedPlant(crop_of(plant.variety), set_out, old, resting))
    return found


def _row(feed: Feed, dose: Dose, person: Person) -> DoseRow:
    return DoseRow(f"{feed.label} {feed.analysis}", _grams(dose.grams, person), measured(dose))


def _grams(grams: float, person: Person) -> str:
    if grams < 10 and person.length == Person.Length.METRIC:
        return f"{round(grams, 1):g} g"
    return measure(grams, "g", person.length)


_PARTS = {0: "", 1: "¼", 2: "½", 3: "¾"}


def measured(dose: Dose) -> str:
    """Return a dose in spoons or cups, in quarters: "1½ cups"."""
    whole, quarters = divmod(round(dose.count * 4), 4)
    number = f"{whole or ''}{_PARTS[quarters]}" or "0"
    return f"{number} {dose.measure}{'s' if dose.count > 1 else ''}"


def _note(doses: Sequence[tuple[Feed, Dose]]) -> str:
    """Return what stands in the record beside the grams: the materials with their analysis."""
    given = [(feed, dose) for feed, dose in doses if dose.grams > 0]
    if len(given) == 1:
        return f"{given[0][0].label} {given[0][0].analysis}"[:NOTE_LENGTH]
    parts = ", ".join(f"{dose.grams:.0f} g {feed.label} {feed.analysis}" for feed, dose in given)
    return f"Mixed: {parts}"[:NOTE_LENGTH]


def _basis(use: Use, doses: Sequence[tuple[Feed, Dose]]) -> str:
    """Return by what the dose was reckoned, its numbers in SI between braces."""
    if use is Use.WATER:
        rate = f"{feeding.target_ppm().n:.0f} mg of nitrogen a litre"
    else:
        rate = f"{{{feeding.target_g_m2().n:.2f} g/m2}} of nitrogen"
    said = f"Reckoned for {rate}, and phosphate and potash beside it as in a 2-4-2 feed."
    first = doses[0][1].limited_by
    if first is not None:
        said += f" It stops where {_SPOKEN[first]} is enough."
    if use is Use.HOLE:
        beside, share = fact("feed.beside_stem"), fact("feed.hole_share")
        said += (
            f" Strew it {{{beside.si:.0f} cm}} to {{{beside.si_high:.0f} cm}} from the stem and "
            f"water it in. Into a planting hole goes {share.si * 100:.0f} % of it at most, mixed "
            "with the soil: roots burn on bare feed."
        )
    return said


_SPOKEN = {Nutrient.N: "nitrogen", Nutrient.P2O5: "phosphate", Nutrient.K2O: "potash"}


def _sources(use: Use, feeds: Sequence[Feed]) -> list[str]:
    rate = fact("feed.starter_n" if use is Use.WATER else "feed.side_dress_n")
    keys = [rate.source, *(MATERIALS[f.key].source for f in feeds if f.key in MATERIALS)]
    return [SOURCES[key] for key in dict.fromkeys(keys)]

"""When seedlings should show: from the crop's table of days at its soil temperature."""

from dataclasses import dataclass
from datetime import timedelta

from lifecycle.agronomy.emergence import days_to_emergence
from lifecycle.care.outlook import Outlook
from lifecycle.care.site_dates import NAMES
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import Crop, days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind


@dataclass(frozen=True, slots=True)
class _Expected:
    """Days from sowing: to look first, to be up, and to look for the fault."""

    first: int
    up: int
    overdue: int
    reason: str
    source: str = "knott"


def emergence(life: Life, crop: Crop, outlook: Outlook, year: int) -> Step:
    """Return the step that looks for the seedlings of a sowing, in a tray or in a bed."""
    expected = _expected(crop, outlook.bench_c)
    sown = life.last_on[Kind.SOWN]
    window = Window(
        sown + timedelta(expected.first),
        sown + timedelta(expected.up),
        sown + timedelta(max(expected.overdue, expected.up)),
    )
    return Step("emergence", year, 1, window, sown, "sowing", expected.reason, expected.source)


def _expected(crop: Crop, soil_c: float | None) -> _Expected:
    if not crop.emergence:
        return _untold(crop)
    if soil_c is None and crop.direct_sown:
        return _in_bed(crop)
    assumed = soil_c is None
    soil = fact("sow.emergence_room").si if soil_c is None else soil_c
    where = f"{{{soil:.2f} C}}{' (assumed)' if assumed else ''}"
    found = days_to_emergence(soil, crop.emergence)
    if found is None:
        return _none_comes_up(crop, soil, where)
    if crop.slow_days is not None:
        slow, slowest = crop.slow_days
        reason = (
            f"{crop.latin} commonly takes {slow} to {slowest} days in warmth; "
            f"the bench has {where}. Do not give up early."
        )
        return _looked_for(slow, reason, slowest, crop.fact("slow_days").source)
    up = round(found)
    return _looked_for(up, f"Expect {_word(crop)} seedlings in about {up} days at {where}.")


def _looked_for(up: int, reason: str, slowest: int = 0, source: str = "knott") -> _Expected:
    overdue = max(slowest, round(up * fact("sow.overdue_factor").value))
    return _Expected(up * 3 // 4, up, overdue, reason, source)


def _untold(crop: Crop) -> _Expected:
    up = days("untold.emergence")
    reason = (
        f"No table of days to emergence is at hand for {_word(crop)}: look after {up} days, "
        "and thin when the first true leaves open."
    )
    return _looked_for(up, reason, source="practice")


def _in_bed(crop: Crop) -> _Expected:
    """In a bed the soil warms meanwhile: from the coldest it comes up in to the best."""
    coldest, coolest_days = _comes_up(crop)[0]
    least, best = crop.find("soil_min"), crop.find("soil_best")
    cold = coldest if least is None else max(least.si, coldest)
    slow = round(days_to_emergence(cold, crop.emergence) or coolest_days)
    warm = cold if best is None else best.si
    quick = min(round(days_to_emergence(warm, crop.emergence) or slow), slow)
    reason = (
        f"Expect {_word(crop)} seedlings in {quick} days at {{{warm:.2f} C}} to {slow} days at "
        f"{{{cold:.2f} C}} of soil; thin when the first true leaves open."
    )
    overdue = round(slow * fact("sow.overdue_factor").value)
    return _Expected(quick, slow, overdue, reason)


def _none_comes_up(crop: Crop, soil: float, where: str) -> _Expected:
    rows = _comes_up(crop)
    (coldest, slowest), (warmest, after) = rows[0], rows[-1]
    edge = crop.emergence[-1 if soil > warmest else 0]
    none = (
        f"No {_word(crop)} comes up at {where}."
        if edge[1] is None
        else f"How long {_word(crop)} takes at {where} is not published."
    )
    if soil > warmest:
        up = round(after)
        return _looked_for(up, f"{none} Cool it to {{{warmest:.2f} C}}: there it takes {up} days.")
    fastest = [degrees for degrees, taken in rows if taken == min(row[1] for row in rows)]
    low, high = fastest[0], fastest[-1]
    to = f"{{{low:.0f} C}} to {{{high:.0f} C}}" if low < high else f"{{{low:.0f} C}}"
    up = round(slowest)
    return _looked_for(
        up,
        f"{none} Warm the bench to {to}; even at {{{coldest:.2f} C}} it takes {up} days.",
    )


def _comes_up(crop: Crop) -> list[tuple[float, float]]:
    """The nodes of the table at which something comes up."""
    return [(degrees, taken) for degrees, taken in crop.emergence if taken is not None]


def _word(crop: Crop) -> str:
    return crop.group if crop.group in NAMES else crop.label.lower()

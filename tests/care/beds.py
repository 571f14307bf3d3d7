"""Made-up crops and beds with round numbers, for tests of a bed."""

from datetime import date

from lifecycle.care.bed import Standing
from lifecycle.handbook import Crop, Fact

DAY = date(2026, 7, 1)  # a Wednesday

_UNITS = {
    **dict.fromkeys(("spacing", "row_spacing", "root_depth"), "cm"),
    **dict.fromkeys(("kc_ini", "kc_mid", "kc_end", "depletion"), "ratio"),
    **dict.fromkeys(("stage_ini", "stage_dev", "stage_mid", "stage_late"), "days"),
    "fruit_per_plant": "count",
    "seed_life": "years",
    "germination_standard": "share",
    "nitrogen_left": "g/m2",
}
_USUAL = {
    "kc_ini": 0.5,
    "kc_mid": 1.0,
    "kc_end": 0.8,
    "stage_ini": 10,
    "stage_dev": 20,
    "stage_mid": 100,
    "stage_late": 20,
    "root_depth": 50,
    "depletion": 0.3,
}


def a_crop(
    *,
    key: str = "made_up",
    label: str = "Made-up crop",
    family: str = "solanaceae",
    group: str = "pepper",
    habit: str = "",
    perennial: bool = False,
    **facts: float | tuple[float, float],
) -> Crop:
    """Return a crop with usual round numbers; a pair of numbers makes a range, in SI or years."""
    made = {}
    for name, value in {**_USUAL, **facts}.items():
        low, high = value if isinstance(value, tuple) else (value, None)
        made[name] = Fact(f"{key}.{name}", low, _UNITS[name], "fao56", "memory", to=high)
    return Crop(key, label, "", family, group, habit, perennial, False, False, (), (), made)


def standing(since: date = date(2026, 5, 1), count: int = 1, **crop: object) -> Standing:
    """Return plants of a made-up crop, by default two months in the ground: Kc is 1."""
    return Standing(a_crop(**crop), since, count)  # type: ignore[arg-type]

"""The crops: whole, in order, and what a garden may set in place of a published value."""

import pytest

from lifecycle.agronomy.light import FOOT_CANDLES_PER_UMOL, LUX_PER_UMOL, LightSource
from lifecycle.handbook import BOUNDS, CROPS, FAMILIES, LAMPS, SOURCES
from lifecycle.handbook.crops import made_crops
from lifecycle.handbook.loader import TABLE_SOURCES

PEPPERS = ("annuum", "chinense", "baccatum", "frutescens", "pubescens")
KEYS = {
    *PEPPERS, "tomato_determinate", "tomato_semi", "tomato_indeterminate", "tomato_cherry",
    "eggplant", "pea", "bean", "lettuce", "onion", "garlic", "brassica", "carrot", "squash", "corn",
}  # fmt: skip


def test_every_crop_that_shares_the_beds_is_there() -> None:
    assert set(CROPS) == KEYS
    assert {key for key, crop in CROPS.items() if crop.perennial} == set(PEPPERS)
    assert {key for key, crop in CROPS.items() if crop.group == "partner"} == {
        key for key, crop in CROPS.items() if crop.direct_sown
    }
    assert {crop.family for crop in CROPS.values()} <= set(FAMILIES)
    assert len({crop.label for crop in CROPS.values()}) == len(CROPS)


@pytest.mark.parametrize("key", sorted(CROPS))
def test_a_crop_is_whole(key: str) -> None:
    crop = CROPS[key]
    assert crop.source in SOURCES
    assert crop.sow_weeks[0] <= crop.sow_weeks[1]
    assert (crop.sow_weeks == (0, 0)) is crop.direct_sown
    for table in (crop.emergence, crop.normal):
        temperatures = [degrees for degrees, _ in table]
        assert temperatures == sorted(set(temperatures))
    assert all(0 <= share <= 1 for _, share in crop.normal)
    for name in ("kc_ini", "kc_mid", "kc_end", "root_depth", "depletion", "spacing", "maturity"):
        assert crop.fact(name).si > 0
    for name in BOUNDS:
        known = crop.find(name)
        if known is not None:
            BOUNDS[name].check(known.si)
            BOUNDS[name].check(known.si_high)


def test_limits_of_temperature_stand_in_order() -> None:
    for crop in CROPS.values():
        names = ("kill", "chill_night", "allowed_night", "ready_night", "soil_best")
        known = [crop.fact(name).si for name in names if name in crop.facts]
        assert known == sorted(known), crop.key


def test_what_a_crop_is_like_it_takes_over_save_what_is_its_own() -> None:
    annuum, chinense = CROPS["annuum"], CROPS["chinense"]
    assert chinense.family == annuum.family
    assert chinense.emergence is annuum.emergence
    assert chinense.fact("spacing") is annuum.fact("spacing")
    assert chinense.sow_weeks == (10, 12)
    assert chinense.slow_days == (14, 28)
    assert annuum.slow_days is None


def test_what_is_not_published_is_not_there() -> None:
    assert CROPS["annuum"].fact("base_temp").si == pytest.approx(12.7778, abs=1e-4)
    assert CROPS["chinense"].find("base_temp") is None
    with pytest.raises(KeyError):
        CROPS["chinense"].fact("base_temp")
    assert CROPS["garlic"].emergence == CROPS["garlic"].normal == ()


def test_the_unsafe_cell_of_the_emergence_table_is_left_out() -> None:
    # Copies disagree on snap bean at 95 F.
    assert max(degrees for degrees, _ in CROPS["bean"].emergence) == pytest.approx(30)


def test_a_gardens_own_value_stands_in_for_the_published_one() -> None:
    own = CROPS["annuum"].adapted({"spacing": 60, "sow_weeks": 63})
    assert own.fact("spacing").si == 60
    assert own.fact("spacing").source == "garden"
    assert own.fact("spacing").source in SOURCES
    assert own.fact("spacing").si_to is None
    assert own.sow_weeks == (9, 9)
    assert own.fact("row_spacing") is CROPS["annuum"].fact("row_spacing")
    assert CROPS["annuum"].fact("spacing").si == pytest.approx(45.72)
    assert CROPS["chinense"].adapted({"base_temp": 11}).fact("base_temp").si == 11


@pytest.mark.parametrize("name", sorted(BOUNDS))
def test_bounds_hold_at_both_ends(name: str) -> None:
    crop, bounds = CROPS["annuum"], BOUNDS[name]
    for value in (bounds.low, bounds.high):
        assert crop.adapted({name: value}).fact(name).si == value
    for value in (bounds.low - 0.01, bounds.high + 0.01, float("nan"), float("inf")):
        with pytest.raises(ValueError, match=f"^{bounds.label}: .* cannot be"):
            crop.adapted({name: value})


def test_a_value_that_cannot_be_is_refused_in_one_clear_sentence() -> None:
    with pytest.raises(ValueError, match=r"^Nights to plant out at: 200 °C cannot be\. "
                       r"Give 10 to 15.6 °C\.$"):  # fmt: skip
        CROPS["annuum"].adapted({"ready_night": 200})
    with pytest.raises(ValueError, match=r"^Fruit a plant: 0 cannot be\. Give 1 to 2000\.$"):
        CROPS["annuum"].adapted({"fruit_per_plant": 0})
    with pytest.raises(ValueError, match="“colour” cannot be set for a variety"):
        CROPS["annuum"].adapted({"colour": 1})


PLAIN = {"label": "Pea", "latin": "Pisum", "family": "fabaceae", "group": "partner",
         "direct_sown": True}  # fmt: skip
TIMING = {"direct_before_freeze": {"value": 4, "unit": "weeks", "source": "handbook97",
                                   "mark": "memory"}}  # fmt: skip
TABLES: dict[str, object] = {"emergence_f": {}, "normal_f": {}}


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"family": "moss"}, "there is no family “moss”"),
        ({"group": "weed"}, "there is no group “weed”"),
        ({"habit": "odd"}, "there is no habit “odd”"),
        ({"like": "moon"}, "there is no crop “moon” before it"),
        ({"facts": {}}, "it does not say when to sow"),
        ({"direct_sown": False}, "it does not say when to sow"),
    ],
)
def test_a_crop_that_is_not_whole_is_refused(change: dict[str, object], sentence: str) -> None:
    data = {**TABLES, "crop": {"pea": {**PLAIN, "facts": TIMING, **change}}}
    with pytest.raises(ValueError, match=f"^Handbook, pea: {sentence}"):
        made_crops(data, FAMILIES, SOURCES)


def test_the_tables_of_seedlings_are_sourced() -> None:
    assert TABLE_SOURCES == {"emergence_f": ("knott", "found"), "normal_f": ("normal", "found")}


def test_lamps_are_those_that_light_is_reckoned_by() -> None:
    for each in LightSource:
        lamp = LAMPS[each.name.lower()]
        assert lamp.lux_per_umol == LUX_PER_UMOL[each]
        assert lamp.fc_per_umol == FOOT_CANDLES_PER_UMOL[each]
    assert len(LAMPS) == len(LightSource)

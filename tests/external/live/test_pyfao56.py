"""The water balance beside pyfao56's, run on the same random weather.

pyfao56 always uses the dual coefficient, evaporation apart from transpiration; where more water is
called readily evaporable than the surface holds (REW above TEW), its Kr is 0 and transpiration is
left alone, which is our single coefficient. Roots do not grow (Zrini = Zrmax), since a bed's
balance has one depth.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyfao56 import Irrigation, Model, Parameters, Weather
from pyfao56.tools.tables import FAO56Tables

from lifecycle.agronomy.evapotranspiration import (
    CropStages,
    crop_coefficient,
    crop_evapotranspiration,
    depletion_fraction,
)
from lifecycle.agronomy.soil_water import (
    BedSoil,
    SoilLayer,
    readily_available_water,
    stress_coefficient,
    water_balance,
)

START = np.datetime64("2023-04-01")


def modelled(parameters, et0, rain, irrigation):
    """pyfao56's output, one row a day."""
    keys = [(START + day).item().strftime("%Y-%j") for day in range(len(et0))]
    weather, given_mm = Weather(), Irrigation()
    weather.wndht = 2.0
    for key, reference, fall in zip(keys, et0, rain, strict=True):
        row = dict.fromkeys(weather.cnames, np.nan) | {"ETref": reference, "Rain": fall}
        row |= {"Wndsp": 2.0, "RHmin": 45.0, "MorP": "M"}
        weather.wdata.loc[key] = row
    for key, water in zip(keys, irrigation, strict=True):
        if water > 0:
            given_mm.addevent(int(key[:4]), int(key[5:]), water, 1.0)
    model = Model(keys[0], keys[-1], parameters, weather, irr=given_mm)
    model.run()
    return model.odata


@st.composite
def seasons(draw):
    days = draw(st.integers(5, 40))

    def numbers(low, high):
        return draw(st.lists(st.floats(low, high), min_size=days, max_size=days))

    often_none = st.one_of(st.just(0.0), st.floats(1, 40))
    water = st.lists(often_none, min_size=days, max_size=days)
    return {
        "et0": np.array(numbers(0.5, 9)),
        "rain": np.array(draw(water)),
        "irrigation": np.array(draw(water)),
        "capacity": draw(st.floats(0.2, 0.4)),
        "wilting": draw(st.floats(0.05, 0.18)),
        "start": draw(st.floats(0, 0.9)),
        "rooting": draw(st.floats(0.15, 1.0)),
        "p": draw(st.floats(0.2, 0.6)),
        "stages": (draw(st.integers(1, 10)), draw(st.integers(1, 10)), 10, 5),
    }


NO_EVAPORATION = 1e6


def parameters_of(season, readily_evaporable_mm=8.0):
    initial, development, middle, late = season["stages"]
    spread = season["capacity"] - season["wilting"]
    return Parameters(
        Kcmini=0.6, Kcmmid=1.05, Kcmend=0.9, Kcbini=0.15, Kcbmid=1.0, Kcbend=0.8,
        Lini=initial, Ldev=development, Lmid=middle, Lend=late,
        thetaFC=season["capacity"], thetaWP=season["wilting"],
        theta0=season["capacity"] - season["start"] * spread,
        Zrini=season["rooting"], Zrmax=season["rooting"], pbase=season["p"],
        REW=readily_evaporable_mm,
    )  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(seasons())
def test_a_season_of_a_bed(season):
    theirs = modelled(
        parameters_of(season, NO_EVAPORATION), season["et0"], season["rain"], season["irrigation"]
    )
    depth = 1000 * season["rooting"]
    bed = BedSoil((SoilLayer(depth, season["capacity"], season["wilting"]),))
    available = bed.available_water(5000)
    assert available == pytest.approx(theirs["TAW"].iloc[0], abs=1e-9)
    stages = CropStages(*season["stages"], 0.15, 1.0, 0.8)
    etc = crop_evapotranspiration(
        season["et0"], crop_coefficient(stages, np.arange(season["et0"].size))
    )
    ours = water_balance(
        season["start"] * available,
        available,
        depletion_fraction(season["p"], etc),
        etc,
        season["rain"],
        season["irrigation"],
    )
    assert ours.stress == pytest.approx(theirs["Ks"].to_numpy(float), abs=1e-9)
    assert ours.depletion == pytest.approx(theirs["Dr"].to_numpy(float), abs=1e-9)
    assert ours.drained == pytest.approx(theirs["DP"].to_numpy(float), abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(seasons())
def test_shares_and_stress_day_by_day(season):
    theirs = modelled(parameters_of(season), season["et0"], season["rain"], season["irrigation"])
    p = depletion_fraction(season["p"], theirs["ETc"].to_numpy(float))
    assert p == pytest.approx(theirs["p"].to_numpy(float), abs=1e-12)
    available = theirs["TAW"].to_numpy(float)
    readily = readily_available_water(available, p)
    assert readily == pytest.approx(theirs["RAW"].to_numpy(float), abs=1e-9)
    evenings = theirs["Dr"].to_numpy(float)
    mornings = np.concatenate(([season["start"] * available[0]], evenings[:-1]))
    stress = stress_coefficient(mornings, available, p)
    assert stress == pytest.approx(theirs["Ks"].to_numpy(float), abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(seasons())
def test_the_coefficient_along_its_stages(season):
    theirs = modelled(parameters_of(season), season["et0"], season["rain"], season["irrigation"])
    stages = CropStages(*season["stages"], 0.6, 1.05, 0.9)
    ours = crop_coefficient(stages, np.arange(season["et0"].size))
    assert ours == pytest.approx(theirs["Kcm"].to_numpy(float), abs=1e-9)


def test_sweet_pepper_in_its_tables():
    tables = FAO56Tables()

    def row(table):
        return table[table["Crop"].str.contains("sweet peppers")].iloc[0].tolist()

    _crop, *coefficients, _height = row(tables.table12)
    _crop, shallow, deep, p = row(tables.table22)
    _crop, *stages = row(tables.table11)
    assert [float(kc) for kc in coefficients] == [0.60, 1.05, 0.90]
    assert (float(shallow), float(deep), float(p)) == (0.5, 1.0, 0.30)
    assert [int(days) for days in stages[:5]] == [30, 35, 40, 20, 125]

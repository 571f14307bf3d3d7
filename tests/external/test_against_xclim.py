"""Zone, freeze days and smoothed minima against outputs frozen from xclim 0.62.0.

The fixture holds values computed independently with xclim; freeze_xclim_outputs.py made it.
"""

import json
from pathlib import Path

import installed_records
import pytest
from against_xclim import assert_same

from lifecycle.agronomy.record_reader import read_daily_record

FROZEN = json.loads((Path(__file__).parent / "fixtures" / "xclim_outputs.json").read_text())


def test_the_fixture_says_how_it_was_made():
    assert FROZEN["xclim"] == "0.62.0"
    assert FROZEN["made_by"].endswith("tests/external/freeze_xclim_outputs.py")
    assert set(FROZEN["records"]) == {"champion", "brussels", "cambridge", "hyderabad"}


@pytest.mark.parametrize("name", sorted(FROZEN["records"]))
def test_same_answers(name):
    record = read_daily_record(installed_records.aquacrop_csv(name))
    assert_same(record, FROZEN["records"][name])


def test_published_zone_numbers():
    # xclim 0.62.0 run on whole records: 8 = 5a Champion, 15 = 8b Brussels, 20 = 11a Hyderabad.
    whole = {"champion": ("37", 8), "brussels": ("30", 15), "hyderabad": ("11", 20)}
    for name, (years, number) in whole.items():
        assert FROZEN["records"][name]["half_zone_numbers"][years] == number

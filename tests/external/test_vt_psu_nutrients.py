"""Oxides and elements: Virginia Tech SPES-201, and Penn State's turf factsheet of 2022.

Penn State reckons with 0.44 and 0.83, Virginia Tech with 0.4365 and 0.83; inverse 2.29 and 1.2.
"""

import pytest

from lifecycle.agronomy.nutrients import phosphate, phosphorus, potash, potassium


def test_printed_examples():
    assert phosphorus(20) == pytest.approx(8.8, abs=0.1)
    assert phosphorus(20) == pytest.approx(8.73, abs=0.005)
    assert potassium(10) == pytest.approx(8.3, abs=0.005)
    assert potash(49.8) == pytest.approx(60.0, abs=0.05)


def test_printed_factors():
    assert phosphorus(1) == pytest.approx(0.4365, abs=1e-4)
    assert potassium(1) == pytest.approx(0.83, abs=5e-4)
    assert phosphate(1) == pytest.approx(2.29, abs=5e-3)
    assert potash(1) == pytest.approx(1.2, abs=5e-3)

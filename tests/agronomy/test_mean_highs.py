"""The mean highs of a record, which evapotranspiration asks for."""

from dataclasses import replace

import numpy as np
import pytest
from made_up_records import cosine_year, days, record

from lifecycle.agronomy.site_climate import ClimateSummary, summarise
from lifecycle.agronomy.warm_nights import smoothed_maxima


def test_the_curve_of_highs_is_the_circular_mean_of_fifteen_days():
    values = np.zeros(365)
    values[0] = 15.0
    curve = smoothed_maxima(record(days("2001-01-01", "2001-12-31"), values))
    assert np.flatnonzero(curve > 10.5).tolist() == [*range(8), *range(358, 365)]
    assert curve[0] == pytest.approx(11.0)


def test_highs_run_beside_the_lows_day_by_day():
    summary = summarise(cosine_year())
    assert summary.curve_max_c is not None
    apart = [high - low for high, low in zip(summary.curve_max_c, summary.curve_c, strict=True)]
    assert apart == pytest.approx([10.0] * 365, abs=2e-4)


def test_a_record_without_highs_has_no_curve_of_them():
    source = cosine_year("2001-01-01", "2003-12-31")
    lows_only = replace(source, tmax_c=np.full(source.tmax_c.size, np.nan))
    summary = summarise(lows_only)
    assert summary.curve_max_c is None
    assert ClimateSummary.from_stored(summary.as_stored()) == summary


def test_a_summary_stored_before_highs_were_kept_still_loads():
    stored = summarise(cosine_year("2001-01-01", "2003-12-31")).as_stored()
    del stored["curve_max_c"]
    assert ClimateSummary.from_stored(stored).curve_max_c is None

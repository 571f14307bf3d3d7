"""What acting from each chance would have cost and caught on a site's daily record.

Forecasts are made from the truth, as wrong as the site's forecasts of the same day are, and judged
by the nights of the other years. All nights of the year count, also those in which nothing stands
out.
"""

from lifecycle.agronomy.cost_loss import RULES, calls, ratio_that_misses
from lifecycle.agronomy.daily_record import DailyRecord, RecordError
from lifecycle.agronomy.frost_backtest import backtest
from lifecycle.care.frost_limits import KILLING_C
from lifecycle.care.frost_policy import DEFAULT_RATIO, Curve, CurvePoint
from lifecycle.care.frost_words import ratio_words
from lifecycle.care.policy import MISS, SETTINGS

LEAST_RATIO = 0.001
"""A promise of few misses never asks for more than that."""

_MISSED = tuple(
    int(choice.value.removeprefix(MISS))
    for choice in SETTINGS["frost_kill"].choices
    if choice.value.startswith(MISS)
)


def rehearsed_curve(record: DailyRecord, error_sd_c: float) -> Curve:
    """Return the curve of a record for forecasts that miss by this standard deviation in C.

    Without points where the record is too short for a rehearsal.
    """
    try:
        found = backtest(record, limit_c=KILLING_C, ratio=DEFAULT_RATIO, error_sd=error_sd_c)
    except RecordError:
        return Curve(0.0, ())
    keeping = []
    for nights in _MISSED:
        ratio = ratio_that_misses(found.said, found.happened, nights)
        if ratio is not None:
            keeping.append((nights, max(ratio, LEAST_RATIO)))
    # A row a rule, and one for what a promise of few misses comes to, where that is another one.
    ratios = {ratio_words(ratio): ratio for _, ratio in keeping}
    ratios |= {ratio_words(1 / one_in): 1 / one_in for one_in in RULES}
    points = []
    for ratio in sorted(ratios.values(), reverse=True):
        counts = calls(found.said, found.happened, ratio)
        points.append(CurvePoint(ratio, counts.called, counts.caught, counts.missed))
    return Curve(found.years, tuple(points), tuple(keeping))

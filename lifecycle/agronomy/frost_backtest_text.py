"""A rehearsed frost rule in plain text, for a terminal."""

from lifecycle.agronomy.cost_loss import always_expense, never_expense
from lifecycle.agronomy.frost_backtest import Backtest


def as_text(test: Backtest) -> str:
    """A verdict, the numbers, what other rules would cost in evenings, and how true chances were.

    Temperatures in C, expenses in plants lost.
    """
    counts = test.counts
    lines = [
        _verdict(test),
        "",
        f"{counts.nights} nights of {test.years:.1f} years, {counts.came} at or below "
        f"{test.limit_c:g} C. Forecasts of the day miss by {test.error_sd_c:g} C.",
        f"Rule: act from a chance of 1 in {1 / test.ratio:g} on.",
        f"Caught {counts.caught}, missed {counts.missed}, called for nothing "
        f"{counts.called_for_nothing}: {counts.called / test.years:.1f} evenings a year.",
        "",
        "Cost in plants lost:",
        f"  this rule        {test.expense:>9.1f}",
        f"  best in theory   {test.best:>9.1f}   Bayes' rule on the very nights of the other years",
        f"  acting always    {always_expense(counts, test.ratio):>9.1f}",
        f"  never acting     {never_expense(counts):>9.1f}",
        "",
        "What other rules would have cost:",
        "  act from     caught   missed a year   evenings a year   for nothing",
    ]
    lines += [
        f"  1 in {point.one_in:<6}{_share(point.caught_share):>8}"
        f"{point.missed_a_year:>14.2f}{point.calls_a_year:>17.1f}{point.for_nothing_a_year:>15.1f}"
        for point in test.curve
    ]
    lines += _misses(test)
    lines += ["", "Chances said and what came:", "  said    came      nights"]
    lines += [f"  {row.said:>5.1%}{row.happened:>9.1%}{row.nights:>10}" for row in test.reliability]
    lines += ["", "By days ahead:", "  days   error C   caught   missed   for nothing"]
    lines += [
        f"  {row.lead_days:<7}{row.error_sd_c:>5.1f}{row.calls.caught:>10}{row.calls.missed:>9}"
        f"{row.calls.called_for_nothing:>12}"
        for row in test.by_lead
    ]
    return "\n".join(lines)


def _verdict(test: Backtest) -> str:
    counts = test.counts
    if not counts.came:
        return f"No night of this record came to {test.limit_c:g} C: there is nothing to call."
    right = f", and {counts.caught / counts.called:.0%} of its calls were right"
    return (
        f"The rule caught {counts.caught / counts.came:.1%} of the nights that would have killed"
        f"{right if counts.called else ''}."
    )


def _misses(test: Backtest) -> list[str]:
    if not test.miss_curve:
        return []
    return [
        "",
        "To miss at most one killing night in so many:",
        "  one in   act from a chance of   evenings a year",
        *(
            f"  {point.one_in:<9}{point.ratio:>19.1%}{point.calls_a_year:>18.1f}"
            for point in test.miss_curve
        ),
    ]


def _share(share: float | None) -> str:
    return "none" if share is None else f"{share:.1%}"

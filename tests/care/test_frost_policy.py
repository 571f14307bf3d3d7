"""From a site's setting to the chances it acts at, and what is worth a thought."""

import pytest

from lifecycle.care.frost_night import Ratios
from lifecycle.care.frost_policy import (
    DEFAULT_RATIO,
    Curve,
    CurvePoint,
    Tally,
    needs_curve,
    ratios_of,
    suggestion,
)
from lifecycle.care.policy import DEFAULTS, SETTINGS, policy_of

POINTS = (
    CurvePoint(1 / 5, 30, 20, 20),
    CurvePoint(1 / 10, 50, 36, 4),
    CurvePoint(1 / 20, 80, 38, 2),
    CurvePoint(1 / 50, 200, 39, 1),
    CurvePoint(1 / 100, 400, 40, 0),
)
CURVE = Curve(30, POINTS, ((10, 1 / 10), (20, 1 / 16), (50, 1 / 60), (100, 0.009)))
NEVER = Curve(30, (CurvePoint(1 / 20, 9, 0, 0),))


def chosen(kill: str, harm: str = "5"):
    return policy_of({"frost_kill": kill, "frost_harm": harm})


def test_the_defaults() -> None:
    assert ratios_of(DEFAULTS, None) == Ratios(1 / 20, 1 / 5) == Ratios()
    assert DEFAULT_RATIO == 1 / 20


@pytest.mark.parametrize("kill", ["5", "10", "20", "50", "100"])
@pytest.mark.parametrize("harm", ["2", "5", "10", "20"])
def test_a_cost_over_loss_is_its_ratio(kill, harm) -> None:
    assert ratios_of(chosen(kill, harm), CURVE) == Ratios(1 / int(kill), 1 / int(harm))
    assert not needs_curve(chosen(kill))


@pytest.mark.parametrize(
    ("nights", "ratio"), [(10, 1 / 10), (20, 1 / 16), (50, 1 / 60), (100, 0.009)]
)
def test_missing_at_most_one_in_so_many_takes_the_greatest_ratio_that_keeps_to_it(
    nights, ratio
) -> None:
    assert needs_curve(chosen(f"miss_{nights}"))
    assert ratios_of(chosen(f"miss_{nights}"), CURVE).kill == ratio


def test_without_a_record_that_froze_the_default_stands() -> None:
    for curve in (None, NEVER, Curve(0, ())):
        assert ratios_of(chosen("miss_50", "10"), curve) == Ratios(1 / 20, 1 / 10)


def test_every_choice_offered_is_understood() -> None:
    for setting in ("frost_kill", "frost_harm"):
        assert not SETTINGS[setting].plans
        for choice in SETTINGS[setting].choices:
            found = ratios_of(policy_of({setting: choice.value}), CURVE)
            assert 0 < found.kill <= 1 / 5
            assert 0 < found.harm <= 1 / 2


def test_points_of_a_curve() -> None:
    point = POINTS[1]
    assert (point.killing, point.for_nothing) == (40, 14)
    assert CURVE.at(1 / 20) == POINTS[2]
    assert CURVE.at(1 / 13) == POINTS[1]
    assert CURVE.at(1 / 16) == POINTS[2]
    assert CURVE.at(1 / 1000) == POINTS[-1]
    assert Curve(1, ()).at(1 / 20) is None


def test_calls_that_miss_too_much_bring_a_smaller_ratio_to_mind() -> None:
    found = suggestion(1 / 10, CURVE, Tally())
    assert found is not None
    assert (found.now, found.then) == (POINTS[1], POINTS[2])
    assert found.why == "Killing nights are missed."
    # One in twenty is not too much.
    assert suggestion(1 / 20, CURVE, Tally()) is None
    # But a night of one's own that was missed is, as long as asking sooner helps.
    own = suggestion(1 / 20, CURVE, Tally(missed=1))
    assert own is not None
    assert own.then == POINTS[3]
    assert suggestion(1 / 100, CURVE, Tally(missed=1)) is None


def test_the_greatest_ratio_that_misses_few_enough_is_named() -> None:
    found = suggestion(1 / 5, CURVE, Tally())
    assert found is not None
    assert (found.now, found.then) == (POINTS[0], POINTS[2])


def test_where_none_keeps_to_it_the_one_that_misses_least_is_named() -> None:
    points = [CurvePoint(1 / n, 9, 10 - missed, missed) for n, missed in ((5, 8), (10, 6), (20, 5))]
    found = suggestion(1 / 5, Curve(30, tuple(points)), Tally())
    assert found is not None
    assert found.then == points[2]


@pytest.mark.parametrize(
    ("right", "nothing", "fewer"), [(0, 9, False), (0, 10, True), (1, 9, False), (1, 10, True)]
)
def test_many_calls_for_nothing_bring_a_greater_ratio_to_mind(right, nothing, fewer) -> None:
    found = suggestion(1 / 100, CURVE, Tally(called_killing=right, called_mild=nothing))
    assert (found is not None) is fewer
    if found is not None:
        assert (found.now, found.then) == (POINTS[4], POINTS[3])
        assert found.why == "Nearly all calls are for nothing."


def test_nothing_is_suggested_where_nothing_is_known_or_nothing_better() -> None:
    assert suggestion(1 / 20, None, Tally(missed=3)) is None
    assert suggestion(1 / 20, NEVER, Tally(missed=3)) is None
    assert suggestion(1 / 20, Curve(0, ()), Tally(missed=3)) is None
    loud = Tally(called_mild=20)
    # Asking later would miss too many; one in twenty is just few enough.
    assert suggestion(1 / 20, CURVE, loud) is None
    fewer = suggestion(1 / 50, CURVE, loud)
    assert fewer is not None
    assert fewer.then == POINTS[2]
    # The same calls under another ratio are no gain.
    flat = Curve(30, (CurvePoint(1 / 5, 9, 9, 0), CurvePoint(1 / 20, 9, 9, 0)))
    assert suggestion(1 / 20, flat, loud) is None


def test_a_tally() -> None:
    assert Tally(2, 3, 1, 9).calls == 5

"""A night judged: by cost against loss, with covers at their least, none in wind."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.care.frost_limits import Limits
from lifecycle.care.frost_night import (
    COVERS,
    SHEET,
    Action,
    OutThere,
    Ratios,
    Spot,
    fear_of,
    gain_of,
    judge,
)
from lifecycle.handbook import PROTECTIONS
from tests.care.frosts import HARM, KILL, TENDER, Given, Night, bed, bench, stock

RATIOS = Ratios()
LIGHT_C = PROTECTIONS["cover_light"].sure_c
ORDER = list(Action)


def chances(
    kill: float, harm: float, kill_covered: float = 0.0, harm_covered: float = 0.0, *, gain=None
):
    """Chances of the limits of a tender plant, and of those under a light cover."""
    gain = LIGHT_C if gain is None else gain
    return Given(
        {
            round(KILL, 6): kill,
            round(HARM, 6): harm,
            round(KILL - gain, 6): kill_covered,
            round(HARM - gain, 6): harm_covered,
        }
    )


LIGHT = (stock(),)


def one(low, spot=None, *, calm=True, ratios=RATIOS, covers=LIGHT):
    [place] = judge([spot or bed()], low, calm=calm, ratios=ratios, stock=list(covers)).places
    return place


def test_the_defaults_are_1_to_20_and_1_to_5() -> None:
    assert (RATIOS.kill, RATIOS.harm) == (1 / 20, 1 / 5)


@pytest.mark.parametrize(
    ("kill", "harm", "acts"),
    [(0.05, 0.0, True), (0.0499, 0.0, False), (0.0, 0.2, True), (0.0, 0.1999, False)],
)
def test_it_pays_to_act_from_the_ratio_on(kill, harm, acts) -> None:
    place = one(chances(kill, harm))
    assert (place.action is Action.COVER) is acts
    assert (place.action is Action.LEAVE) is not acts
    assert (place.key, place.count) == (1, 3 if acts else 0)
    assert {plant.limits for plant in place.plants} == {TENDER}


@pytest.mark.parametrize(
    ("kill", "harm", "enough"),
    [(0.0499, 0.1999, True), (0.05, 0.0, False), (0.0, 0.2, False)],
)
def test_a_cover_is_enough_when_the_chance_falls_back_under_the_ratio(kill, harm, enough) -> None:
    place = one(chances(0.5, 0.9, kill, harm))
    assert place.action is (Action.COVER if enough else Action.NOT_ENOUGH)
    assert place.protection == "cover_light"


def test_pots_come_in_where_no_cover_is_enough_and_stay_where_one_is() -> None:
    assert one(chances(0.5, 0.9), bench()).action is Action.COVER
    carried = one(chances(0.5, 0.9, 0.05), bench())
    assert carried.action is Action.BRING_IN
    assert (carried.protection, carried.pieces, carried.short) == ("", 0, 0)


def test_in_wind_a_cover_counts_for_nothing_and_unknown_wind_leaves_it() -> None:
    for calm, gain in ((True, LIGHT_C), (None, LIGHT_C), (False, 0.0)):
        assert gain_of("cover_light", calm) == gain
    low = chances(0.5, 0.9)
    assert one(low, calm=False).action is Action.NOT_ENOUGH
    assert one(low, bench(), calm=False).action is Action.BRING_IN
    assert one(low, calm=None).action is Action.COVER


def test_without_covers_on_record_a_dry_sheet_is_counted_on() -> None:
    sheet = PROTECTIONS[SHEET].sure_c
    assert sheet == pytest.approx(2 / 1.8)
    sure = one(chances(0.5, 0.9, gain=sheet), covers=())
    assert (sure.action, sure.protection, sure.pieces) == (Action.COVER, "", 0)
    assert one(chances(0.5, 0.9, 0.05, gain=sheet), covers=()).action is Action.NOT_ENOUGH
    assert one(chances(0.5, 0.9), calm=False, covers=()).action is Action.NOT_ENOUGH
    assert one(chances(0.5, 0.9, gain=sheet), bench(), covers=()).action is Action.COVER
    assert one(chances(0.5, 0.9, 0.05, gain=sheet), bench(), covers=()).action is Action.BRING_IN


def test_the_least_cover_that_is_enough_is_taken() -> None:
    kinds = [stock("water_wall"), stock("cover_light"), stock("lights")]
    assert one(Night(2.6, 0.5), covers=kinds).action is Action.COVER
    assert one(Night(2.6, 0.5), covers=kinds).protection == "cover_light"
    assert one(Night(1.0, 0.5), covers=kinds).protection == "lights"
    assert one(Night(0.0, 0.5), covers=kinds).protection == "water_wall"
    # None is enough: the strongest.
    for calm in (True, False):
        worst = one(Night(-9.0, 0.5), calm=calm, covers=[stock("cover_light"), *kinds])
        assert (worst.action, worst.protection) == (Action.NOT_ENOUGH, "water_wall")
    worst = one(Night(-9.0, 0.5), covers=kinds)
    assert (worst.action, worst.protection) == (Action.NOT_ENOUGH, "water_wall")


@pytest.mark.parametrize(
    ("spot", "pieces"),
    [
        (bed(area=4.8), 1),
        (bed(area=5.0), 1),
        (bed(area=5.01), 2),
        (bed(plants=6), 1),
        (bed(plants=7), 2),
    ],
)
def test_pieces_cover_the_bed_or_one_for_six_plants(spot, pieces) -> None:
    assert one(chances(0.5, 0.9), spot).pieces == pieces


def test_what_is_missing_is_named() -> None:
    place = one(chances(0.5, 0.9), bed(area=20.0), covers=[stock(pieces=3)])
    assert (place.pieces, place.short) == (4, 1)
    assert one(chances(0.5, 0.9), bed(area=20.0), covers=[stock(pieces=4)]).short == 0
    # Another pile that is enough and has all of it goes before one that is short.
    both = [stock(pieces=3), stock("blanket", pieces=4)]
    assert one(chances(0.5, 0.9), bed(area=20.0), covers=both).protection == "blanket"
    exact = [stock(pieces=4), stock("water_wall", pieces=9)]
    assert one(chances(0.5, 0.9), bed(area=20.0), covers=exact).protection == "cover_light"
    short = [stock(pieces=1), stock("blanket", pieces=2)]
    place = one(chances(0.5, 0.9), bed(area=20.0), covers=short)
    assert (place.protection, place.pieces, place.short) == ("blanket", 4, 2)


def test_beds_are_served_before_pots_and_the_last_bed_goes_short() -> None:
    spots = [bench(9, 3, 1), bed(1, 6, 2), bed(2, 6, 3)]
    found = judge(
        spots, chances(0.5, 0.9), calm=True, ratios=RATIOS, stock=[stock(pieces=2)]
    ).places
    assert [place.key for place in found] == [9, 1, 2]
    assert [place.action for place in found] == [Action.BRING_IN, Action.COVER, Action.COVER]
    found = judge(
        spots, chances(0.5, 0.9), calm=True, ratios=RATIOS, stock=[stock(pieces=1)]
    ).places
    assert [place.short for place in found] == [0, 0, 1]
    three = [bed(1, 12, 1), bed(2, 12, 2), bed(3, 12, 3)]
    found = judge(
        three, chances(0.5, 0.9), calm=True, ratios=RATIOS, stock=[stock(pieces=3)]
    ).places
    assert [place.short for place in found] == [0, 1, 2]


def test_the_last_piece_covers_pots() -> None:
    place = one(chances(0.5, 0.9), bench(), covers=[stock(pieces=1)])
    assert (place.action, place.pieces) == (Action.COVER, 1)
    wide = Spot(9, 9, bench().plants, in_pots=True, area_m2=6.0)
    assert one(chances(0.5, 0.9), wide, covers=[stock(pieces=1)]).action is Action.BRING_IN
    assert one(chances(0.5, 0.9), wide, covers=[stock(pieces=2)]).pieces == 2


def test_the_most_endangered_bed_chooses_first() -> None:
    second = Spot(2, 2, (OutThere("t", Limits(0.0, 3.0)),))
    found = judge(
        [bed(1, 1, 1), second], Night(2.5, 0.4), calm=True, ratios=RATIOS, stock=[stock(pieces=1)]
    ).places
    assert [place.short for place in found] == [1, 0]


def test_only_endangered_plants_are_counted_a_pair_as_two() -> None:
    hardy, pair = OutThere("hardy", None), OutThere("pair", TENDER, 2)
    tough = OutThere("tough", Limits(-8.0, -8.0))
    place = one(chances(0.5, 0.9), Spot(1, 1, (hardy, pair, tough)))
    assert place.count == 2
    assert [plant.action for plant in place.plants] == [Action.LEAVE, Action.COVER, Action.LEAVE]
    assert [plant.key for plant in place.plants] == ["hardy", "pair", "tough"]
    assert [plant.limits for plant in place.plants] == [None, TENDER, tough.limits]
    assert place.action is Action.COVER


def test_nothing_out_is_nothing_to_fear() -> None:
    found = judge([], Night(-9), calm=True, ratios=RATIOS, stock=[])
    assert (found.places, found.kill_chance, found.harm_chance) == ((), 0.0, 0.0)
    assert (found.fear, found.hours, found.people) == (0.0, 0.0, 0)
    hardy = Spot(1, 1, (OutThere("garlic", None),))
    found = judge([hardy], Night(-9), calm=True, ratios=RATIOS, stock=[])
    [place] = found.places
    assert (place.action, place.count) == (Action.LEAVE, 0)
    assert [(plant.key, plant.action) for plant in place.plants] == [("garlic", Action.LEAVE)]
    assert (found.fear, found.hours, found.people) == (0.0, 0.0, 0)
    empty = judge([Spot(1, 1, ())], Night(-9), calm=True, ratios=RATIOS, stock=[stock()])
    assert empty.places[0].action is Action.LEAVE


def test_the_site_is_its_most_tender_plant() -> None:
    spots = [bed(1), Spot(2, 2, (OutThere("t", Limits(1.0, 3.0)),))]
    night = Night(2.0, 1.0)
    found = judge(spots, night, calm=True, ratios=RATIOS, stock=[])
    assert found.kill_chance == night.chance(1.0)
    assert found.harm_chance == night.chance(3.0)
    assert found.fear == max(night.chance(1.0) * 20, night.chance(3.0) * 5)


@pytest.mark.parametrize(
    ("beds", "pots", "hours", "people"),
    [(1, 0, 0.25, 1), (4, 0, 1.0, 1), (5, 0, 1.25, 2), (0, 20, 1.0, 1), (0, 21, 1.05, 2)],
)
def test_people_by_a_quarter_of_an_hour_a_bed_and_three_minutes_a_pot(
    beds, pots, hours, people
) -> None:
    spots = [bed(number) for number in range(1, beds + 1)]
    spots += [bench(99, pots)] if pots else []
    found = judge(spots, chances(0.5, 0.9), calm=False, ratios=RATIOS, stock=[stock()])
    assert found.hours == pytest.approx(hours)
    assert found.people == people


def test_covers_come_in_pieces() -> None:
    assert set(COVERS) <= set(PROTECTIONS)
    assert not {"wet_soil", "wall", "mulch"} & set(COVERS)
    assert all(PROTECTIONS[key].sure_c > 0 for key in COVERS)


lows = st.floats(-15, 15)
sds = st.floats(0.2, 4)
winds = st.sampled_from([True, False, None])
kinds = st.lists(st.sampled_from(COVERS), max_size=4, unique=True)


@given(lows, st.floats(0, 10), sds, winds, kinds, st.booleans())
def test_colder_never_means_less(low, colder, sd, calm, covers, pots) -> None:
    spot = bench(1) if pots else bed(1)
    piles = [stock(key) for key in covers]
    mild = one(Night(low, sd), spot, calm=calm, covers=piles)
    cold = one(Night(low - colder, sd), spot, calm=calm, covers=piles)
    assert ORDER.index(cold.action) >= ORDER.index(mild.action)


@given(lows, sds, st.floats(0, 6), st.floats(0, 6))
def test_more_warmth_is_never_worse(low, sd, gain, more) -> None:
    night = Night(low, sd)
    assert fear_of(night, TENDER, RATIOS, gain + more) <= fear_of(night, TENDER, RATIOS, gain)


@given(lows, sds, kinds, st.booleans())
def test_wind_is_never_better_and_not_knowing_is_as_still_air(low, sd, covers, pots) -> None:
    spot = bench(1) if pots else bed(1)
    piles = [stock(key) for key in covers]
    still, windy, unknown = (
        one(Night(low, sd), spot, calm=calm, covers=piles) for calm in (True, False, None)
    )
    assert ORDER.index(windy.action) >= ORDER.index(still.action)
    assert unknown == still


@given(lows, sds, kinds, st.sampled_from(COVERS), st.booleans())
def test_one_more_kind_of_cover_is_never_worse(low, sd, covers, extra, pots) -> None:
    spot = bench(1) if pots else bed(1)
    fewer = [stock(key) for key in covers]
    if not fewer:
        return
    before = one(Night(low, sd), spot, covers=fewer)
    after = one(Night(low, sd), spot, covers=[*fewer, stock(extra)])
    assert ORDER.index(after.action) <= ORDER.index(before.action)


@given(lows, sds, winds, st.floats(0.01, 0.5), st.floats(0.01, 0.5))
def test_a_smaller_ratio_never_means_less(low, sd, calm, one_ratio, other) -> None:
    small, large = sorted((one_ratio, other))
    careful = one(Night(low, sd), calm=calm, ratios=Ratios(small, small))
    easy = one(Night(low, sd), calm=calm, ratios=Ratios(large, large))
    assert ORDER.index(careful.action) >= ORDER.index(easy.action)

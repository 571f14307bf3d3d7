"""Support and shape: stake and tie, cage, pinch, and the single-stemmed tomato on its string."""

from datetime import timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import SETTINGS
from lifecycle.care.seasons import Season
from lifecycle.care.setting_out import pair
from lifecycle.care.steps import Step, Window
from lifecycle.care.summer import Summer, Why, after
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind

_STAKED = frozenset({"pepper", "eggplant"})
_TOMATO_SETTING = "tomato_training"


def supported(summer: Summer) -> list[Step]:
    """Return the steps that hold a plant up and train it, by crop and habit."""
    if summer.crop.group in _STAKED:
        return [*_stake(summer), *_tie(summer)]
    if not summer.crop.tall or summer.policy.of(_TOMATO_SETTING) == "cage":
        return _cage(summer)
    return [*_string(summer), *_side_shoots(summer), *_wind_on(summer), *_lower(summer)]


def topping(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    """Return the topping of a young pepper, unless the season is short or the site leaves it."""
    choice = outlook.policy.of("pinch")
    raised_on = life.dates.get(Kind.RAISED)
    if outlook.crop.group != "pepper" or choice != "six_leaves" or not raised_on:
        return []
    season_days = season_length(current)
    if season_days is not None and season_days < days("topping.short_season"):
        return []
    first, last = days("topping.after_potting_min"), days("topping.after_potting_max")
    window = after(raised_on[0], first, days("topping.after_potting"), last)
    lasts = "all year" if season_days is None else f"{season_days} days"
    why = Why(
        "potting up",
        f"At about {fact('topping.leaves').value:.0f} true leaves: topped peppers branch, and "
        f"leaves shade the fruit. It costs two weeks, and the season here lasts {lasts}.",
        SETTINGS["pinch"].choice(choice).source,
        "pinch",
    )
    young = Summer(life, current, life.began_on, outlook, newly_out=True)
    return young.once("pinch", Kind.PINCHED, window, why, stands=0, since=life.began_on, now=True)


def season_length(current: Season) -> int | None:
    """Return the days from planting out to lifting or the freeze; None where neither comes."""
    ends = current.first_freeze_risk if current.lift is None else current.lift.best
    return None if ends is None else (ends - current.plant_out.best).days


def _support_window(summer: Summer) -> Window:
    return after(summer.out_on, 0, 0, days("support.stake_within"))


def _stake(summer: Summer) -> list[Step]:
    if summer.kept:
        return _stout(summer)
    if not summer.newly_out:
        return []
    stake, sunk = fact("support.stake"), fact("support.stake_in_ground")
    why = Why(
        "planting out",
        f"At planting, before it can go through roots: a stake of {{{stake.si:.0f} cm}}, "
        f"{{{sunk.si:.0f} cm}} of it in the ground.{_pair_on_stake(summer)}",
        stake.source,
    )
    return summer.once("stake", Kind.STAKED, _support_window(summer), why, stands=30)


def _pair_on_stake(summer: Summer) -> str:
    words = pair(summer.life.count)
    return f" {words} One stake between them will do." if words else ""


def _stout(summer: Summer) -> list[Step]:
    """A woody plant of a second year: what already stands stout beside it stays."""
    stands_stout = summer.life.last_choice.get(Kind.STAKED) == "stout"
    if stands_stout and not summer.newly_out:
        return []
    why = Why(
        "planting out",
        "Its stems are woody and it will carry more than in its first year: a stout stake or a "
        f"trellis from {{{summer.out_on}}} on.",
        "practice",
    )
    return summer.once("stake_stout", Kind.STAKED, _support_window(summer), why, stands=30)


def _tie(summer: Summer) -> list[Step]:
    height = fact("support.tie_height")
    first, last = days("support.tie_after_min"), days("support.tie_after_max")
    window = after(summer.out_on, first, days("support.tie_after"), last)
    words = pair(summer.life.count)
    together = f" {words} One loose tie goes round both." if words else ""
    why = Why(
        "planting out",
        f"At about {{{height.si:.0f} cm}} tall, some {days('support.tie_after')} days after "
        f"{{{summer.out_on}}}: tie it loosely, in an eight.{together}",
        height.source,
    )
    return summer.once("tie", Kind.TIED, window, why, stands=30)


def _cage(summer: Summer) -> list[Step]:
    if not summer.newly_out:
        return []
    apart = fact("support.cage_apart")
    if summer.crop.habit == "determinate":
        tall = fact("support.determinate_height")
        reason = (
            f"About {{{tall.si:.0f} cm}} tall and {{{apart.si:.0f} cm}} apart: caged and not "
            "pruned, for every shoot taken off is fruit lost. One flush, and then it is finished."
        )
        setting = ""
    else:
        reason = f"Caged and not pruned, {{{apart.si:.0f} cm}} apart."
        setting = _TOMATO_SETTING if summer.crop.tall else ""
    why = Why("planting out", reason, apart.source, setting)
    return summer.once("cage", Kind.STAKED, _support_window(summer), why, stands=30)


def _string(summer: Summer) -> list[Step]:
    if not summer.newly_out:
        return []
    apart, alone = fact("single_stem.apart"), fact("single_stem.left_alone")
    why = Why(
        "planting out",
        f"One stem on a string, {{{apart.si:.0f} cm}} to {{{apart.si_high:.0f} cm}} apart. "
        f"Left alone, one plant can cover {{{alone.si:.0f} cm}}.",
        apart.source,
        _TOMATO_SETTING,
    )
    return summer.once("string", Kind.STAKED, _support_window(summer), why, stands=30)


def _side_shoots(summer: Summer) -> list[Step]:
    every = fact("single_stem.shoots_every")
    soon, late = round(every.si), round(every.si_high)
    begins, shoot = days("single_stem.begins"), fact("single_stem.shoot_length")
    why = Why(
        "planting out",
        f"Every {soon} to {late} days, before they are {{{shoot.si:.0f} cm}} long: break side "
        "shoots out on a dry day and keep one stem.",
        shoot.source,
        _TOMATO_SETTING,
    )
    first = after(summer.out_on, begins, begins, begins + soon)
    gaps = (soon, soon, late)
    return summer.again("side_shoots", Kind.SIDE_SHOOTS, first, gaps, why, ends=summer.ends)


def _wind_on(summer: Summer) -> list[Step]:
    begins, every = days("single_stem.begins"), days("single_stem.wind_every")
    why = Why(
        "planting out",
        f"Every {every} days, at midday, when stems bend without breaking: wind the tip round "
        "its string.",
        fact("single_stem.wind_every").source,
        _TOMATO_SETTING,
    )
    first = after(summer.out_on, begins, begins, begins + every)
    gaps = (every, every, every + 3)
    return summer.again("wind_on", Kind.TIED, first, gaps, why, ends=summer.ends)


def _lower(summer: Summer) -> list[Step]:
    wire, start = fact("single_stem.wire"), fact("single_stem.at_planting")
    grows, let_down = fact("single_stem.grows"), fact("single_stem.let_down")
    week = timedelta(days=7)
    reaches = (wire.si - start.si) / grows.si * week
    again = let_down.si / grows.si * week
    why = Why(
        "planting out",
        f"At {{{grows.si:.0f} cm}} a week it reaches a wire at {{{wire.si:.0f} cm}} about now: "
        f"let it down by {{{let_down.si:.0f} cm}} and hang it again instead of topping it.",
        wire.source,
        _TOMATO_SETTING,
    )
    first = after(summer.out_on, reaches.days - 7, reaches.days, reaches.days + 7)
    gaps = (again.days - 3, again.days, again.days + 7)
    return summer.again("lower", Kind.LOWERED, first, gaps, why, ends=summer.ends)

"""From the bed into winter quarters: pest check, shade, lifting, cutting back, the room."""

from datetime import date, timedelta

from lifecycle.care.ground_winter import zone_words
from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import SETTINGS, Policy
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window, ahead_of, around
from lifecycle.care.summer import times_set_out_again
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route


def moving_in(
    life: Life, current: Season, lift: Window, route: Route, outlook: Outlook
) -> list[Step]:
    """Return pest check, shade, lifting, cutting back and the move into winter quarters.

    ``lift`` is the season's window to lift, ``route`` resting or growing on.
    """
    steps: list[Step] = []
    if life.lifted_on is None:
        opens = lift.best - timedelta(days("pest_check.before_lift_max"))
        if not outlook.reaches(min(opens, lift.earliest)):
            return []
        steps += _pest_check(life, current, lift)
        steps += _acclimatise(life, current, lift, route)
        steps.append(_lift(life, current, lift, outlook))
    lifted_on = life.lifted_on or lift.best
    waits = "" if life.lifted_on else "lift"
    if life.since(Kind.CUT_BACK, lifted_on - timedelta(7)) is None:
        at_potting = route is Route.GROWING_ON or outlook.policy.of("cut_time") == "at_potting"
        after = waits if at_potting else "winter_quarters"
        steps.append(cut_back_lifted(current, lifted_on, route, outlook.policy, after))
    steps.append(_into_quarters(current, lifted_on, route, waits))
    return steps


def _pest_check(life: Life, current: Season, lift: Window) -> list[Step]:
    counts_from = lift.best - timedelta(days("pest_check.before_lift_max") + 7)
    if life.since(Kind.PEST_CHECK, counts_from) is not None:
        return []
    window = ahead_of(
        lift.best,
        days("pest_check.before_lift_max"),
        days("pest_check.before_lift"),
        days("pest_check.before_lift_min"),
    )
    reason = (
        f"Two to four weeks before lifting, best on {{{lift.best}}} here: look under the leaves, "
        "hose them off, treat what is found, and leave heavily infested plants out."
    )
    return [Step("pest_check", current.year, 1, window, counts_from, "lifting", reason, "kyweb")]


def _acclimatise(life: Life, current: Season, lift: Window, route: Route) -> list[Step]:
    window = ahead_of(
        lift.best,
        days("acclimatise.before_max"),
        days("acclimatise.before"),
        days("acclimatise.before_min"),
    )
    counts_from = window.earliest - timedelta(7)
    if life.since(Kind.ACCLIMATISED, counts_from) is not None:
        return []
    reason = (
        f"A week in shade before lifting on {{{lift.best}}}, pots under a tree, beds under a "
        "cloth: indoors has far less light"
    )
    reason += ", and it is to go on growing." if route is Route.GROWING_ON else "."
    source = fact("acclimatise.before").source
    return [Step("acclimatise", current.year, 1, window, counts_from, "lifting", reason, source)]


def _lift(life: Life, current: Season, lift: Window, outlook: Outlook) -> Step:
    since = life.planted_out_on or life.began_on
    end = current.bed_end
    barred = end is not None and (end.told or outlook.dates.keeps_in_ground)
    words = (
        current.lift_reason,
        "" if barred else zone_words(outlook.dates),
        "Keep a good ball of roots; pot in fresh mix, no deeper than it stood.",
    )
    reason = " ".join(word for word in words if word)
    number = 1 + times_set_out_again(life, current)
    return Step("lift", current.year, number, lift, since, "cool nights", reason, "sturgis")


def into_the_open(life: Life, current: Season, lift: Window, outlook: Outlook) -> list[Step]:
    """Return lifting from a bed that must be cleared and standing the plant out in its pot.

    Once that is done it is planned as any plant in a pot, up to its own lifting where there is one.
    """
    if life.lifted_on is None and not outlook.reaches(lift.earliest):
        return []
    lifted_on = life.lifted_on or lift.best
    steps = [] if life.lifted_on else [_lift(life, current, lift, outlook)]
    within = timedelta(days("quarters.within"))
    reason = (
        "The nights do not send it under a roof yet: stand it on a bench in the open, a week in "
        "half shade, shorten long shoots, and water it oftener than in the bed. Log it as planted "
        "out there."
    )
    window = Window(lifted_on, lifted_on, lifted_on + within)
    number = 1 + times_set_out_again(life, current)
    waits = "" if life.lifted_on else "lift"
    return [
        *steps,
        Step(
            "pot_out", current.year, number, window, lifted_on, "lifting", reason, "practice", waits
        ),
    ]


def cut_back_lifted(
    current: Season, lifted_on: date, route: Route, policy: Policy, waits: str
) -> Step:
    """Return the cutback of a lifted plant: hard if it rests, light if it grows on.

    Height and time of the hard cut are settings; named are the setting and source of the time.
    """
    if route is Route.GROWING_ON:
        window = around(lifted_on, 0, days("cut_back.grow_on_days"))
        reason = (
            "It goes on growing indoors: shorten long shoots to fit the space and take off "
            "damaged leaves. A resting plant would be cut much harder."
        )
        source, setting = "practice", ""
    else:
        window, when, other_time = _cut_time(lifted_on, policy)
        how, other_height = _cut_height(policy)
        reason = f"{when} {how}, and take off all fruit. Others {other_height}, or {other_time}."
        setting = "cut_time"
        source = SETTINGS[setting].choice(policy.of(setting)).source
    since = lifted_on - timedelta(7)
    return Step(
        "cut_back", current.year, 1, window, since, "lifting", reason, source, waits, setting
    )


def _cut_time(lifted_on: date, policy: Policy) -> tuple[Window, str, str]:
    """Return the window, when to cut in words, and the other view."""
    if policy.of("cut_time") == "at_potting":
        window = around(lifted_on, 0, days("at_potting.within"))
        return window, "At potting, cut to", "wait until the leaves have dropped indoors"
    return (
        Window(
            lifted_on + timedelta(days("leaf_drop.after_min")),
            lifted_on + timedelta(days("leaf_drop.after")),
            lifted_on + timedelta(days("cut_back.leaf_drop_days")),
        ),
        "Indoors, once less water has let the leaves drop, cut to",
        "cut at potting",
    )


def _cut_height(policy: Policy) -> tuple[str, str]:
    """Return how far to cut in words, and the other view."""
    height, stump = fact("cut_back.rest_height").si, fact("cut_back.stump_height").si
    if policy.of("cut_height") == "stump2":
        return f"a stump of {{{stump:.1f} cm}}", f"leave {{{height:.1f} cm}} with a Y"
    return f"about {{{height:.1f} cm}}, leaving a Y", f"leave a stump of {{{stump:.1f} cm}}"


def _into_quarters(current: Season, lifted_on: date, route: Route, waits: str) -> Step:
    latest = lifted_on + timedelta(days("quarters.within"))
    if current.first_freeze_risk is not None:
        latest = min(latest, current.first_freeze_risk - timedelta(1))
    latest = max(latest, lifted_on)
    if route is Route.GROWING_ON:
        low, high = fact("quarters.grow_low"), fact("quarters.grow_high")
        where = "bright"
    else:
        low, high = fact("quarters.rest_low"), fact("quarters.rest_high")
        where = "with a little light"
    apart = fact("newcomers.apart")
    reason = (
        f"Before the nights that hurt: a room at {{{low.si:.2f} C}} to {{{high.si:.2f} C}}, "
        f"{where}. Never below {{{fact('quarters.rest_low').si:.2f} C}}. Keep it "
        f"{apart.value:.0f} to {apart.to:.0f} weeks apart from house plants."
    )
    window = Window(lifted_on, lifted_on, latest)
    return Step(
        "winter_quarters", current.year, 1, window, lifted_on, "lifting", reason, low.source, waits
    )

"""How each step of the plan is done in an invented life: what the entry of it says."""

from collections.abc import Callable
from datetime import date, timedelta

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.steps import Step
from lifecycle.demo.story import Tale
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route


def do(tale: Tale, day: date, step: Step) -> None:
    """Write the entry that does ``step``: one of its own kind, or what a plain Done records."""
    own = _OWN_WAY.get(step.kind)
    if own is not None:
        own(tale, day)
        return
    rule = STEP_RULES[step.kind]
    tale.write(rule.done_by, day, choice=rule.choice)


def _plant_out(tale: Tale, day: date) -> None:
    """Set it out; a kept plant goes back to where it stood more often than not."""
    stood = [each.place for each in tale.drafts if each.kind is Kind.PLANTED_OUT]
    place = tale.rng.choice(tale.grounds.beds)
    if stood and tale.rng.random() < 0.7:
        place = stood[-1] or place
    tale.write(Kind.PLANTED_OUT, day, place=place)
    _flower_after(tale, day)


def _flower_after(tale: Tale, day: date) -> None:
    tale.flowers_on = day + timedelta(tale.rng.randint(25, 40))


def _feed(grams: float) -> Callable[[Tale, date], None]:
    def act(tale: Tale, day: date) -> None:
        material = tale.rng.choice(tale.materials) if tale.materials else ""
        tale.write(Kind.FED, day, quantity=grams, material=material)

    return act


def _pick(tale: Tale, day: date) -> None:
    most = 42 if CROPS[tale.species].group == "pepper" else 90
    tale.write(Kind.PICKED, day, quantity=float(tale.rng.randint(6, most) * 10))
    if CROPS[tale.species].one_harvest:
        _clear(tale, day)


def _review(tale: Tale, day: date) -> None:
    let_go = tale.rng.random() < 0.16
    tale.write(Kind.REVIEWED, day, choice=(Route.LET_GO if let_go else tale.route).value)


def _pest_check(tale: Tale, day: date) -> None:
    found = "treated" if tale.rng.random() < 0.2 else "clean"
    tale.write(Kind.PEST_CHECK, day, choice=found)


def _cut_back(tale: Tale, day: date) -> None:
    lifted = tale.life().lifted_on is not None
    if lifted:
        left = 5.0 if tale.dates.policy.of("cut_height") == "stump2" else 10.0
    else:
        left = float(tale.rng.choice((20, 24)))
        _flower_after(tale, day)
    tale.write(Kind.CUT_BACK, day, quantity=left)


def _quarters(tale: Tale, day: date) -> None:
    resting = tale.route is not Route.GROWING_ON
    place = tale.grounds.cool if resting else tale.grounds.bright
    choice = (Route.RESTING if resting else Route.GROWING_ON).value
    tale.write(Kind.WINTER_QUARTERS, day, choice=choice, place=place)


def _winter_check(tale: Tale, day: date) -> None:
    if tale.rng.random() < 0.004:
        tale.write(Kind.WINTER_CHECK, day, choice="soft")
        tale.write(Kind.ENDED, day, choice="died", note="Stem soft to the base.")
    else:
        tale.write(Kind.WINTER_CHECK, day, choice="sound")


def _first_growth(tale: Tale, day: date) -> None:
    if tale.rng.random() < 0.1:
        tale.write(Kind.ENDED, day, choice="died", note="No green under the bark.")
    else:
        tale.write(Kind.FIRST_GROWTH, day)


def _look_over(tale: Tale, day: date) -> None:
    torn = tale.rng.random() < 0.3
    tale.write(Kind.LOOKED_OVER, day, choice="torn" if torn else "sound")


def _save_seed(tale: Tale, day: date) -> None:
    tale.write(Kind.SEED_SAVED, day, quantity=float(tale.rng.randint(4, 16) * 10))


def _water(litres: float) -> Callable[[Tale, date], None]:
    def act(tale: Tale, day: date) -> None:
        tale.write(Kind.WATERED, day, quantity=litres)

    return act


def _clear(tale: Tale, day: date) -> None:
    choice = "done" if tale.subject == "sowing" else "removed"
    tale.write(Kind.ENDED, day, choice=choice)


def _sow(tale: Tale, day: date) -> None:
    tale.write(Kind.SOWN, day, quantity=tale.seeds, place=tale.rng.choice(tale.grounds.beds))


def _emerge(tale: Tale, day: date) -> None:
    tale.write(Kind.EMERGED, day, quantity=tale.seeds * tale.rng.randint(75, 95) // 100)


_OWN_WAY: dict[str, Callable[[Tale, date], None]] = {
    "sow": _sow,
    "emergence": _emerge,
    "plant_out": _plant_out,
    "replant": _plant_out,
    "water_in": _water(1.0),
    "winter_water": _water(0.3),
    "heat_water": _water(3.0),
    "first_feed": _feed(15.0),
    "feed": _feed(20.0),
    "harvest": _pick,
    "last_pick": _pick,
    "clear": _clear,
    "let_go": _clear,
    "review": _review,
    "pest_check": _pest_check,
    "backup": _save_seed,
    "cut_back": _cut_back,
    "winter_quarters": _quarters,
    "winter_check": _winter_check,
    "look_over": _look_over,
    "first_growth": _first_growth,
}

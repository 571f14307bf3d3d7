"""Which plant is this: a doubt is settled by fruit, flower or notes, and a label made anew."""

from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import days
from lifecycle.life.fold import Life
from lifecycle.life.growing_year import growing_year_of
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase

_WHY = {
    "faded": "its label faded",
    "lost": "its label was lost",
    "swapped": "it may have swapped with another",
}


def settle(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    """Return the settling of a doubt and the new label it calls for.

    It opens at once for a faded label and when fruit or flower is there to tell, otherwise
    when the crop's first fruit is due.
    """
    doubted = life.last_on.get(Kind.IN_DOUBT)
    if doubted is None:
        return []
    year = growing_year_of(doubted, outlook.dates.year_starts_in)
    number = len(life.dates[Kind.IN_DOUBT])
    steps = [_settle(life, current, outlook, doubted, (year, number))] if life.in_doubt else []
    return [*steps, *_label(life, doubted, (year, number))]


def _settle(
    life: Life, current: Season, outlook: Outlook, doubted: date, named: tuple[int, int]
) -> Step:
    why = life.last_choice.get(Kind.IN_DOUBT, "")
    said = _WHY.get(why, "nobody is sure")
    opens, how = doubted, "by its fruit or flower, now that they show"
    if why == "faded":
        how = "by the notes, a photo, or what stands beside it"
    elif not _shows(life, doubted):
        opens = max(doubted, _fruit_due(life, current, outlook))
        how = f"by its fruit, due about {{{opens}}}, or sooner by a flower, notes or a photo"
    reason = (
        f"In doubt since {{{doubted}}}: {said}. Settle it {how}. "
        "Until then its record may be that of another plant."
    )
    window = Window(opens, opens, opens + timedelta(days("doubt.settle_within")))
    return Step("settle_identity", *named, window, doubted, "the doubt", reason, "practice")


def _shows(life: Life, doubted: date) -> bool:
    """Whether fruit or flower is there to tell: it bears, or did so since the doubt."""
    seen = (life.since(kind, doubted) for kind in (Kind.FIRST_FLOWER, Kind.PICKED))
    return life.phase is Phase.BEARING or any(day is not None for day in seen)


def _fruit_due(life: Life, current: Season, outlook: Outlook) -> date:
    after = round(outlook.crop.fact("maturity").si)
    out = current.plant_out.best
    if life.planted_out_on is not None and life.planted_out_on >= current.starts:
        out = life.planted_out_on
    return out + timedelta(after)


def _label(life: Life, doubted: date, named: tuple[int, int]) -> list[Step]:
    """Return the label that was not made since the doubt; it waits until that is settled."""
    if life.since(Kind.LABELLED, doubted) is not None:
        return []
    opens = doubted if life.in_doubt else life.last_on[Kind.SETTLED]
    window = Window(opens, opens, opens + timedelta(days("doubt.label_within")))
    reason = (
        f"Its label is in doubt since {{{doubted}}}: write one that lasts, in pencil on metal or "
        "by a garden marker, tie it to the stem and put a second one in the soil."
    )
    waits = "settle_identity" if life.in_doubt else ""
    return [Step("renew_label", *named, window, doubted, "the doubt", reason, "practice", waits)]

"""What holds of every life, however its entries came in."""

from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.life.fold import Fact, ImpossibleEntry, fold, in_order
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import Phase
from tests.life.facts import fact, life_of
from tests.life.walks import walks

UNGUIDED = [kind for kind in Kind if RULES[kind].subject == "plant" and not RULES[kind].begins]


@given(walks(), st.randoms(use_true_random=False))
@settings(max_examples=120, deadline=None)
def test_the_order_of_insertion_does_not_matter(facts: list[Fact], chance) -> None:
    shuffled = list(facts)
    chance.shuffle(shuffled)
    assert fold("plant", shuffled) == fold("plant", facts)
    assert in_order(shuffled) == facts


@given(walks())
@settings(max_examples=120, deadline=None)
def test_spans_join_and_counts_stay_positive(facts: list[Fact]) -> None:
    life = life_of(facts)
    for earlier, later in pairwise(life.spans):
        assert earlier.until == later.since
        assert earlier.since <= later.since
        assert earlier.phase is not later.phase
    last = life.spans[-1]
    assert (last.phase, last.since, last.until) == (life.phase, life.phase_since, None)
    assert life.spans[0].since == life.began_on
    assert 1 <= life.count <= 2
    assert life.times_planted_out >= 0 <= life.feeds_since_out
    assert sum(map(len, life.dates.values())) == len(facts)
    assert all(days == sorted(days) for days in life.dates.values())


@given(walks())
@settings(max_examples=60, deadline=None)
def test_a_later_entry_leaves_closed_stretches_alone(facts: list[Fact]) -> None:
    whole = life_of(facts).spans
    for end in range(1, len(facts) + 1):
        closed = life_of(facts[:end]).spans[:-1]
        assert whole[: len(closed)] == closed


@given(walks(), st.sampled_from(UNGUIDED), st.integers(0, 500))
@settings(max_examples=120, deadline=None)
def test_an_end_is_left_by_nothing(facts: list[Fact], kind: Kind, later: int) -> None:
    life = life_of(facts)
    if life.alive:
        facts = [*facts, fact(Kind.ENDED, facts[-1].happened_on, choice="removed")]
    after = facts[-1].happened_on + timedelta(later)
    try:
        life = life_of([*facts, fact(kind, after, inside=True, choice="resting")])
    except ImpossibleEntry:
        assert kind is not Kind.NOTE
    else:
        assert kind is Kind.NOTE
        assert life.phase is Phase.ENDED


@given(
    st.integers(1, 200),
    st.lists(st.tuples(st.sampled_from(["emerged", "potted_up"]), st.integers(1, 80)), max_size=8),
)
@settings(max_examples=80, deadline=None)
def test_a_sowing_never_gives_more_than_was_sown(seeds: int, rows: list[tuple[str, int]]) -> None:
    day = date(2026, 3, 1)
    facts = [fact(Kind.SOWN, day, quantity=seeds)]
    for index, (kind, number) in enumerate(rows, 1):
        new = fact(Kind(kind), day + timedelta(index), quantity=number)
        try:
            fold("sowing", [*facts, new])
        except ImpossibleEntry:
            continue
        facts.append(new)
    life = life_of(facts, "sowing")
    assert 0 <= life.emerged <= life.seeds_sown == seeds
    assert 0 <= life.potted_up <= seeds

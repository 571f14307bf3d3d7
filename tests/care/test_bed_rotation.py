"""What stood in a bed, what may follow, what a legume leaves, and what kept plants mean."""

from datetime import date

import pytest

from lifecycle.care.bed_rotation import (
    FamilyYear,
    Placed,
    Stay,
    clash,
    family_years,
    may_follow,
    nitrogen_left,
    rotation_source,
    stays,
    years_away,
)
from lifecycle.care.policy import DEFAULTS, policy_of
from lifecycle.handbook import CROPS, FAMILIES

PEPPER, BEAN = ("plant", 1), ("sowing", 1)
TODAY = date(2026, 10, 14)


def placed(record: tuple[str, int], crop: str, day: date, *, here: bool) -> Placed:
    return Placed(record, crop, day, here)


def test_a_stay_runs_from_arrival_to_leaving() -> None:
    found = stays(
        [
            placed(PEPPER, "annuum", date(2025, 3, 1), here=False),
            placed(PEPPER, "annuum", date(2025, 5, 20), here=True),
            placed(BEAN, "bean", date(2025, 6, 1), here=True),
            placed(PEPPER, "annuum", date(2025, 6, 2), here=True),
            placed(PEPPER, "annuum", date(2025, 10, 10), here=False),
            placed(PEPPER, "annuum", date(2025, 10, 12), here=False),
            placed(PEPPER, "annuum", date(2026, 5, 20), here=True),
        ]
    )
    assert found == [
        Stay("annuum", date(2025, 5, 20), date(2025, 10, 10)),
        Stay("bean", date(2025, 6, 1), None),
        Stay("annuum", date(2026, 5, 20), None),
    ]


def test_years_are_growing_years_newest_first_and_joined_to_notes() -> None:
    stood = [
        Stay("annuum", date(2024, 5, 20), date(2025, 3, 1)),
        Stay("eggplant", date(2025, 5, 20), date(2025, 9, 1)),
        Stay("bean", date(2026, 5, 1), None),
    ]
    noted = [
        FamilyYear(2025, "solanaceae", note="blight", noted=7),
        FamilyYear(2019, "fabaceae", noted=8),
    ]
    assert family_years(stood, noted, 1, TODAY) == [
        FamilyYear(2026, "fabaceae", ("bean",)),
        FamilyYear(2025, "solanaceae", ("annuum", "eggplant"), "blight", 7),
        FamilyYear(2024, "solanaceae", ("annuum",)),
        FamilyYear(2019, "fabaceae", (), "", 8),
    ]


def test_a_southern_summer_is_one_growing_year() -> None:
    stood = [Stay("annuum", date(2025, 10, 20), date(2026, 4, 10))]
    assert [each.year for each in family_years(stood, [], 7, TODAY)] == [2025]
    assert [each.year for each in family_years(stood, [], 1, TODAY)] == [2026, 2025]


@pytest.mark.parametrize(
    ("gap", "earliest"), [("2", 2028), ("3", 2029), ("4", 2030)], ids=lambda each: str(each)
)
def test_a_family_comes_back_after_the_years_of_the_setting(gap: str, earliest: int) -> None:
    policy = policy_of({"rotation_gap": gap})
    years = [FamilyYear(2023, "solanaceae"), FamilyYear(2025, "solanaceae")]
    assert years_away(policy) == int(gap)

    def found(coming: int) -> tuple[int, bool]:
        each = next(
            each for each in may_follow(years, coming, policy) if each.family == "solanaceae"
        )
        assert each.last == 2025
        return each.earliest, each.allowed

    assert found(earliest - 1) == (earliest, False)
    assert found(earliest) == (earliest, True)
    assert found(earliest + 1) == (earliest + 1, True)


def test_families_that_may_follow_come_first() -> None:
    years = [FamilyYear(2026, "solanaceae"), FamilyYear(2025, "fabaceae")]
    found = may_follow(years, 2027, DEFAULTS)
    assert {each.family for each in found} == set(FAMILIES)
    assert [each.family for each in found[-2:]] == ["fabaceae", "solanaceae"]
    assert [each.allowed for each in found] == [True] * (len(found) - 2) + [False] * 2
    labels = [each.label for each in found[:-2]]
    assert labels == sorted(labels)
    assert found[0].last is None
    assert found[0].earliest == 2027


def test_the_source_follows_the_setting() -> None:
    assert rotation_source(DEFAULTS) == "nmsu_rotation"
    assert rotation_source(policy_of({"rotation_gap": "2"})) == "wvu"


def test_a_legume_of_the_year_before_leaves_some_nitrogen() -> None:
    years = [FamilyYear(2025, "fabaceae", ("bean", "pea")), FamilyYear(2025, "solanaceae")]
    left = nitrogen_left(years, 2026)
    assert left is not None
    fact = CROPS[left.crop].fact("nitrogen_left")
    assert (left.low, left.high, left.source) == (fact.si, fact.si_high, fact.source)
    assert left.high == max(CROPS[key].fact("nitrogen_left").si_high for key in ("bean", "pea"))
    assert left.year == 2025
    assert left.sentence == (
        f"{CROPS[left.crop].label} stood here in 2025: some nitrogen is left, "
        f"{{{left.low:.1f} g/m2}} to {{{left.high:.1f} g/m2}}. Do not count on it: sources "
        "disagree."
    )
    assert nitrogen_left(years, 2027) is None
    assert nitrogen_left(years, 2025) is None


def test_a_family_that_is_only_noted_speaks_by_the_crop_that_leaves_most() -> None:
    left = nitrogen_left([FamilyYear(2025, "fabaceae")], 2026)
    assert left is not None
    assert CROPS[left.crop].family == "fabaceae"
    assert nitrogen_left([FamilyYear(2025, "poaceae")], 2026) is None
    assert nitrogen_left([FamilyYear(2025, "solanaceae", ("annuum",))], 2026) is None


def test_a_kept_pepper_in_its_second_year_clashes_with_the_rotation() -> None:
    years = [FamilyYear(2026, "solanaceae"), FamilyYear(2025, "solanaceae")]
    kept = [CROPS["annuum"]]
    stay = clash(kept, years, 2026, DEFAULTS)
    since = f"{FAMILIES['solanaceae']} has stood here since 2025, and the rotation wants it moved."
    assert stay == (
        f"{since} Kept plants stay: look for wilting, spots and rot at every round, and give the "
        "bed up at the first sign."
    )
    move = clash(kept, years, 2026, policy_of({"perennial_bed": "move"}))
    assert move == f"{since} Set kept plants into another bed when they are replanted."
    assert clash(kept, [*years, FamilyYear(2023, "solanaceae")], 2026, DEFAULTS) == stay
    assert "since 2024" in clash(kept, [*years, FamilyYear(2024, "solanaceae")], 2026, DEFAULTS)


def test_a_first_year_or_another_family_is_no_clash() -> None:
    kept = [CROPS["annuum"]]
    assert clash(kept, [FamilyYear(2026, "solanaceae")], 2026, DEFAULTS) == ""
    assert clash(kept, [FamilyYear(2025, "fabaceae")], 2026, DEFAULTS) == ""
    assert clash([], [FamilyYear(2025, "solanaceae")], 2026, DEFAULTS) == ""

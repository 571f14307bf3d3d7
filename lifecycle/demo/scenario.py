"""Who and what the invented federation is: gardens, sites, places, people, varieties."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from lifecycle.demo.weather import InventedClimate
from lifecycle.models import PlaceKind, Role

PASSWORD = "peppers-in-winter"  # nosec B105 # of invented people, told on the sign-in page


@dataclass(frozen=True, slots=True)
class DemoSite:
    """A site of the scenario with its invented climate.

    ``kitchen``: it has two beds for tomatoes and their partners in the rotation. ``settings``
    are its own choices where sources disagree, ``hail`` how many days ago hail fell there, and
    ``gauge`` says that somebody reads its thermometer and rain gauge.
    """

    name: str
    latitude: float
    longitude: float
    time_zone: str
    year_starts_in: int
    climate: InventedClimate
    kitchen: bool = False
    settings: Mapping[str, str] = field(default_factory=dict)
    hail: int | None = None
    gauge: bool = False


@dataclass(frozen=True, slots=True)
class DemoMaterial:
    """A bag in the shed: percent N, P2O5 and K2O as its label says, and g per ml."""

    name: str
    n: float
    p2o5: float
    k2o: float
    density: float


@dataclass(frozen=True, slots=True)
class DemoGarden:
    """A garden of the scenario; people are (address, role).

    ``own_values`` are its own values by variety, in SI; ``tested`` says whether it has tested
    its old seed, and ``doubts`` whether some of its labels are in doubt.
    """

    name: str
    sites: tuple[DemoSite, ...]
    people: tuple[tuple[str, str], ...]
    material: DemoMaterial | None = None
    own_values: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    tested: bool = False
    doubts: bool = False


PEOPLE: dict[str, str] = {
    "owner": "Ilse Varga-Moss",
    "coordinator": "Tomas Okafor-Lind",
    "member": "Renske Abara",
    "committee": "Joost Hallam-Reyes",
    "amadi": "Amadi Fennick",
    "birgit": "Birgit Solano",
    "caspian": "Caspian Oduya",
    "delphine": "Delphine Marsh",
    "esko": "Esko Tamber",
    "farida": "Farida Quill",
    "gwen": "Gwen Astley-Mbeki",
    "hiro": "Hiro Penhallow",
    "imke": "Imke Sorrel",
    "jalil": "Jalil Wren",
    "kirra": "Kirra Dunmore",
}

GARDENS: tuple[DemoGarden, ...] = (
    DemoGarden(
        "Tallow Brook Garden",
        (
            DemoSite(
                "Tallow Brook, hill ground",
                42.3,
                -93.1,
                "America/Chicago",
                1,
                InventedClimate(-12.0, 17.0, 6.4, 11.0, False, 101),
                kitchen=True,
                settings={"wake_anchor": "last_frost"},
            ),
            DemoSite(
                "Tallow Brook, canal side",
                37.4,
                -79.2,
                "America/New_York",
                1,
                InventedClimate(-2.6, 19.0, 6.1, 11.5, False, 102),
            ),
        ),
        (
            ("owner", Role.OWNER),
            ("coordinator", Role.COORDINATOR),
            ("member", Role.MEMBER),
            ("committee", Role.COMMITTEE),
            ("amadi", Role.MEMBER),
            ("birgit", Role.MEMBER),
            ("caspian", Role.MEMBER),
            ("delphine", Role.MEMBER),
        ),
        material=DemoMaterial("Bag in the shed", 3, 1, 6, 0.8),
        own_values={"Ancho": {"maturity": 82.0}},
        tested=True,
        doubts=True,
    ),
    DemoGarden(
        "Saltmarsh Allotments",
        (
            DemoSite(
                "Saltmarsh, sea wall",
                38.1,
                -121.4,
                "America/Los_Angeles",
                1,
                InventedClimate(4.6, 15.5, 3.9, 13.0, False, 103),
                hail=3,
                gauge=True,
            ),
        ),
        (
            ("farida", Role.OWNER),
            ("coordinator", Role.COORDINATOR),
            ("esko", Role.MEMBER),
            ("gwen", Role.MEMBER),
            ("hiro", Role.MEMBER),
        ),
    ),
    DemoGarden(
        "Coral Terrace Growers",
        (
            DemoSite(
                "Coral Terrace, top field",
                -27.3,
                153.0,
                "Australia/Brisbane",
                7,
                InventedClimate(8.8, 21.2, 2.6, 9.0, True, 104),
                kitchen=True,
                gauge=True,
            ),
        ),
        (
            ("kirra", Role.OWNER),
            ("coordinator", Role.COORDINATOR),
            ("imke", Role.MEMBER),
            ("jalil", Role.MEMBER),
        ),
    ),
)

PLACES: tuple[tuple[str, str, float | None, bool], ...] = (
    ("Bed 1", PlaceKind.BED, None, False),
    ("Bed 2", PlaceKind.BED, None, False),
    ("Bed 3", PlaceKind.BED, None, False),
    ("Pots by the wall", PlaceKind.BENCH, None, False),
    ("Seed bench", PlaceKind.NURSERY, 25.0, True),
    ("Cool store", PlaceKind.QUARTERS, 12.0, False),
    ("Bright room", PlaceKind.QUARTERS, 18.0, True),
)

TOMATO_BED, PARTNER_BED = "Kitchen bed, near", "Kitchen bed, far"
"""Where the tomatoes stand this growing year, and where they stood in the last."""

KITCHEN_PLACES: tuple[tuple[str, str, float | None, bool], ...] = (
    (TOMATO_BED, PlaceKind.BED, None, False),
    (PARTNER_BED, PlaceKind.BED, None, False),
)


@dataclass(frozen=True, slots=True)
class DemoBed:
    """What a bed is made of; ``before`` are families that stood there, by growing years ago."""

    length_m: float
    width_m: float
    depth_cm: float
    soil: str
    mulched: bool = False
    wire: bool = False
    before: tuple[tuple[int, str, str], ...] = ()


BEDS: Mapping[str, DemoBed] = {
    "Bed 1": DemoBed(
        4.0, 1.2, 40, "sandy_loam", mulched=True, before=((4, "brassicaceae", "Kale"),)
    ),
    "Bed 2": DemoBed(4.0, 1.2, 30, "loam", before=((4, "fabaceae", "Broad beans"),)),
    "Bed 3": DemoBed(3.0, 1.2, 30, "silt_loam", mulched=True),
    TOMATO_BED: DemoBed(
        *(4.0, 1.2, 15, "loam"),
        mulched=True,
        wire=True,
        before=((3, "fabaceae", "Peas"), (2, "brassicaceae", "Winter cabbage")),
    ),
    PARTNER_BED: DemoBed(
        4.0, 1.2, 35, "sandy_loam", before=((3, "amaryllidaceae", "Leeks"), (2, "asteraceae", ""))
    ),
}

VARIETIES: tuple[tuple[str, str], ...] = (
    ("annuum", "Cayenne"),
    ("annuum", "Ancho"),
    ("annuum", "Bell, red"),
    ("chinense", "Habanero"),
    ("baccatum", "Aji, yellow"),
    ("pubescens", "Rocoto"),
)

FRUITING: tuple[tuple[str, str, int], ...] = (
    ("tomato_determinate", "Plum", 2),
    ("tomato_indeterminate", "Oxheart", 2),
    ("tomato_cherry", "Cherry", 1),
    ("eggplant", "Long purple", 2),
)
"""What is raised for the kitchen beds each year, and how many plants of it."""


@dataclass(frozen=True, slots=True)
class DemoRow:
    """A row sown where it stays in the growing year ``year`` years after the running one."""

    year: int
    species: str
    name: str
    bed: str
    seeds: int


ROWS: tuple[DemoRow, ...] = (
    DemoRow(-1, "garlic", "Hardneck", TOMATO_BED, 30),
    DemoRow(-1, "lettuce", "Leaf, green", TOMATO_BED, 24),
    DemoRow(0, "pea", "Shelling", PARTNER_BED, 60),
    DemoRow(0, "bean", "Bush, green", PARTNER_BED, 40),
    DemoRow(1, "garlic", "Hardneck", PARTNER_BED, 30),
)

"""Who and what the invented federation is: gardens, sites, places, people, varieties."""

from dataclasses import dataclass

from lifecycle.demo.weather import InventedClimate
from lifecycle.models import PlaceKind, Role

PASSWORD = "peppers-in-winter"


@dataclass(frozen=True, slots=True)
class DemoSite:
    """A site of the scenario with its invented climate."""

    name: str
    latitude: float
    longitude: float
    time_zone: str
    year_starts_in: int
    climate: InventedClimate


@dataclass(frozen=True, slots=True)
class DemoGarden:
    """A garden of the scenario; people are (address, role)."""

    name: str
    sites: tuple[DemoSite, ...]
    people: tuple[tuple[str, str], ...]


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

VARIETIES: tuple[tuple[str, str], ...] = (
    ("annuum", "Cayenne"),
    ("annuum", "Ancho"),
    ("annuum", "Bell, red"),
    ("chinense", "Habanero"),
    ("baccatum", "Aji, yellow"),
    ("pubescens", "Rocoto"),
)

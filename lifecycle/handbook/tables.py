"""Tables of the trade beside the crops: materials, soils, lamps, covers, and the cautions."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from lifecycle.handbook.facts import Fact, check_sourced, made_fact


@dataclass(frozen=True, slots=True)
class Material:
    """A fertilizer material: percent N, P2O5 and K2O; the ``*_to`` end a published range.

    ``form`` is "dry" or "liquid"; ``density`` its bulk density in g per ml, or None;
    ``magnesium`` says that it is given for that.
    """

    key: str
    label: str
    n: float
    p2o5: float
    k2o: float
    form: str
    source: str
    mark: str
    density: float | None = None
    note: str = ""
    n_to: float | None = None
    p2o5_to: float | None = None
    k2o_to: float | None = None
    magnesium: bool = False


@dataclass(frozen=True, slots=True)
class Soil:
    """A soil's water at field capacity and at the wilting point, as shares of its volume."""

    key: str
    label: str
    fc: float
    wp: float
    source: str
    mark: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Lamp:
    """A source of light: how many lux, and foot-candles, 1 umol per m2 and second gives."""

    key: str
    label: str
    lux_per_umol: float
    fc_per_umol: float
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt someone, in one or two sentences, and whose word it is."""

    key: str
    label: str
    text: str
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class Protection:
    """A protection from frost; ``gain`` is its range in degrees, ``others`` what others say.

    ``cautions`` are keys of ``CAUTIONS``. ``gain`` None: no degrees are published.
    """

    key: str
    label: str
    gain: Fact | None
    others: tuple[Fact, ...]
    note: str
    cautions: tuple[str, ...]

    @property
    def sure_c(self) -> float:
        """Degrees C to count on: the lowest that any source gives, or 0."""
        given = [each.si for each in (self.gain, *self.others) if each is not None]
        return min(given, default=0.0)


Row = TypeVar("Row", Material, Soil, Lamp, Caution)


def made_rows(
    kind: type[Row], rows: Mapping[str, Any], sources: Mapping[str, str]
) -> dict[str, Row]:
    """Return the rows of a table. ValueError for one whose source or mark is not known."""
    made = {}
    for key, row in rows.items():
        check_sourced(key, row["source"], row["mark"], sources)
        made[key] = kind(key=key, **row)
    return made


def made_protections(rows: Mapping[str, Any], sources: Mapping[str, str]) -> dict[str, Protection]:
    """Return the protections; each degree a fact of its own."""
    return {
        key: Protection(
            key=key,
            label=row["label"],
            gain=made_fact(f"{key}.gain", row["gain"], sources) if "gain" in row else None,
            others=tuple(
                made_fact(f"{key}.others", other, sources) for other in row.get("others", ())
            ),
            note=row.get("note", ""),
            cautions=tuple(row.get("cautions", ())),
        )
        for key, row in rows.items()
    }

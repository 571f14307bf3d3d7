"""North or south: from a latitude, or from which half of the year is cold."""

import numpy as np

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.year_grid import Hemisphere

_CLEAR_CYCLE_C = 3.0
_ENOUGH_DAYS = 60


def hemisphere_of(record: DailyRecord, latitude: float | None = None) -> tuple[Hemisphere, str]:
    """Hemisphere and a sentence that says how it is known.

    A latitude given here comes first, then the record's, then its yearly cycle when the minima of
    December to February and June to August differ by at least 3 C (60 nights of each), else
    north.
    """
    if latitude is not None:
        return _side(latitude), f"Hemisphere from the latitude given, {latitude:g}."
    if record.latitude is not None:
        return _side(record.latitude), f"Hemisphere from the file's latitude, {record.latitude:g}."
    month = record.dates.astype("datetime64[M]").astype(np.int64) % 12
    known = ~np.isnan(record.tmin_c)
    january = record.tmin_c[known & np.isin(month, (11, 0, 1))]
    july = record.tmin_c[known & np.isin(month, (5, 6, 7))]
    if min(january.size, july.size) >= _ENOUGH_DAYS:
        difference = float(july.mean() - january.mean())
        if abs(difference) >= _CLEAR_CYCLE_C:
            side: Hemisphere = "north" if difference > 0 else "south"
            warmer = "July" if difference > 0 else "January"
            return side, (
                f"No latitude given; nights around {warmer} are the warmer ones by "
                f"{abs(difference):.1f} C, so the record was taken as {side}ern."
            )
    return "north", (
        "No latitude given and the record's yearly cycle does not tell; taken as northern."
    )


def _side(latitude: float) -> Hemisphere:
    return "south" if latitude < 0 else "north"

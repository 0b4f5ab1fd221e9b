"""How sure the energy figures of a place are when its weather is from a station elsewhere."""

from __future__ import annotations

from math import hypot, sqrt

from lcc import tables
from lcc.place.station import KM_PER_M, ZONE_KM, Chosen

# A symmetric triangle holds four in five of its draws within this part of its half width.
FOUR_IN_FIVE = 1 - sqrt(0.2)


def width_of(station: Chosen, climate_zone: str, saving: str = "bill") -> float:
    """Return the part of the station's saving within which four in five such places lie.

    Parameters
    ----------
    station : Chosen
        As chosen for the place.
    climate_zone : str
        Of the place.
    saving : {"bill", "cooling"}
        Of the energy bill, or of cooling electricity alone.

    Notes
    -----
    b √w with w = distance + 300 km where the zone differs + 0.3 km a metre of elevation, b fitted
    to hold four in five of the 160 stations, each answered by others (table `place_scatter`);
    fitted on one half of them it held 72 to 90 % of the other half.

    Examples
    --------
    A place 49 km from a station of its own zone and height:

    >>> from lcc.place.station import chosen
    >>> station = chosen("chicago-il", 49.0, "5A", 201.0)
    >>> round(width_of(station, "5A"), 4), round(width_of(station, "5A", "cooling"), 4)
    (0.056, 0.1106)
    """
    apart = station.distance_km + KM_PER_M * abs(station.rise_m)
    apart += ZONE_KM * (station.climate_zone != climate_zone)
    return float(tables.rows("place_scatter")[saving]["width_per_root_km"]) * sqrt(apart)


def with_place(saving_range: float, width: float) -> float:
    """Return the half width of the triangle of the energy saving with the place's part in it.

    A range of 0 is kept, since that fixes the figure.

    Examples
    --------
    >>> round(with_place(0.25, 0.056), 4), with_place(0.0, 0.056)
    (0.2697, 0.0)
    """
    return hypot(saving_range, width / FOUR_IN_FIVE) if saving_range else 0.0


def said(station: Chosen, climate_zone: str) -> str:
    """Return a sentence: whose weather a place has, and how far its savings may be off.

    Examples
    --------
    >>> from lcc.place.station import chosen
    >>> said(chosen("chicago-il", 49.0, "5A", 201.0), "5A")[:76]
    'The weather is that of Chicago, IL, 30 miles, same zone. Of places this far '
    """
    bill, cooling = (round(100 * width_of(station, climate_zone, of)) for of in ("bill", "cooling"))
    return (
        f"The weather is that of {station.words}. Of places this far from their station, about "
        f"four in five save within {bill}% of what it gives on the energy bill, and within "
        f"{cooling}% on cooling; the random draws are widened by that."
    )

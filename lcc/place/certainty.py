"""How sure the energy figures of a place are when its weather is from a station elsewhere."""

from collections.abc import Iterator
from math import hypot, sqrt

import numpy as np

from lcc import tables
from lcc.place.gazetteer import Place
from lcc.place.nearest_station import KM_PER_M, KM_PER_MILE, ZONE_KM, Chosen, distance_km

# A symmetric triangle holds four in five of its draws within this part of its half width.
FOUR_IN_FIVE = 1 - sqrt(0.2)
# Chosen: of places this far from their station four in five save within 7% of what it gives.
FILE_APART_KM = 80.0


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

    >>> from lcc.place.nearest_station import chosen
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
    >>> from lcc.place.nearest_station import chosen
    >>> said(chosen("chicago-il", 49.0, "5A", 201.0), "5A")[:76]
    'The weather is that of Chicago, IL, 30 miles, same zone. Of places this far '
    """
    bill, cooling = (round(100 * width_of(station, climate_zone, of)) for of in ("bill", "cooling"))
    return (
        f"The weather is that of {station.words}. Of places this far from their station, about "
        f"four in five save within {bill}% of what it gives on the energy bill, and within "
        f"{cooling}% on cooling; the random runs are widened by that."
    )


def said_of_file(latitude_deg: float, longitude_deg: float, here: Place) -> Iterator[str]:
    """Yield a caution where a weather file is for a point far from the site's place.

    Examples
    --------
    >>> from lcc.place import locate
    >>> next(said_of_file(36.1, -79.95, locate("Miami, FL")))[:61]
    'The weather file is for a place 1,149 km (714 miles) from the'
    """
    there = np.array([latitude_deg]), np.array([longitude_deg])
    apart = float(distance_km(here.latitude_deg, here.longitude_deg, *there)[0])
    if apart > FILE_APART_KM:
        yield (
            f"The weather file is for a place {apart:,.0f} km ({apart / KM_PER_MILE:,.0f} miles) "
            f"from the site's, {here.name}. Check that it is the file you mean, or take one nearer "
            "to the roof."
        )


def said_of_zones(of_file: str, used: str) -> Iterator[str]:
    """Yield a caution where the climate zone used is not that of a weather file's place.

    Examples
    --------
    >>> [*said_of_zones("4A", "4a"), *said_of_zones("4A", "4"), *said_of_zones("", "1A")]
    []
    """
    if of_file and used.strip().upper() not in (of_file, of_file[:1]):
        yield (
            f"The weather file is for a place in climate zone {of_file}; the site counts as zone "
            f"{used.strip().upper()}. Check that it is the file you mean: the zone sets the "
            "insulation that a code asks for."
        )

"""A year of hourly weather, from a file or rebuilt from means, before anything is derived."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lcc.heat.solar import Location

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Hourly:
    """A year of hours as read: arrays of shape (8760,)."""

    name: str
    place: Location
    dry_bulb_c: Array
    dew_point_c: Array
    wind_speed_m_s: Array
    sky_cover: Array
    ghi_w_m2: Array
    dhi_w_m2: Array
    sky_longwave_w_m2: Array | None
    cover_known: bool = True

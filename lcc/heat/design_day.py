"""A hot day that repeats itself: what the cooling plant is sized for."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from lcc.case.building import Building
from lcc.case.layers import Assembly
from lcc.heat.climate import Climate
from lcc.heat.coil_moisture import RoomMoisture, room_moisture
from lcc.heat.plenum_and_attic import Overhead
from lcc.heat.roof_model import outdoors, overhead_in, solve_under
from lcc.heat.thermostat import Zone
from lcc.heat.zone import completed, window_sun, zone_of

WEEKDAY = slice(24, 48)  # a Tuesday


@lru_cache(maxsize=128)
def hot_day(climate: Climate) -> int:
    """Return the day of the year (0 to 364) with the hottest mean air under strong sun.

    Notes
    -----
    Among the sunniest quarter of the days by global irradiance.
    """
    sun = climate.ghi_w_m2.reshape(365, 24).sum(axis=1)
    warmth = climate.dry_bulb_c.reshape(365, 24).mean(axis=1)
    return int(np.argmax(np.where(sun >= np.percentile(sun, 75), warmth, -np.inf)))


def hours_of(day: int) -> slice:
    """Return the hours of a day of the year.

    Examples
    --------
    >>> hours_of(1)
    slice(24, 48, None)
    """
    return slice(24 * day, 24 * day + 24)


def design_cooling_w_m2(
    climate: Climate, building: Building, area_m2: float, assembly: Assembly, terrain: str
) -> float:
    """Return the highest cooling [W/m²] of the hot day repeated, with moisture, on a weekday.

    Notes
    -----
    The day of `hot_day`, periodic: what a plant meets in a hot spell, without a weekend's pull
    down. It is the hottest of a typical year, not of a decade.
    """
    outside = outdoors(climate, building, assembly, terrain).during(hours_of(hot_day(climate)))
    zone, above, wet = _under_roof(climate, building, area_m2)
    found = solve_under(outside, area_m2, assembly, zone, above)
    sensible = np.maximum(found.duct_loss_w_m2 - found.load_w_m2, 0.0)
    return float((sensible + wet.removed_w_m2(sensible, found.indoor_c)).max())


@lru_cache(maxsize=256)
def _under_roof(
    climate: Climate, building: Building, area_m2: float
) -> tuple[Zone, Overhead, RoomMoisture]:
    """Zone, ceiling and moisture with a weekday's schedule and the day's own air and sun."""
    hours = hours_of(hot_day(climate))
    year = zone_of(building, climate, area_m2)
    sun = window_sun(completed(building), climate, area_m2)
    zone = replace(
        year,
        conductance_w_m2k=year.conductance_w_m2k[WEEKDAY],
        gains_w_m2=(year.gains_w_m2 - sun)[WEEKDAY] + sun[hours],
        outdoor_c=year.outdoor_c[hours],
        low_c=year.low_c[WEEKDAY],
        high_c=year.high_c[WEEKDAY],
    )
    above = overhead_in(building, climate).during(WEEKDAY, hours)
    return zone, above, room_moisture(building, climate).during(WEEKDAY, hours)

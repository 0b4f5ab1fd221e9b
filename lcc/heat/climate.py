"""The climate of a site: one periodic year of hourly outdoor conditions."""

import hashlib
import io
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import pandas as pd

from lcc import tables
from lcc.arrays import Array
from lcc.case.building import Site
from lcc.errors import CaseError
from lcc.heat import sky, solar, weather_files
from lcc.heat.hour_interpolation import hours_from_blocks, irradiance_from_blocks
from lcc.heat.psychrometrics import saturation_pressure_pa
from lcc.place import Chosen, Place, locate, named, said_of_file, said_of_zones, zone_at

ZONES = tuple(str(zone) for zone in range(9))


@dataclass(frozen=True, eq=False)
class Climate:
    """Hourly outdoor conditions of a year; two climates are equal when their contents are.

    Every array has shape (8760,); hour 0 is 00:00 to 01:00 local standard time on 1 January.
    """

    name: str
    zone: str
    place: solar.Location
    dry_bulb_c: Array
    dew_point_c: Array
    wind_speed_m_s: Array
    ghi_w_m2: Array
    dhi_w_m2: Array
    sky_longwave_w_m2: Array
    digest: str

    def __hash__(self) -> int:
        return hash(self.digest)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Climate) and other.digest == self.digest

    @cached_property
    def vapour_pa(self) -> Array:
        """Pressure of the water vapour outdoors [Pa], the dew point at most the air's."""
        return saturation_pressure_pa(np.minimum(self.dew_point_c, self.dry_bulb_c))


def load(site: Site) -> Climate:
    """Return the climate of a site: of its weather file, of its station, or of its place.

    Raises
    ------
    CaseError
        With the field `place` (none of the three given, or as `lcc.place.locate`), `weather`
        (what is wrong with the file) or `climate_zone` (a weather file without a zone).

    Notes
    -----
    The zone is the one entered, else that of the place, else that of the station.
    """
    zone, place = site.climate_zone, located(site)
    if zone is None and place is not None:
        zone = place.climate_zone
    if zone_number(zone) is None and (zone is not None or site.weather is not None):
        raise CaseError("climate_zone", zone, "0 to 8, such as 3A")
    if site.weather is not None:
        return _from_file(site.weather.name, site.weather.text, str(zone), site.sky)
    key = site.climate or (place.station.key if place else None)
    if key is None:
        raise CaseError("place", None, "a place, a key of climates, or a weather file")
    station = _from_station(key)
    return station if zone in (None, station.zone) else _with_zone(station, str(zone))


def located(site: Site) -> Place | None:
    """Return the place that a site names, or None.

    Raises
    ------
    CaseError
        As `lcc.place.locate`.
    """
    return locate(site.place) if site.place else None


def stand_in(site: Site) -> tuple[Chosen, str] | None:
    """Return the station whose weather a place has, and the place's zone; None without a place.

    Without a place, or with a weather file of its own, nothing is known to stand between.
    """
    place = located(site)
    if place is None or site.weather is not None:
        return None
    here = place.latitude_deg, place.longitude_deg, place.climate_zone, place.elevation_m
    return (named(site.climate, *here) if site.climate else place.station), place.climate_zone


def file_elsewhere(site: Site) -> tuple[str, ...]:
    """Return what is said of a weather file for another place, or another zone, than the site's."""
    if site.weather is None:
        return ()
    climate, here = load(site), located(site)
    made = climate.place.latitude_deg, climate.place.longitude_deg
    far = said_of_file(*made, here) if here else ()
    return *far, *said_of_zones(zone_at(*made), climate.zone)


def zone_number(zone: str | None) -> int | None:
    """Return the number of a climate zone, or None where the text is not one.

    Examples
    --------
    >>> zone_number("3A"), zone_number("8"), zone_number("9")
    (3, 8, None)
    """
    text = (zone or "").strip().upper()
    sound = text[:1] in ZONES and text[1:] in ("", "A", "B", "C")
    return int(text[0]) if text and sound else None


def digest_of(*parts: Any) -> str:
    """Return a digest of texts and arrays, the same for the same contents."""
    whole = hashlib.sha256()
    for item in parts:
        whole.update(item.tobytes() if isinstance(item, np.ndarray) else repr(item).encode())
    return whole.hexdigest()


@lru_cache(maxsize=128)
def _from_station(key: str) -> Climate:
    row = tables.rows("climates")[key]
    place = solar.Location(
        row["latitude_deg"], row["longitude_deg"], row["utc_offset_h"], row["elevation_m"]
    )
    blocks = pd.read_csv(io.StringIO(tables.read_text(f"climates/{key}.csv.gz")))
    hourly = rebuilt(f"{row['city']}, {row['state']}", place, blocks)
    return from_hourly(hourly, str(row["climate_zone"]))


@lru_cache(maxsize=768)
def sun_on(climate: Climate, tilt_deg: float, azimuth_deg: float) -> Array:
    """Return total irradiance [W/m²] on a plane in a climate, shape (8760,); shared, not to change.

    Buildings of one climate share their walls' bearings, so these are remembered.
    """
    return solar.on_plane(climate.place, climate.ghi_w_m2, climate.dhi_w_m2, tilt_deg, azimuth_deg)


def rebuilt(name: str, place: solar.Location, blocks: pd.DataFrame) -> weather_files.Hourly:
    """Return the hours of a year rebuilt from its three-hour means.

    Parameters
    ----------
    blocks : DataFrame, 2920 rows
        Means of `dry_bulb_c`, `dew_point_c`, `wind_speed_m_s`, `sky_cover_tenths`, `ghi_w_m2`
        and `dhi_w_m2`, the columns of the tables of climates.
    """
    means = {str(column): blocks[column].to_numpy(float) for column in blocks}
    clear = solar.clear_sky_shape(place)
    ghi, dhi = irradiance_from_blocks(means["ghi_w_m2"], means["dhi_w_m2"], clear)
    return weather_files.Hourly(
        name=name,
        place=place,
        dry_bulb_c=hours_from_blocks(means["dry_bulb_c"]),
        dew_point_c=hours_from_blocks(means["dew_point_c"]),
        wind_speed_m_s=hours_from_blocks(means["wind_speed_m_s"], low=0.0),
        sky_cover=hours_from_blocks(means["sky_cover_tenths"] / 10, low=0.0, high=1.0),
        ghi_w_m2=ghi,
        dhi_w_m2=dhi,
        sky_longwave_w_m2=None,
    )


@lru_cache(maxsize=8)
def _from_file(name: str, text: str, zone: str, sky_of: str) -> Climate:
    hourly = weather_files.read(name, text)
    if sky_of == "computed" and hourly.cover_known:
        hourly = replace(hourly, sky_longwave_w_m2=None)
    return from_hourly(hourly, zone)


@lru_cache(maxsize=128)
def _with_zone(climate: Climate, zone: str) -> Climate:
    return replace(climate, zone=zone, digest=digest_of(climate.digest, zone))


def from_hourly(hourly: weather_files.Hourly, zone: str) -> Climate:
    """Return the climate of hourly data: dew point at most dry bulb, sky long-wave filled in."""
    dew_point = np.minimum(hourly.dew_point_c, hourly.dry_bulb_c)
    longwave = hourly.sky_longwave_w_m2
    if longwave is None:
        longwave = sky.longwave_w_m2(hourly.dry_bulb_c, dew_point, hourly.sky_cover)
    arrays = (hourly.dry_bulb_c, dew_point, hourly.wind_speed_m_s, hourly.ghi_w_m2)
    digest = digest_of(hourly.name, zone, hourly.place, *arrays, hourly.dhi_w_m2, longwave)
    return Climate(
        hourly.name, zone, hourly.place, *arrays, hourly.dhi_w_m2, longwave, digest
    )  # fmt: skip

"""Towns and ZIP codes of the country, as plain rows by the names people give them."""

import io
import re
import unicodedata
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from statistics import median
from typing import Any

import numpy as np
import pandas as pd
import zipcodes
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from lcc import tables
from lcc.arrays import Array
from lcc.place.nearest_station import EARTH_RADIUS_KM, Chosen, nearest

MILITARY = ("AA", "AE", "AP")
CITY = 20  # ZIP codes; other names of smaller towns are those of firms and crossroads


def _written(kind: str) -> dict[str, str]:
    return {each["written"]: each["meant"] for each in tables.words("place_names")
            if each["kind"] == kind}  # fmt: skip


STATES = _written("state")
# Words written short or long, the long form as the post has it. A county, parish or borough is one
# word. Common practice, as are the names in use that the post does not know ("spoken": Queens is
# many post towns) and the short forms of states in older letters and lists.
WORDS = _written("word")


@dataclass(frozen=True)
class Town:
    """A town or county of one state: where its ZIP codes lie in the mean, and how many it has."""

    name: str
    state: str
    latitude_deg: float
    longitude_deg: float
    zip_codes: int
    is_county: bool = False


@dataclass(frozen=True)
class Place:
    """A place with its climate zone and the station whose typical year it gets, when asked for."""

    name: str
    zip_code: str
    latitude_deg: float
    longitude_deg: float

    @cached_property
    def _zone_and_elevation(self) -> tuple[str, float, float]:
        return zone_and_elevation(self.latitude_deg, self.longitude_deg)

    @property
    def climate_zone(self) -> str:
        """Climate zone of the nearest ZIP code area."""
        return self._zone_and_elevation[0]

    @property
    def elevation_m(self) -> float:
        """Elevation of that area [m]."""
        return self._zone_and_elevation[1]

    @cached_property
    def station(self) -> Chosen:
        """The station whose typical year the place gets."""
        zone, elevation_m, _ = self._zone_and_elevation
        return nearest(self.latitude_deg, self.longitude_deg, zone, elevation_m)


@dataclass(frozen=True)
class Gazetteer:
    """All ZIP codes, and the towns by their plain names and state."""

    codes: dict[str, Place]
    towns: dict[str, dict[str, Town]]


@lru_cache(maxsize=4096)
def plain(name: str) -> str:
    """Return a name in plain letters without spaces, with its short forms written out.

    Examples
    --------
    >>> plain("St. Louis"), plain("N.Y.C."), plain("Coeur d’Alene"), plain("O Fallon")
    ('saintlouis', 'nyc', 'coeurdalene', 'ofallon')
    """
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9 ]", " ", re.sub(r"[.'`]", "", letters)).split()
    return "".join(WORDS.get(word, word) for word in words)


def state_of(text: str) -> str | None:
    """Return the two letters of a state given by them or by name.

    Examples
    --------
    >>> state_of("Ill."), state_of("il"), state_of("North Dakota")
    ('IL', 'IL', 'ND')
    """
    return _state_names().get(" ".join(re.sub(r"[.]", "", text).lower().split()))


@cache
def _state_names() -> dict[str, str]:
    names = {key.lower(): code for code, name in STATES.items() for key in (code, name)}
    return names | _written("short state")


@cache
def gazetteer() -> Gazetteer:
    """Return towns and ZIP codes; a second or two the first time."""
    rows = [row for row in zipcodes.filter_by() if row["state"] in STATES
            and (float(row["lat"]), float(row["long"])) != (0.0, 0.0)]  # fmt: skip
    codes = {
        str(row["zip_code"]): Place(
            f"{row['city']}, {row['state']}", str(row["zip_code"]),
            float(row["lat"]), float(row["long"]),
        )
        for row in rows
    }  # fmt: skip
    towns = _by_name(rows, "city")
    for row in rows:
        _add_other_names(towns, row)
    for name, by_state in _by_name(rows, "county").items():
        towns[name] = by_state | towns[name]  # a town of the name goes first
    for spoken, meant in _written("spoken").items():
        name, state = meant.split(", ")
        towns[spoken].setdefault(state, towns[plain(name)][state])
    return Gazetteer(codes, dict(towns))


def _by_name(rows: Sequence[dict[str, Any]], field: str) -> dict[str, dict[str, Town]]:
    """Towns or counties by their plain names and state."""
    grouped: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        if row[field]:
            grouped[plain(row[field]), row["state"]].append(row)
    towns: dict[str, dict[str, Town]] = defaultdict(dict)
    for (name, state), own in grouped.items():
        towns[name][state] = _town(own, field)
    return towns


def _town(rows: Sequence[dict[str, Any]], field: str) -> Town:
    lived_in = [row for row in rows if row["zip_code_type"] == "STANDARD"] or rows
    latitude, longitude = (
        median([float(row[name]) for row in lived_in]) for name in ("lat", "long")
    )
    name, state = str(rows[0][field]), str(rows[0]["state"])
    return Town(name, state, latitude, longitude, len(rows), field == "county")


def _add_other_names(towns: dict[str, dict[str, Town]], row: dict[str, Any]) -> None:
    """What else people write on letters there; a town of that name itself goes first."""
    if row["zip_code_type"] == "UNIQUE":  # the names of one firm or office
        return
    state, here = str(row["state"]), (float(row["lat"]), float(row["long"]))
    proper = towns[plain(row["city"])][state]
    for other in row["acceptable_cities"]:
        towns[plain(other)].setdefault(state, Town(other, state, *here, 1))
    for other in row["unacceptable_cities"] if proper.zip_codes >= CITY else ():
        if state_of(other) is None:
            towns[plain(other)].setdefault(state, proper)


@cache
def _areas() -> tuple[cKDTree, Array, NDArray[np.str_]]:
    """ZIP code areas by their points on the unit sphere, their elevations [m] and zones."""
    text = io.StringIO(tables.read_text("zip_zones.csv.gz"))
    frame = pd.read_csv(text, comment="#", dtype={"climate_zone": str})
    points = _on_sphere(frame["latitude_deg"].to_numpy(), frame["longitude_deg"].to_numpy())
    elevations, zones = frame["elevation_m"].to_numpy(float), frame["climate_zone"].to_numpy(str)
    return cKDTree(points), elevations, zones


def _on_sphere(latitude_deg: Any, longitude_deg: Any) -> Array:
    north, east = np.radians(latitude_deg), np.radians(longitude_deg)
    flat = np.cos(north)
    return np.array([flat * np.cos(east), flat * np.sin(east), np.sin(north)]).T


def zone_and_elevation(latitude_deg: float, longitude_deg: float) -> tuple[str, float, float]:
    """Return climate zone, elevation [m] and distance [km] of the nearest ZIP code area.

    Examples
    --------
    >>> zone_and_elevation(41.53, -88.08)[0]
    '5A'
    """
    near, elevations, zones = _areas()
    chord, index = near.query(_on_sphere(latitude_deg, longitude_deg))
    apart = 2 * EARTH_RADIUS_KM * float(np.arcsin(chord / 2))
    return str(zones[index]), float(elevations[index]), apart

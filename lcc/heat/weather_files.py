"""Hourly weather files of the user's: EPW, TMY3 and TMY2, read by pvlib and checked here."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import iotools

from lcc.errors import CaseError
from lcc.heat.solar import Location, diffuse_of, lag_of_sun_h

Array = NDArray[np.float64]
FIELD = "weather"
LEAP_YEAR = 2020  # so that a leap day can be read, and then left out

# Plausible bounds; the formats mark what is missing by values outside them.
BOUNDS: dict[str, tuple[float, float]] = {
    "dry_bulb_c": (-80.0, 65.0),
    "dew_point_c": (-100.0, 50.0),
    "wind_speed_m_s": (0.0, 60.0),
    "sky_cover": (0.0, 1.0),
    "ghi_w_m2": (0.0, 1500.0),
    "dhi_w_m2": (0.0, 1000.0),
}
LONGWAVE_BOUNDS = (40.0, 650.0)
MOST_LAG_H = 1.0  # fog of mornings or clouds of afternoons move the mean hour by 0.2


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


def read(name: str, text: str) -> Hourly:
    """Return the hours of a weather file, whichever of the three formats it has.

    Parameters
    ----------
    name : str
        Used where the file does not name its place.
    text : str
        The whole file.

    Raises
    ------
    CaseError
        With the field `weather`: not one of the formats, rows that are not the 8,760 hours of
        a year in order (a leap day is left out), values that are missing or implausible, or a
        sun that does not stand over the file's longitude and time zone.

    Notes
    -----
    Diffuse irradiance that is missing in every hour is split from the global by Erbs; sky cover
    is not asked of a file that has the sky's long-wave irradiance.
    """
    reader = _reader_for(text)
    try:
        frame, place, title, stamps = reader(text)
    except (ValueError, KeyError, IndexError, TypeError, pd.errors.ParserError) as error:
        reason = str(error).partition("\n")[0]
        if isinstance(error, KeyError):  # pvlib's readers and ours look for cells by name
            reason = f"this one has no {reason}"
        raise CaseError(FIELD, name, f"a readable EPW, TMY3 or TMY2 file ({reason})") from error
    frame, stamps = _without_leap_day(frame, stamps)
    _check_hours(name, stamps)
    place, longwave = _checked_place(place), _longwave(frame)
    ghi = _checked(frame, "ghi_w_m2")
    _check_sun(name, place, ghi)
    if not _plausible(frame, "dhi_w_m2").any():
        frame = frame.assign(dhi_w_m2=diffuse_of(place, ghi))
    covered = _plausible(frame, "sky_cover")
    if longwave is not None:
        frame = frame.assign(sky_cover=frame["sky_cover"].where(covered, 0))
    columns = {column: _checked(frame, column) for column in BOUNDS}
    return Hourly(
        title or name, place, **columns, sky_longwave_w_m2=longwave, cover_known=bool(covered.all())
    )


def _reader_for(text: str) -> Callable[[str], tuple[pd.DataFrame, Location, str, pd.DataFrame]]:
    first, _, rest = text.partition("\n")
    if first.startswith("LOCATION,"):
        return _read_epw
    if rest.startswith("Date (MM/DD/YYYY)"):
        return _read_tmy3
    if len(first) < 80 and first[1:6].strip().isdigit() and len(rest.partition("\n")[0]) > 140:
        return _read_tmy2
    raise CaseError(FIELD, first[:60], "an EPW, TMY3 or TMY2 file, known by its first lines")


_NAMES = {
    "temp_air": "dry_bulb_c", "temp_dew": "dew_point_c", "wind_speed": "wind_speed_m_s",
    "ghi": "ghi_w_m2", "dhi": "dhi_w_m2",
}  # fmt: skip


def _read_epw(text: str) -> tuple[pd.DataFrame, Location, str, pd.DataFrame]:
    data, meta = iotools.read_epw(io.StringIO(text), coerce_year=LEAP_YEAR)
    frame = _columns(data, "opaque_sky_cover").assign(sky_longwave_w_m2=data["ghi_infrared"])
    stamps = data[["month", "day", "hour"]].assign(hour=data["hour"] - 1)
    return frame, _place(meta), f"{meta['city']}, {meta['state-prov']}", stamps


def _read_tmy3(text: str) -> tuple[pd.DataFrame, Location, str, pd.DataFrame]:
    data, meta = iotools.read_tmy3(io.StringIO(text), map_variables=True)
    frame = _columns(data, "OpqCld (tenths)")
    dates = data["Date (MM/DD/YYYY)"].str.split("/", expand=True).astype(int)
    hours = data["Time (HH:MM)"].str[:2].astype(int) - 1
    stamps = pd.DataFrame({"month": dates[0], "day": dates[1], "hour": hours})
    return frame, _place(meta), f"{meta['Name'].strip(chr(34)).title()}, {meta['State']}", stamps


def _read_tmy2(text: str) -> tuple[pd.DataFrame, Location, str, pd.DataFrame]:
    with tempfile.NamedTemporaryFile("w", suffix=".tm2", delete=False) as file:
        file.write(text)
    try:
        data, meta = iotools.read_tmy2(file.name)
    finally:
        Path(file.name).unlink()
    frame = pd.DataFrame(
        {
            "dry_bulb_c": data["DryBulb"] / 10,
            "dew_point_c": data["DewPoint"] / 10,
            "wind_speed_m_s": data["Wspd"] / 10,
            "sky_cover": data["OpqCld"] / 10,
            "ghi_w_m2": data["GHI"],
            "dhi_w_m2": data["DHI"],
        }
    )
    stamps = data[["month", "day", "hour"]].astype(int)
    stamps = stamps.assign(hour=stamps["hour"] - 1)
    return frame, _place(meta), f"{meta['City'].title()}, {meta['State']}", stamps


def _columns(data: pd.DataFrame, sky_cover: str) -> pd.DataFrame:
    """Return the columns that pvlib names alike in EPW and TMY3, and the sky cover of a name."""
    found = {ours: data[theirs] for theirs, ours in _NAMES.items()}
    return pd.DataFrame({**found, "sky_cover": data[sky_cover] / 10})


def _place(meta: dict[str, Any]) -> Location:
    return Location(
        float(meta["latitude"]), float(meta["longitude"]), float(meta["TZ"]),
        float(meta["altitude"]),
    )  # fmt: skip


def _without_leap_day(
    frame: pd.DataFrame, stamps: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    leap = ((stamps["month"] == 2) & (stamps["day"] == 29)).to_numpy()
    return frame[~leap], stamps[~leap]


def _check_hours(name: str, stamps: pd.DataFrame) -> None:
    if len(stamps) != 8760:
        allowed = f"8,760 hourly rows without a leap day (this file has {len(stamps):,})"
        raise CaseError(FIELD, name, allowed)
    year = pd.date_range("2021-01-01", periods=8760, freq="h")
    expected = np.column_stack([year.month, year.day, year.hour])
    wrong = np.flatnonzero((stamps.to_numpy(int) != expected).any(axis=1))
    if wrong.size:
        month, day, hour = expected[wrong[0]]
        allowed = f"hours in order (row {wrong[0] + 1} should be {month}/{day} hour {hour + 1})"
        raise CaseError(FIELD, name, allowed)


def _check_sun(name: str, place: Location, ghi_w_m2: Array) -> None:
    lag = lag_of_sun_h(place, ghi_w_m2)
    if abs(lag) > MOST_LAG_H:
        allowed = (
            "hours of local standard time with their longitude and time zone (the sun of this "
            f"file comes {abs(lag):.1f} h {'late' if lag > 0 else 'early'})"
        )
        raise CaseError(FIELD, name, allowed)


def _plausible(frame: pd.DataFrame, column: str) -> NDArray[np.bool_]:
    low, high = BOUNDS[column]
    values = pd.to_numeric(frame[column], errors="coerce").to_numpy(float)
    return np.asarray((values >= low) & (values <= high))


def _checked(frame: pd.DataFrame, column: str) -> Array:
    values = pd.to_numeric(frame[column], errors="coerce").to_numpy(float)
    low, high = BOUNDS[column]
    wrong = np.flatnonzero(~_plausible(frame, column))
    if wrong.size:
        given = frame[column].iloc[wrong[0]]
        first = f"row {wrong[0] + 1}: {'no number' if pd.isna(given) else given}"
        allowed = (
            f"{column} from {low:g} to {high:g} in every hour "
            f"(wrong in {wrong.size:,} of them, first in {first:.60})"
        )
        raise CaseError(FIELD, first, allowed)
    return values


def _checked_place(place: Location) -> Location:
    sound = (
        abs(place.latitude_deg) <= 90
        and abs(place.longitude_deg) <= 180
        and abs(place.utc_offset_h) <= 14
        and abs(place.elevation_m - 4000) <= 5000
    )
    if not sound:
        allowed = "latitude, longitude, time zone and elevation on the earth"
        raise CaseError(FIELD, str(place), allowed)
    return place


def _longwave(frame: pd.DataFrame) -> Array | None:
    """The file's own downward long-wave where every hour of it is plausible."""
    if "sky_longwave_w_m2" not in frame:
        return None
    values = pd.to_numeric(frame["sky_longwave_w_m2"], errors="coerce").to_numpy(float)
    low, high = LONGWAVE_BOUNDS
    return values if bool(np.all((values >= low) & (values <= high))) else None

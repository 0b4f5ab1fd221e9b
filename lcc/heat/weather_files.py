"""Hourly weather files of the user's: EPW, TMY3 and TMY2, read by pvlib and checked here."""

import io
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import mode
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from pvlib import iotools

from lcc.arrays import Array, Flags
from lcc.errors import CaseError
from lcc.heat.solar import Location, clearness, diffuse_of, lag_of_sun_h, sun_over

FIELD = "weather"
LEAP_YEAR = 2020  # so that a leap day can be read, and then left out


class WeatherColumn(NamedTuple):
    """A column's name and unit, and the values that are plausible."""

    label: str
    low: float
    high: float
    unit: str


# The formats mark what is missing by values outside these bounds.
COLUMNS = {
    "dry_bulb_c": WeatherColumn("dry-bulb temperature", -80.0, 65.0, "°C"),
    "dew_point_c": WeatherColumn("dew point", -100.0, 50.0, "°C"),
    "wind_speed_m_s": WeatherColumn("wind speed", 0.0, 60.0, "m/s"),
    "sky_cover": WeatherColumn("opaque sky cover", 0.0, 1.0, "of the sky"),
    "ghi_w_m2": WeatherColumn("global horizontal sun", 0.0, 1500.0, "W/m²"),
    "dhi_w_m2": WeatherColumn("diffuse horizontal sun", 0.0, 1000.0, "W/m²"),
    "sky_longwave_w_m2": WeatherColumn("long-wave of the sky", 40.0, 650.0, "W/m²"),
}
LONGWAVE = "sky_longwave_w_m2"  # left out of a year where an hour of it is not plausible
MOST_LAG_H = 1.0  # fog of mornings or clouds of afternoons move the mean hour by 0.2
# Astronomical twilight ends here, and with it all light of the sun: common practice. A sun that is
# late by the hour allowed above stands at most 105 degrees from the zenith.
NIGHT_ZENITH_DEG = 108.0
NIGHT_SUN_W_M2 = 20.0  # chosen: instruments read a few W/m² off at night
# Chosen, of the sun above the atmosphere. Stations have 36% (Port Heiden) to 67% (Phoenix) of it.
LEAST_CLEARNESS, MOST_CLEARNESS = 0.15, 0.85
DEW_POINT_OVER_K = 1.0  # chosen: two temperatures, each rounded to a whole degree
MANY_H = 88  # chosen: one hour in a hundred


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
        With the field `weather`: not one of the formats, rows that are cut short or are not the
        8,760 hours of a year in order (a leap day is left out), values that are missing or
        implausible, a dew point above the dry bulb, or a sun that is not that of the file's place
        and time zone: out of step, up at night, or none to speak of.

    Notes
    -----
    Diffuse irradiance that is missing in every hour is split from the global by Erbs; sky cover
    is not asked of a file that has the sky's long-wave irradiance.
    """
    try:
        return _hours_of(name, text)
    except CaseError as error:
        told = f"The weather file {name[:40]!a} cannot be used; allowed: {error.allowed}."
        raise CaseError(FIELD, name, error.allowed, detail=told) from error


def _refused(allowed: str) -> CaseError:
    return CaseError(FIELD, None, allowed)


def _hours_of(name: str, text: str) -> Hourly:
    reader = _reader_for(text)
    _check_rows(text, reader)
    try:
        frame, place, title, stamps = reader(text)
    except (ValueError, KeyError, IndexError, TypeError, pd.errors.ParserError) as error:
        reason = str(error).partition("\n")[0]
        if isinstance(error, KeyError):  # pvlib's readers and ours look for cells by name
            cell = str(error.args[0])
            reason = f"this one has no {COLUMNS[_NAMES[cell]].label if cell in _NAMES else cell}"
        raise _refused(f"a readable EPW, TMY3 or TMY2 file ({reason})") from error
    leap = ((stamps["month"] == 2) & (stamps["day"] == 29)).to_numpy()
    frame, stamps = frame[~leap], stamps[~leap]
    _check_hours(stamps)
    place, longwave = _checked_place(place), _longwave(frame)
    ghi = _checked(frame, "ghi_w_m2")
    _check_sun(place, ghi)
    if not _plausible(frame, "dhi_w_m2").any():
        frame = frame.assign(dhi_w_m2=diffuse_of(place, ghi))
    covered = _plausible(frame, "sky_cover")
    if longwave is not None:
        frame = frame.assign(sky_cover=frame["sky_cover"].where(covered, 0))
    columns = {column: _checked(frame, column) for column in COLUMNS if column != LONGWAVE}
    over = int((columns["dew_point_c"] > columns["dry_bulb_c"] + DEW_POINT_OVER_K).sum())
    if over > MANY_H:
        raise _refused(
            "a dew point no higher than the dry bulb (this file's is more than "
            f"{DEW_POINT_OVER_K:g} °C above it in {over:,} hours)"
        )
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
    raise _refused("an EPW, TMY3 or TMY2 file, known by its first lines")


def _check_rows(text: str, reader: Callable[..., Any]) -> None:
    """Refuse a row with fewer cells, or in TMY2 fewer characters, than most rows have."""
    heads = {_read_epw: 8, _read_tmy3: 2, _read_tmy2: 1}
    rows = [row.rstrip() for row in text.split("\n")[heads[reader] :] if row.strip()]
    plain = reader is _read_tmy2
    sizes = [len(row) if plain else row.count(",") + 1 for row in rows]
    whole = mode(sizes) if sizes else 0
    short = next((place for place, size in enumerate(sizes) if size < whole), None)
    if short is not None:
        cells = f"{sizes[short]} of {whole} {'characters' if plain else 'cells'}"
        raise _refused(f"8,760 hourly rows, none cut short (row {short + 1} has {cells})")


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


def _check_hours(stamps: pd.DataFrame) -> None:
    if len(stamps) != 8760:
        raise _refused(f"8,760 hourly rows without a leap day (this file has {len(stamps):,})")
    year = pd.date_range("2021-01-01", periods=8760, freq="h")
    expected = np.column_stack([year.month, year.day, year.hour])
    wrong = np.flatnonzero((stamps.to_numpy(int) != expected).any(axis=1))
    if wrong.size:
        month, day, hour = expected[wrong[0]]
        allowed = f"hours in order (row {wrong[0] + 1} should be {month}/{day} hour {hour + 1})"
        raise _refused(allowed)


def _check_sun(place: Location, ghi_w_m2: Array) -> None:
    """Refuse a sun that is out of step, up at night, or in sum not one of this earth."""
    lag = lag_of_sun_h(place, ghi_w_m2)
    if abs(lag) > MOST_LAG_H:
        allowed = (
            "hours of local standard time with their longitude and time zone (the sun of this "
            f"file comes {abs(lag):.1f} h {'late' if lag > 0 else 'early'})"
        )
        raise _refused(allowed)
    night = (sun_over(place).zenith_deg > NIGHT_ZENITH_DEG) & (ghi_w_m2 > NIGHT_SUN_W_M2)
    if night.sum() > MANY_H:
        raise _refused(
            f"no sun at night (this file has more than {NIGHT_SUN_W_M2:g} W/m² in "
            f"{night.sum():,} hours while the sun is {NIGHT_ZENITH_DEG - 90:g}° or more below the "
            "horizon of its place)"
        )
    part = clearness(place, ghi_w_m2)
    if not LEAST_CLEARNESS <= part <= MOST_CLEARNESS:
        has = f"{100 * part:.3g}%" if part else "no sun in any hour"
        raise _refused(
            f"a year's sun of {100 * LEAST_CLEARNESS:g}% to {100 * MOST_CLEARNESS:g}% of what "
            f"reaches the top of the atmosphere over its place (this file has {has})"
        )


def _numbers(frame: pd.DataFrame, column: str) -> Array:
    return pd.to_numeric(frame[column], errors="coerce").to_numpy(float)


def _plausible(frame: pd.DataFrame, column: str) -> Flags:
    values, each = _numbers(frame, column), COLUMNS[column]
    return np.asarray((values >= each.low) & (values <= each.high))


def _checked(frame: pd.DataFrame, column: str) -> Array:
    wrong = np.flatnonzero(~_plausible(frame, column))
    if wrong.size:
        label, low, high, unit = COLUMNS[column]
        given = frame[column].iloc[wrong[0]]
        said = "no number" if pd.isna(given) else str(given)
        raise _refused(
            f"a {label} from {low:g} to {high:g} {unit} in every hour "
            f"(wrong in {wrong.size:,}, first in row {wrong[0] + 1:,}: {said:.40})"
        )
    return _numbers(frame, column)


def _checked_place(place: Location) -> Location:
    sound = (
        abs(place.latitude_deg) <= 90
        and abs(place.longitude_deg) <= 180
        and abs(place.utc_offset_h) <= 14
        and abs(place.elevation_m - 4000) <= 5000
    )
    if not sound:
        raise _refused(
            "a latitude from -90 to 90, a longitude from -180 to 180, a time zone from -14 to 14 h "
            f"and an elevation from -1,000 to 9,000 m (this file has {place.latitude_deg:g}, "
            f"{place.longitude_deg:g}, {place.utc_offset_h:g} and {place.elevation_m:g})"
        )
    return place


def _longwave(frame: pd.DataFrame) -> Array | None:
    """The file's own downward long-wave where every hour of it is plausible."""
    if LONGWAVE not in frame or not _plausible(frame, LONGWAVE).all():
        return None
    return _numbers(frame, LONGWAVE)

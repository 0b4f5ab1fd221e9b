"""A place from what people type: a ZIP code, a town with its state, or coordinates."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from math import log10

import zipcodes
from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from lcc.errors import CaseError
from lcc.place.gazetteer import (
    MILITARY,
    STATES,
    Place,
    Town,
    gazetteer,
    plain,
    state_of,
    zone_and_elevation,
)

FIELD = "place"
MOST = 10
# The figures of likeness are chosen.
ALIKE = 70.0  # of 100, above which the wrong letters of a name are counted
LONG_NAME = 7  # letters from which two may be wrong, but for the first; in a shorter name one
CITY_BONUS = 0.4  # of a wrong letter, for ten times as many ZIP codes: the larger town is meant
SHORTEST = 3  # letters, for a spelling to be like another
OUTSIDE_KM = 300.0  # farther than this from every ZIP code area is another country or the sea
FIVE = "all five digits of a ZIP code"
CLEARLY = 10  # times as many ZIP codes as the next town of the name: it is the one meant
HOW = 'a ZIP code, a town with its state such as "Joliet, IL", or latitude and longitude'
MILITARY_NOTE = (
    "the town, or latitude and longitude; a military post office (APO, FPO or DPO) says nothing of "
    "where the roof is"
)
COUNTRY = re.compile(r"[,\s]+(?:U\.?S\.?(?:A\.?)?|United States(?: of America)?)$", re.IGNORECASE)
_MINUTES = r"(?:(\d{1,2}(?:\.\d*)?)\s*['\u2032\u2019]\s*)?"
_SECONDS = r"""(?:(\d{1,2}(?:\.\d*)?)\s*["\u2033\u201d]\s*)?"""
_DEGREES = rf"([-+−]?\d{{1,3}}(?:\.\d*)?)\s*°?\s*{_MINUTES}{_SECONDS}([NSEW]?)"
COORDINATES = re.compile(rf"{_DEGREES}\s*[,;/\s]\s*{_DEGREES}", re.IGNORECASE)
LABELS = re.compile(r"\b(?:lat(?:itude)?|long?(?:itude)?|lng)\b\.?\s*[:=]?|[()\[\]]", re.IGNORECASE)
SIDES_FIRST = re.compile(r"([NS])\s*(\d[^EW]*?)[,;/\s]+([EW])\s*(\d.*)", re.IGNORECASE)
ZIP_CODE = re.compile(r"(?:.*[,\s])?(?:(\d{3,5})(?:-\d{4})?|(\d{5})\d{4})")


@dataclass(frozen=True)
class Found:
    """Places that fit a query, best first; not `exact` where they are only spelled alike."""

    places: tuple[Place, ...]
    exact: bool = True
    note: str = ""


def find(query: str, most: int = MOST, alike: bool = True) -> Found:
    """Return the places that fit what was typed, best first; no text is refused.

    Parameters
    ----------
    query : str
        A ZIP code, a town with or without its state, or latitude and longitude in degrees, with
        minutes and seconds or without.
    most : int
        No more places than this.
    alike : bool
        Whether what nothing fits is looked for in other spellings, which takes some milliseconds.

    Examples
    --------
    >>> [each.name for each in find("Joliet, IL").places]
    ['Joliet, IL']
    >>> find("Jolliet IL").exact
    False
    """
    return _found(COUNTRY.sub("", " ".join(query.split())[:80]), most, alike)


@lru_cache(maxsize=4096)
def _found(typed: str, most: int, alike: bool) -> Found:
    coordinates = _coordinates(typed)
    if coordinates is not None:
        return _at(*coordinates)
    digits = ZIP_CODE.fullmatch(typed)
    if digits:
        code = digits[1] or digits[2]
        return _asked(typed[: digits.start(1)], code, _by_zip_code(code.zfill(5), alike))
    towns, exact = _towns(typed, most, alike)
    note = "" if towns or not alike else _what_to_type(typed)
    if exact and towns[0].is_county:
        note = f"{towns[0].name}, {towns[0].state} is taken at the middle of its ZIP codes."
    places = tuple(
        Place(f"{town.name}, {town.state}", "", town.latitude_deg, town.longitude_deg)
        for town in towns
    )
    return Found(places, exact and bool(towns), note)


def locate(text: str) -> Place:
    """Return the one place that a text means.

    Raises
    ------
    CaseError
        With the field `place`: unknown or spelled differently (with the nearest), of several
        states, a military post office, or outside the country.

    Examples
    --------
    >>> locate("60431").name, locate("60431").climate_zone
    ('Joliet, IL', '5A')
    """
    found = find(text)
    names = list(dict.fromkeys(each.name for each in found.places))
    if not found.places:
        raise CaseError(FIELD, text, found.note or HOW)
    if not found.exact:
        nearest = f"{HOW}; nearest matches: {_either(names[:3])}"
        raise CaseError(FIELD, text, found.note if FIVE in found.note else nearest)
    if len(found.places) > 1:
        raise CaseError(FIELD, text, f"a town with its state: {_either(names[:6])}")
    return found.places[0]


def place_note(text: str | None) -> str:
    """Return how a place that was found was read, where that is not as it was typed.

    Examples
    --------
    >>> place_note("Will County, IL"), place_note("06604")
    ('Will County, IL is taken at the middle of its ZIP codes.', '')
    """
    return find(text).note if text else ""


def _what_to_type(typed: str) -> str:
    """What to type instead; where a state is named, with its largest town."""
    state = state_of(typed) or _split(typed)[1]
    if state is None:
        return HOW
    own = [gazetteer().towns[name][state] for name in _names_of(state)[0]]
    largest = max(own, key=lambda town: (not town.is_county, town.zip_codes))
    also = ', or "Los Angeles, CA"' if plain(typed) == "la" else ""
    return f'a town in {STATES[state]}, such as "{largest.name}, {state}"{also}'


def _either(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{'; '.join(names[:-1])} or {names[-1]}"


def _coordinates(typed: str) -> tuple[float, float] | None:
    """Latitude and longitude in degrees.

    Examples
    --------
    >>> _coordinates("41° 30' N, 88.08 W")
    (41.5, -88.08)
    >>> _coordinates("(lat 41.5, lon: -88.08)"), _coordinates("N41.5 W88.08")
    ((41.5, -88.08), (41.5, -88.08))
    """
    bare = SIDES_FIRST.sub(r"\2\1 \4\3", LABELS.sub(" ", typed).strip())
    match = COORDINATES.fullmatch(bare)
    if not match or match[4].upper() in tuple("EW"):
        return None
    parts = match.groups()
    return _degrees(*parts[:4]), _degrees(*parts[4:])


def _degrees(whole: str, minutes: str | None, seconds: str | None, side: str) -> float:
    degrees = float(whole.replace("−", "-"))
    size = abs(degrees) + float(minutes or 0) / 60 + float(seconds or 0) / 3600
    return round(size if (degrees >= 0) == (side.upper() not in tuple("SW")) else -size, 6)


def zone_at(latitude_deg: float, longitude_deg: float) -> str:
    """Return the climate zone of a point, empty in another country or at sea.

    Examples
    --------
    >>> zone_at(41.53, -88.08), zone_at(19.43, -99.13)
    ('5A', '')
    """
    zone, _, apart = zone_and_elevation(latitude_deg, longitude_deg)
    return zone if apart <= OUTSIDE_KM else ""


def _at(latitude_deg: float, longitude_deg: float) -> Found:
    if abs(latitude_deg) > 90 or abs(longitude_deg) > 180:
        return Found((), False, "latitude from -90 to 90 and longitude from -180 to 180 degrees")
    if not zone_at(latitude_deg, longitude_deg):
        return Found((), False, _meant(latitude_deg, longitude_deg))
    name = f"{latitude_deg:g}, {longitude_deg:g}"
    return Found((Place(name, "", latitude_deg, longitude_deg),))


def _meant(latitude_deg: float, longitude_deg: float) -> str:
    """What to type for a point outside the country, which may lack its minus or its order."""
    for other in ((latitude_deg, -longitude_deg), (longitude_deg, latitude_deg)):
        if abs(other[0]) <= 90 and zone_at(*other):
            return f"latitude, then longitude, negative to the west: {other[0]:g}, {other[1]:g}"
    return "a place in the United States; elsewhere give a weather file"


def _asked(before: str, typed: str, found: Found) -> Found:
    """Return what was found, as a question where a short ZIP code stands without its state.

    Examples
    --------
    >>> find("3740").exact, find("3740").note
    (False, 'all five digits of a ZIP code; 03740 is Bath, NH')
    >>> find("Bath, NH 3740").exact
    True
    """
    if len(typed) == 5 or not found.places:
        return found
    name, state = found.places[0].name, before.strip(" ,")
    if (state_of(state) or _split(state)[1]) == name[-2:]:
        return found
    return Found(found.places, False, f"{FIVE}; {typed.zfill(5)} is {name}" * found.exact or FIVE)


def _by_zip_code(code: str, alike: bool) -> Found:
    """The place of a ZIP code, or the nearest in number of its sorting office (three figures)."""
    codes = gazetteer().codes
    if code in codes:
        return Found((codes[code],))
    if not alike:
        return Found(())
    if code in _military_codes():
        return Found((), False, MILITARY_NOTE)
    office = [known for last in range(100) if (known := codes.get(f"{code[:3]}{last:02d}"))]
    if not office:
        return Found((), False, f"{HOW}; there is no ZIP code {code}")
    near = min(office, key=lambda one: abs(int(one.zip_code) - int(code)))
    return Found((near,), False, f"no ZIP code {code}")


@cache
def _military_codes() -> frozenset[str]:
    return frozenset(row["zip_code"] for state in MILITARY
                     for row in zipcodes.filter_by(state=state))  # fmt: skip


def _towns(typed: str, most: int, alike: bool) -> tuple[list[Town], bool]:
    """Towns of a typed name, and whether they are spelled so."""
    name, state = _split(typed)
    known = gazetteer().towns.get(name, {})
    if state is not None:
        exact = [known[state]] if state in known else []
    else:
        exact = sorted(known.values(), key=lambda town: -town.zip_codes)
        if _clear(exact, name):
            exact = exact[:1]
        exact.sort(key=lambda town: plain(town.name) != name)  # other names of towns go last
    if exact:
        return exact[:most], True
    alone = state is None and state_of(typed) is not None
    if alike and state is None:
        name, state = _split(typed, _state_alike)
    return ([] if alone or not alike else _alike(name, state, most)), False


def _clear(towns: list[Town], name: str) -> bool:
    """Whether the largest of several towns is the one meant; another name of it is not enough."""
    if len(towns) < 2 or plain(towns[0].name) != name:
        return False
    return towns[0].zip_codes >= CLEARLY * towns[1].zip_codes


def _split(typed: str, read: Callable[[str], str | None] = state_of) -> tuple[str, str | None]:
    """A plain town name and its state, split at a comma or before the last word or two.

    Examples
    --------
    >>> _split("Kansas City, Missouri"), _split("St Louis MO"), _split("New York")
    (('kansascity', 'MO'), ('saintlouis', 'MO'), ('newyork', None))
    """
    before, comma, after = typed.rpartition(",")
    if comma and read(after):
        return plain(before), read(after)
    words = re.split(r"[,\s-]+", typed.strip())
    for count in (3, 2, 1):
        state = read(" ".join(words[-count:]))
        if state and len(words) > count:
            return plain(" ".join(words[:-count])), state
    return plain(typed), None


def _state_alike(text: str) -> str | None:
    """The state of a name of a letter more, less or other than what was typed.

    Examples
    --------
    >>> _state_alike("Ilinois"), _state_alike("Maine Street")
    ('IL', None)
    """
    found = process.extractOne(text.strip().title(), STATES, scorer=OSA.distance, score_cutoff=1)
    return found[2] if found and len(text) >= LONG_NAME else None


def _alike(name: str, state: str | None, most: int) -> list[Town]:
    """The towns of names a letter or two from this; of nearly equal ones the larger first."""
    if len(name) < SHORTEST:
        return []
    towns = gazetteer().towns
    names, sounds = _names_of(state)
    sound, wrong = _sound(name), 2 if len(name) >= LONG_NAME else 1
    alike = process.extract(sound, sounds, scorer=fuzz.ratio, limit=4 * most, score_cutoff=ALIKE)
    close = [(names[index], OSA.distance(sound, one)) for one, _, index in alike]  # slow
    ranked = [
        (letters - CITY_BONUS * log10(town.zip_codes), town)
        for close_name, letters in close
        for town in ([towns[close_name][state]] if state else towns[close_name].values())
        # not another name of it, which is not what is shown
        if plain(town.name) == close_name
        and (letters < 2 or (letters <= wrong and _sound(close_name)[0] == sound[0]))
    ]
    ranked.sort(key=lambda each: each[0])
    return list(dict.fromkeys(town for _, town in ranked))[:most]


@cache
def _names_of(state: str | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of a state, or of all of them, and how they sound."""
    towns = gazetteer().towns
    names = tuple(name for name in towns if state is None or state in towns[name])
    return names, tuple(map(_sound, names))


def _sound(name: str) -> str:
    """A plain name as it sounds, as far as people write it so.

    Examples
    --------
    >>> _sound("phoenix"), _sound("cincinnati"), _sound("hackensack")
    ('foenix', 'cincinati', 'hakensak')
    """
    return re.sub(r"(.)\1", r"\1", name.replace("ph", "f").replace("ck", "k"))

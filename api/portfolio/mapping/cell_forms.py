"""Cells as people type them, made into what the columns of a portfolio hold."""

import re
from functools import lru_cache

from api.portfolio.mapping.value_aliases import INSULATIONS, UNKNOWN
from api.portfolio.reading.cells import day_of
from lcc import tables, units

COVERING_EVERY_Y = 20  # years after which a roof is assumed to have been replaced
MOST_AGE_Y = 100
LONGEST_NUMBER = 100  # characters of a cell that may be a number; longer ones are remarks
_YEARS_OLD = re.compile(r"(\d{1,2})\s*(?:years?|yrs?\.?|y\.?o\.?)(?:\s*old)?", re.I | re.ASCII)
_FISCAL = re.compile(r"(?:FY\s*['’]?|(?:[a-z]+\.?\s*)?['’])(\d\d)", re.I | re.ASCII)
_NONE = re.compile(r"(?:none|no leaks?)(?: (?:reported|known|found|seen))?", re.I)
_YEAR = re.compile(r"(?<!\d)((?:18|19|20)\d\d)(?!\d)")
_OPEN = re.compile(r"(?:before|pre|prior|after|since|post)\b|[<>≤≥]", re.I)
_DECADE = re.compile(r"(?:\d\d|['’])?\d0\s?['’]?s\b", re.I | re.ASCII)
_TWO_DIGITS = re.compile(r"\d{1,2}", re.ASCII)
_A_YEAR = re.compile(r"0[1-9]|[6-9]\d", re.ASCII)  # no roof lasts so long; no age begins with 0
_SHORT_DATE = re.compile(r"\d{1,2}[-/]\d{1,2}[-/](\d\d)", re.ASCII)
_RANGE = re.compile(r"(\d[\d,.]*)\s*(?:-|–|to)\s*(\d[\d,.]*)", re.ASCII)
_ABOUT = re.compile(r"^(?:about|approx\.?|approximately|ca\.?|circa|est\.?|~|≈|±)\s*", re.I)
_ROUGH = re.compile(r"(?<=[\w.])\s*(?:[*†‡]+|\+ ?/ ?-|±|\((?:est\.?|estimated|e)\))$", re.I)
_UNIT = re.compile(
    r"(?<=[\d.kK])\s*(?:squares?|sqs?\.?|sq\.?\s*ft\.?|square feet|"
    r"sqft|sf|ft2|ft²|s\.f\.|sq\.?\s*m\.?|sqm|m2|m²|"
    r"square met(?:re|er)s?|acres?|ac\.?|"
    r"years?|yrs?\.?|y\.?o\.?|yr\.? old|stories|story|storeys?|floors?|layers?|ea\.?|"
    r"flrs?\.?|ply|plies|(?:/|per |a )\s*(?:yr|year))(?:\s*(?:old|\(e\)|est\.?))?$",
    re.I,
)
_MONTHS = 12
_ROUGHLY = r"(?:\s*(?:\(e\)|est\.?|\+ ?/ ?-|±))?$"
_METRES = re.compile(rf"(?:sq\.?\s*m\.?|sqm|m2|m²|square met(?:re|er)s?){_ROUGHLY}", re.I)
_FEET = re.compile(rf"(?:sq\.?\s*ft\.?|square feet|sqft|sf|ft2|ft²|s\.f\.){_ROUGHLY}", re.I)
_SQUARES = re.compile(rf"\d\s*(?:squares?|sqs?\.?){_ROUGHLY}", re.I)
_ACRES = re.compile(rf"(?:acres?|ac\.?){_ROUGHLY}", re.I)
_SIDE = r"(\d{1,4}(?:\.\d+)?)\s*('|\u2032|ft\.?|feet)?"
_SIDES = re.compile(rf"{_SIDE}\s*(?:x|×|by)\s*{_SIDE}", re.I)
_FT2 = units.unit("area", "ip").factor
_SQUARE = 100 * _FT2  # of roofing
_THICKNESS = r"\d{1,3}(?:\.\d+)?\s*(?:\"|″|”|in\.?|inch(?:es)?|mm)"
_THICK = re.compile(r"(\d+(?:\.\d+)?)\s*(\"|″|”|in\.?|inch(?:es)?|mm)(?:\s+of)?\s+(\w.*)", re.I)
_PER_AREA = re.compile(
    r"(.*?)\s*\$?\s*(?:/|\bper|\ba)\s*(?:(sq\.?\s*ft\.?|square foot|sqft|sf|ft2|ft²|s\.f\.)|"
    r"(sq\.?\s*m\.?|sqm|m2|m²|square met(?:re|er)))",
    re.I,
)
_R_VALUE = units.unit("resistance", "ip").factor
_PLAIN = re.compile(r"(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.(?!\d{3}$)\d+)?", re.ASCII)
_SPELLED = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}
_A_NUMBER = re.compile(r"[^\w.,<>≤≥]*(?:R\s?-?\s?)?[\d.,'\s]*\d[\d.,'\s]*(?:e[+-]?\d+)?\W*", re.I)
# Of columns that count something, "none" is 0 and not unknown.
NONE_IS_ZERO = frozenset(
    {"insulation", "leaks", "wet_fraction", "rooftop_units", "repairs", "warranty_left"}
)
_CENTS = re.compile(
    r"(\d+(?:\.\d+)?)\s*(?:¢|cents?)(?:\s*(?:/|a|per)\s*(?:kWh|therm))?", re.I | re.ASCII
)
_THOUSANDS = re.compile(r"(\d+(?:\.\d+)?)\s*k", re.I)


@lru_cache(maxsize=2_000)
def known(text: str) -> str:
    """Return a cell without blanks around it, empty where it says unknown.

    Examples
    --------
    >>> [known(text) for text in (" N/A ", "unknown", " EPDM ")]
    ['', '', 'EPDM']
    """
    bare = " ".join(text.split())
    return "" if {bare.casefold(), bare.casefold().rstrip(".")} & UNKNOWN else bare


def is_none(text: str) -> bool:
    """Tell whether a cell says that there are none.

    Examples
    --------
    >>> [is_none(text) for text in ("None", "none reported", "no", "?")]
    [True, True, False, False]
    """
    return bool(_NONE.fullmatch(text.strip()))


def resistance(text: str, unit_m2k_w: float = _R_VALUE) -> str:
    """Return the R-value of insulation given by thickness and material, empty where it is neither.

    Parameters
    ----------
    text : str
        The cell.
    unit_m2k_w : float
        The unit of the column [m²K/W].

    Examples
    --------
    >>> [resistance(text) for text in ('2" polyiso', "1.5 in. perlite", "3 inches", "R-10")]
    ['11.2', '4.16', '', '']
    >>> resistance('perlite 1.5"'), resistance("50 mm PIR")
    ('4.16', '11')
    >>> resistance('2" polyiso', 1.0)
    '1.97'
    """
    found = _THICK.fullmatch(
        re.sub(rf"^([a-z]\D*?)\s*({_THICKNESS})$", r"\2 \1", known(text), flags=re.I)
    )
    key = INSULATIONS.get(found[3].casefold().removesuffix(" board")) if found else None
    if not found or not key:
        return ""
    conductivity = tables.rows("materials")[key]["conductivity_w_mk"]
    thickness = float(found[1]) * (units.INCH_M if found[2].casefold() != "mm" else 0.001)
    return f"{thickness / conductivity / unit_m2k_w:.3g}"


def middle_of(text: str) -> str:
    """Return the middle of a range of two numbers, empty where a text is none.

    Examples
    --------
    >>> [middle_of(text) for text in ("18,000-20,000", "10 to 15 yrs", "12")]
    ['19000', '12.5', '']
    """
    pair = _RANGE.fullmatch(_UNIT.sub("", _ABOUT.sub("", text)).strip())
    low, high = (float(one.replace(",", "")) for one in pair.groups()) if pair else (0.0, 0.0)
    return f"{(low + high) / 2:g}" if low < high else ""


def number(text: str) -> str:
    """Return a number without the words around it, the middle of a range of two.

    Examples
    --------
    >>> [number(text) for text in ("~20,000 SF", "12 yrs", "10-15", "25k sf", "2 flrs", "9.5¢")]
    ['20,000', '12', '12.5', '25000', '2', '0.095']
    """
    bare = known(text)
    if len(bare) > LONGEST_NUMBER:
        return bare
    bare = _UNIT.sub("", _ROUGH.sub("", _ABOUT.sub("", bare))).strip()
    if bare.casefold() in _SPELLED:
        return _SPELLED[bare.casefold()]
    if middle := middle_of(bare):
        return middle
    if cents := _CENTS.fullmatch(bare):
        return f"{float(cents[1]) / 100:g}"
    if short := _THOUSANDS.fullmatch(bare):
        return f"{float(short[1]) * 1000:g}" if float(short[1]) < 1000 else bare
    return bare


_STATED = ((_METRES, 1.0), (_FEET, _FT2), (_SQUARES, _SQUARE), (_ACRES, 43_560 * _FT2))


def is_number(text: str) -> bool:
    """Tell whether a cell holds a number and no more than its signs.

    Examples
    --------
    >>> [is_number(text) for text in ("R-10", "$1,200", "5%", '2" polyiso', "several")]
    [True, True, True, False, False]
    """
    return len(text) <= LONGEST_NUMBER and bool(_A_NUMBER.fullmatch(text))


def area(text: str, unit_m2: float) -> str:
    """Return an area in the unit of its column, also where the cell names another.

    Two sides without a unit are in that of the column.

    Parameters
    ----------
    text : str
        The cell.
    unit_m2 : float
        The unit of the column [m²].

    Examples
    --------
    >>> [area(text, 0.3048**2) for text in ("1,000 m2", "9,000 sf +/-", "92 SQ", "50' x 90'")]
    ['10763.9', '9,000', '9200', '4500']
    >>> area("0.5 ac", 0.3048**2), area("50 x 90", 1.0)
    ('21780', '4500')
    """
    said = known(text)
    if sides := _SIDES.fullmatch(said):
        unit = _FT2 if sides[2] or sides[4] else unit_m2
        return f"{float(sides[1]) * float(sides[3]) * unit / unit_m2:.6g}"
    bare = number(said)
    stated = next((unit for form, unit in _STATED if form.search(said)), unit_m2)
    if abs(stated / unit_m2 - 1.0) < 1e-6:
        return bare
    if not _PLAIN.fullmatch(bare):  # a lone "1.200" may be twelve hundred
        return said
    return f"{float(bare.replace(',', '')) * stated / unit_m2:.6g}"


def price(text: str, unit_per_m2: float) -> str:
    """Return a price of an area in the unit of its column, also where the cell names another.

    Parameters
    ----------
    text : str
        The cell.
    unit_per_m2 : float
        The unit of the column [1/m²].

    Examples
    --------
    >>> [price(text, 1 / 0.3048**2) for text in ("$14.20/sf", "9 per sq. ft.", "100 $/m2", "12")]
    ['$14.20', '9', '9.2903', '12']
    """
    found = _PER_AREA.fullmatch(known(text))
    if not found:
        return number(text)
    bare, per_m2 = number(found[1]), 1.0 if found[3] else 1.0 / _FT2
    if abs(per_m2 / unit_per_m2 - 1.0) < 1e-6:
        return bare
    plain = bare.strip("$ ")
    return (
        f"{float(plain.replace(',', '')) * per_m2 / unit_per_m2:.6g}"
        if _PLAIN.fullmatch(plain)
        else text
    )


def years_until(text: str, year: int) -> str:
    """Return the years from one to that which a cell names, 0 where that is past or expired.

    Examples
    --------
    >>> [years_until(text, 2026) for text in ("6/30/2031", "48029", "2019", "expired", "?")]
    ['5', '5', '0', '0', '']
    """
    bare = known(text)
    if found := _years_named(bare):
        return str(max(0, int(found[-1]) - year))
    return "0" if re.match(r"expired|lapsed|over|none|no\b", bare, re.I) else ""


def age_of_year(text: str, year: int, built: bool = False) -> str:
    """Return the years since the one that a cell names, empty where it names none.

    A year with no other end, as "before 2000", a decade, or two digits that may be an age or a
    year is no age: it stays as it is, to be corrected.

    Parameters
    ----------
    text : str
        A year or a date, ``0`` or a word for unknown.
    year : int
        The year to count to.
    built : bool
        Whether it is the building's year: its roof is then assumed to be replaced every 20 years.

    Examples
    --------
    >>> [age_of_year(text, 2026) for text in ("May 2012", "05/01/12", "fall '12", "14 y.o.", "0")]
    ['14', '14', '14', '14', '']
    >>> age_of_year("1931", 2026, built=True), age_of_year("before 2000", 2026)
    ('15', 'before 2000')
    >>> [age_of_year(text, 2026) for text in ("1990's", "the 1990s", "'90s", "late 2012")]
    ["1990's", 'the 1990s', "'90s", '14']
    >>> [age_of_year(text, 2026) for text in ("94", "07", "11", "39600")]
    ['32', '19', "'11 or 11 years", '18']
    """
    bare = known(text)
    found = _years_named(bare)
    if _OPEN.match(bare) or _DECADE.search(bare):
        return bare
    if years := _YEARS_OLD.fullmatch(bare):
        return years[1]
    if _TWO_DIGITS.fullmatch(bare) and bare != "0" and not _A_YEAR.fullmatch(bare):
        return f"'{bare} or {bare} years"
    found = found or _of_two_digits(bare, year)
    if not found:
        return "" if re.fullmatch(r"0?", bare) else bare
    age = year - int(found[-1])
    if built:
        return str(age % COVERING_EVERY_Y if age > 0 else 0)
    return str(age) if 0 <= age <= MOST_AGE_Y else bare


def year_doubt(text: str) -> str:
    """Return why the year that a cell is read as should be looked at, empty where it need not.

    Examples
    --------
    >>> year_doubt("1995/2012"), year_doubt("05/06/07"), year_doubt("5/14/07")
    ('two years: the last one is taken', 'its last two digits are taken as the year', '')
    >>> year_doubt("39600")
    'read as the date 2008-06-01, which a spreadsheet stores as this number'
    """
    bare = known(text)
    if day := day_of(bare):
        return f"read as the date {day}, which a spreadsheet stores as this number"
    if len({*_YEAR.findall(bare)}) > 1:
        return "two years: the last one is taken"
    parts = re.split("[-/]", bare) if _SHORT_DATE.fullmatch(bare) else []
    doubtful = parts and len(parts[0]) == 2 and max(map(int, parts)) <= _MONTHS
    return "its last two digits are taken as the year" * bool(doubtful)


def _years_named(bare: str) -> list[str]:
    day = day_of(bare)
    return [str(day.year)] if day else _YEAR.findall(bare)


def _of_two_digits(bare: str, year: int) -> list[str]:
    """Return the year that a text names by its last two digits, which is not past another."""
    short = _SHORT_DATE.fullmatch(bare) or _FISCAL.fullmatch(bare)
    digits = short[1] if short else bare if _A_YEAR.fullmatch(bare) else ""
    return [str(2000 + int(digits) - 100 * (2000 + int(digits) > year))] if digits else []


def over(area: str, storeys: str) -> str:
    """Return a floor area over the storeys, the area itself where those are not known.

    Examples
    --------
    >>> over("30,000", "3"), over("30000", ""), over("30000", "-")
    ('10000', '30000', '30000')
    """
    try:
        floors = float(storeys)
        floor_area = float(area.replace(",", "").replace(" ", ""))
    except ValueError:
        return area.replace(",", "") if area else ""
    return f"{floor_area / floors:.6g}" if floors >= 1 else area

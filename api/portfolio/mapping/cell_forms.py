"""Cells as people type them, made into what the columns of a portfolio hold."""

from __future__ import annotations

import re

from api.portfolio.mapping.value_aliases import UNKNOWN

COVERING_EVERY_Y = 20  # years after which a roof is assumed to have been replaced
MOST_AGE_Y = 100
_YEAR = re.compile(r"(?<!\d)((?:18|19|20)\d\d)(?!\d)")
_SHORT_DATE = re.compile(r"\d{1,2}[-/]\d{1,2}[-/](\d\d)", re.ASCII)
_RANGE = re.compile(r"(\d[\d,.]*)\s*(?:-|–|to)\s*(\d[\d,.]*)", re.ASCII)
_ABOUT = re.compile(r"^(?:about|approx\.?|approximately|ca\.?|circa|est\.?|~|≈|±)\s*", re.I)
_UNIT = re.compile(
    r"(?<=[\d.])\s*(?:sq\.?\s*ft\.?|square feet|sqft|sf|ft2|ft²|s\.f\.|sq\.?\s*m\.?|sqm|m2|m²|"
    r"square met(?:re|er)s?|"
    r"years?|yrs?\.?|y\.?o\.?|yr\.? old|stories|story|storeys?|floors?|layers?|ea\.?|"
    r"ply|plies)(?:\s*(?:old|\(e\)|est\.?))?$",
    re.I,
)
_ROUGHLY = r"(?:\s*(?:\(e\)|est\.?))?$"
_METRES = re.compile(rf"(?:sq\.?\s*m\.?|sqm|m2|m²|square met(?:re|er)s?){_ROUGHLY}", re.I)
_FEET = re.compile(rf"(?:sq\.?\s*ft\.?|square feet|sqft|sf|ft2|ft²|s\.f\.){_ROUGHLY}", re.I)
_FT2 = 0.3048**2  # the international foot, exactly
_PLAIN = re.compile(r"(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.(?!\d{3}$)\d+)?", re.ASCII)
_SPELLED = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}
_A_NUMBER = re.compile(r"[^\w.,]*(?:R\s?-?\s?)?[\d.,'\s]*\d[\d.,'\s]*(?:e[+-]?\d+)?\W*", re.I)
# Of columns that count something, "none" is 0 and not unknown.
NONE_IS_ZERO = frozenset(
    {"insulation", "leaks", "wet_fraction", "rooftop_units", "repairs", "warranty_left"}
)
_THOUSANDS = re.compile(r"(\d+(?:\.\d+)?)\s*k", re.I)


def known(text: str) -> str:
    """Return a cell without blanks around it, empty where it says unknown.

    Examples
    --------
    >>> [known(text) for text in (" N/A ", "unknown", " EPDM ")]
    ['', '', 'EPDM']
    """
    bare = " ".join(text.split())
    return "" if bare.casefold() in UNKNOWN else bare


def number(text: str) -> str:
    """Return a number without the words around it, the middle of a range of two.

    Examples
    --------
    >>> [number(text) for text in ("~20,000 SF", "12 yrs", "10-15", "25k", "about 3", "2 stories")]
    ['20,000', '12', '12.5', '25000', '3', '2']
    """
    bare = _UNIT.sub("", _ABOUT.sub("", known(text))).strip()
    if bare.casefold() in _SPELLED:
        return _SPELLED[bare.casefold()]
    if pair := _RANGE.fullmatch(bare):
        low, high = (float(one.replace(",", "")) for one in pair.groups())
        return f"{(low + high) / 2:g}" if low < high else bare
    if short := _THOUSANDS.fullmatch(bare):
        return f"{float(short[1]) * 1000:g}" if float(short[1]) < 1000 else bare
    return bare


def is_number(text: str) -> bool:
    """Tell whether a cell holds a number and no more than its signs.

    Examples
    --------
    >>> [is_number(text) for text in ("R-10", "$1,200", "5%", '2" polyiso', "several")]
    [True, True, True, False, False]
    """
    return bool(_A_NUMBER.fullmatch(text))


def area(text: str, unit_m2: float) -> str:
    """Return an area in the unit of its column, also where the cell names another.

    Parameters
    ----------
    text : str
        The cell.
    unit_m2 : float
        The unit of the column [m²].

    Examples
    --------
    >>> [area(text, 0.3048**2) for text in ("1,000 m2", "9,000 sq ft", "9000")]
    ['10763.9', '9,000', '9000']
    """
    bare = number(text)
    said = known(text)
    stated = 1.0 if _METRES.search(said) else _FT2 if _FEET.search(said) else unit_m2
    if abs(stated / unit_m2 - 1.0) < 1e-6:
        return bare
    if not _PLAIN.fullmatch(bare):  # a lone "1.200" may be twelve hundred
        return said
    return f"{float(bare.replace(',', '')) * stated / unit_m2:.6g}"


def years_until(text: str, year: int) -> str:
    """Return the years from one to that which a cell names, 0 where that is past or expired.

    Examples
    --------
    >>> [years_until(text, 2026) for text in ("6/30/2031", "2019", "expired", "?")]
    ['5', '0', '0', '']
    """
    bare = known(text)
    if found := _YEAR.findall(bare):
        return str(max(0, int(found[-1]) - year))
    return "0" if re.match(r"expired|lapsed|over|none|no\b", bare, re.I) else ""


def age_of_year(text: str, year: int, built: bool = False) -> str:
    """Return the years since the one that a cell names, empty where it names none.

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
    >>> [age_of_year(text, 2026) for text in ("2012", "5/1/2012", "May 2012", "05/01/12", "0")]
    ['14', '14', '14', '14', '']
    >>> age_of_year("1931", 2026, built=True)
    '15'
    """
    bare = known(text)
    found = _YEAR.findall(bare)
    if not found and (short := _SHORT_DATE.fullmatch(bare)):
        found = [
            str(2000 + int(short[1]) if 2000 + int(short[1]) <= year else 1900 + int(short[1]))
        ]
    if not found:
        return "" if re.fullmatch(r"0?", bare) else bare
    age = year - int(found[-1])
    if built:
        return str(age % COVERING_EVERY_Y if age > 0 else 0)
    if not 0 <= age <= MOST_AGE_Y:
        return bare
    return str(age)


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

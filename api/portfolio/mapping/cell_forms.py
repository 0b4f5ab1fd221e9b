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
    r"years?|yrs?\.?|y\.?o\.?|yr\.? old|stories|story|storeys?|floors?|layers?|ea\.?|"
    r"inches|ply|plies)(?:\s*(?:old|\(e\)|est\.?))?$",
    re.I,
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
    if pair := _RANGE.fullmatch(bare):
        low, high = (float(one.replace(",", "")) for one in pair.groups())
        return f"{(low + high) / 2:g}" if low < high else bare
    if short := _THOUSANDS.fullmatch(bare):
        return f"{float(short[1]) * 1000:g}" if float(short[1]) < 1000 else bare
    return bare


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

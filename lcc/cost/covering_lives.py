"""How long coverings last, by who says so: surveys of stock, warranties sold, owners' guides.

Two kinds of figures stand side by side. Observed lives are those of roofs of the 1970s to 1990s;
lives claimed today are for today's sheets with maintenance, and a warranty is what makers sell.
"""

from dataclasses import dataclass
from statistics import mean, median
from typing import Any

from lcc import tables

METAL = "standing-seam"
ANY = "any"  # family of a source that speaks of all membranes together


@dataclass(frozen=True)
class LifeRange:
    """Low, likely and high service life of a family of coverings [years]."""

    low_y: float
    likely_y: float
    high_y: float

    @property
    def source(self) -> str:
        """What the range says, in words."""
        return (
            f"lives table: {self.low_y:g} to {self.high_y:g} years by who is asked, "
            f"{self.likely_y:g} central among observed lives, warranties and guides"
        )


def sources(family: str) -> list[dict[str, Any]]:
    """Return the rows of the lives table that speak of a family of coverings."""
    named = {family} if family == METAL else {family, ANY}
    return [row for row in tables.rows("life_sources").values() if row["family"] in named]


def life_range(family: str) -> LifeRange:
    """Return the range of lives of a family of coverings, from the sources of the lives table.

    Parameters
    ----------
    family : str
        ``life_family`` of the coverings table, or "standing-seam".

    Notes
    -----
    Each source counts with the middle of what it says. Low and high are the lowest and highest
    source. Likely is the median over the kinds of source (observed, warranty, claimed, study),
    each with the mean of its sources, so that many pages of one kind weigh no more than one.

    Examples
    --------
    EPDM: observed 14 and 17.6, warranty 20, claimed 28.5 and 27.5: the median of 15.8, 20, 28.

    >>> life_range("epdm")
    LifeRange(low_y=14.0, likely_y=20.0, high_y=28.5)
    """
    kinds: dict[str, list[float]] = {}
    for row in sources(family):
        middle = (float(row["low_y"]) + float(row["high_y"])) / 2
        kinds.setdefault(str(row["kind"]), []).append(middle)
    every = [middle for kind in kinds.values() for middle in kind]
    return LifeRange(min(every), median(map(mean, kinds.values())), max(every))


def around(family: str, current_y: float) -> LifeRange:
    """Return the range about a life entered, as wide as that of the table in proportion.

    Examples
    --------
    >>> found = around("epdm", 25.0)
    >>> found.low_y, found.high_y
    (17.5, 35.625)
    """
    found = life_range(family)
    part = current_y / found.likely_y
    return LifeRange(found.low_y * part, current_y, found.high_y * part)

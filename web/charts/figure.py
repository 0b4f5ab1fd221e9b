"""A figure: a chart's specification, its data, a one-sentence reading and the same in a table."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from web import format as fmt
from web.charts import placing
from web.charts.palette import TODAY

LETTERS = 22  # of a name on a line of a chart

Reply = Mapping[str, Any]
Row = dict[str, Any]
Data = dict[str, list[Row]]


@dataclass(frozen=True)
class Table:
    """Figures as text: the first cell of each row heads it."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Series:
    """One line or mark of a figure: its place in the palette, its name and its closing figure."""

    id: str
    name: str
    shown: str = ""


@dataclass(frozen=True)
class Figure:
    """Everything a page needs to show one chart in words, picture and table."""

    key: str
    title: str
    reading: str
    spec: dict[str, Any]
    data: Data
    table: Table
    series: tuple[Series, ...] = ()
    wide: bool = False

    @property
    def width(self) -> int:
        """Width of the server-made picture [px]."""
        return 820 if self.wide else 420


def series_of(reply: Reply) -> tuple[Series, ...]:
    """Return one series for each alternative, the base case first."""
    return tuple(
        Series(f"s{index}", alternative["name"])
        for index, alternative in enumerate(reply["alternatives"])
    )


def subject(reply: Reply) -> int:
    """Return the place of the alternative that the answer speaks of: the cheapest.

    Examples
    --------
    >>> subject({"alternatives": [{"life_cycle_cost": cost} for cost in (5.0, 9.0, 7.0)]})
    2
    """
    costs = [alternative["life_cycle_cost"] for alternative in reply["alternatives"]]
    return 1 + min(range(len(costs) - 1), key=lambda place: costs[place + 1])


def against_base(reply: Reply) -> tuple[Reply, Reply]:
    """Return the base case and the alternative that the answer speaks of."""
    return reply["alternatives"][0], reply["alternatives"][subject(reply)]


def who(reply: Reply) -> str:
    """Return the few words by which a chart calls the alternative that the answer speaks of."""
    kinds, own = [one["kind"] for one in reply["alternatives"]], against_base(reply)[1]
    if kinds.count("metal-retrofit") == 1 and own["kind"] == "metal-retrofit":
        return "metal roof"
    return placing.wrapped(own["name"], LETTERS, 1)[0]


def paid_back(reply: Reply) -> str:
    """Return what the payback's year is called on card and chart.

    Where the roof's worth at the end alone makes it, nothing is paid back in cash.
    """
    base, other = against_base(reply)
    payback = other["payback"]
    if payback["by_worth"]:
        return "Ahead by its worth"
    dearer = other["cumulative_present_value"][0] > base["cumulative_present_value"][0]
    if dearer or not payback["year"]:
        return "Paid back"
    return "Ahead for good" if payback["clear_from"] == payback["year"] else "Ahead"


def before_tax(reply: Reply) -> str:
    """Return what is said of sums that leave out an income tax that is entered."""
    return ", before tax" * any(one["after_tax"] is not None for one in reply["alternatives"])


def clearly(reply: Reply) -> str:
    """Return what a lead of more than 2 % is called, as in the payback's sentence."""
    close = reply["answer"]["state"] == "too-close"
    return "ahead by more than 2%" if close else "clearly ahead"


def pivot(
    rows: Iterable[Row], across: Sequence[Series], by: str, head: str, value: str = "shown"
) -> Table:
    """Return a table with one row for each value of `by` and one column for each series.

    Examples
    --------
    >>> rows = [{"year": 0, "series": "s0", "shown": "$1"}, {"year": 0, "series": "s1"}]
    >>> pivot(rows, (Series("s0", "Old"), Series("s1", "New")), "year", "Year").rows
    (('0', '$1', '\u2013'),)
    """
    cells: dict[Any, dict[str, str]] = {}
    for row in rows:
        cells.setdefault(row[by], {})[row["series"]] = row.get(value, fmt.NOTHING)
    return Table(
        (head, *(series.name for series in across)),
        tuple(
            (str(first), *(line.get(series.id, fmt.NOTHING) for series in across))
            for first, line in cells.items()
        ),
    )


def typical(alternative: Reply) -> Reply:
    """Return the energy year of the state of the roof that is in force the longest."""
    longest: Reply = max(alternative["energy"], key=lambda year: len(year["years"]))
    return longest


def states(reply: Reply) -> list[tuple[Series, Reply]]:
    """Return a series and an energy year for each alternative, and for the roof of today.

    The roof of today is left out where it stays as it is under the base case.
    """
    named = [
        (one, typical(alternative))
        for one, alternative in zip(series_of(reply), reply["alternatives"], strict=True)
    ]
    now = today(reply)
    if now is not None and now is not named[0][1]:
        named.insert(0, (Series(TODAY, "Roof as it is today"), now))
    return named


def today(reply: Reply) -> Reply | None:
    """Return the energy year of the roof of today, None where it is renewed at once."""
    base = reply["alternatives"][0]
    now: Reply = base["energy"][0]
    return None if any(one["year"] == 0 for one in base["events"]) else now

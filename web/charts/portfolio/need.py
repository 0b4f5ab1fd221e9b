"""Where the need is: years until the roof must be replaced against the heat that comes through."""

from functools import lru_cache
from statistics import median
from typing import Any

import altair as alt

from web import format as fmt
from web.charts import palette, style
from web.charts.figure import Figure, Series, Table
from web.charts.portfolio.roofs import MOST_MARKS, Roofs, Row

SOON_YEARS = 5
SOON, LATER = "s0", "s2"
NAMES = {SOON: f"Due within {SOON_YEARS} years", LATER: "Due later"}


def figure(roofs: Roofs) -> Figure:
    """Return each building by how soon its roof is due and how much heat it lets in."""
    heat, area = roofs.unit("energy_per_area"), roofs.unit("area")
    rows = [_row(row, heat, area) for row in roofs.best if row["base_work_year"] is not None]
    kept = sorted(rows, key=lambda row: (row["due"], -row["heat"]))[:MOST_MARKS]
    present = {row["series"] for row in kept}
    return Figure(
        key="need",
        title="Years until the roof is due, and heat through it; a larger mark is a larger roof",
        reading=reading(rows, heat),
        spec=_spec(heat, area),
        data={"need": kept},
        table=Table(
            ("Roof", "Due in year", f"Heat inward a year, {heat}", f"Roof area, {area}"),
            tuple((row["name"], str(row["due"]), row["told"], row["size"]) for row in kept[:100]),
        ),
        series=tuple(Series(one, name) for one, name in NAMES.items() if one in present),
        wide=True,
    )


def _row(row: Row, heat: str, area: str) -> Row:
    due = int(row["base_work_year"])
    told = fmt.shown(row["roof_heat_gain"], "energy_per_area")
    size = fmt.shown(row["roof_area"], "area")
    return {
        "name": row["name"], "due": due, "heat": row["roof_heat_gain"], "area": row["roof_area"],
        "told": told, "size": size, "heat_text": f"{told} {heat}", "area_text": f"{size} {area}",
        "series": SOON if due <= SOON_YEARS else LATER,
    }  # fmt: skip


def reading(rows: list[Row], unit: str) -> str:
    """Return the chart in one sentence."""
    if not rows:
        return "No base case replaces its roof within its study period."
    soon = [row for row in rows if row["series"] == SOON]
    middle = median(row["heat"] for row in rows)
    hot = sum(row["heat"] > middle for row in soon)
    return (
        f"{len(soon)} of {len(rows)} roofs are due within {SOON_YEARS} years; {hot} of them let in "
        f"more heat than the middle roof’s {fmt.shown(middle, 'energy_per_area')} {unit} a year."
    )


@lru_cache(maxsize=4)
def _spec(heat: str, area: str) -> dict[str, Any]:
    ids = tuple(NAMES)
    marks = (
        alt.Chart(alt.NamedData("need"))
        .mark_point(opacity=0.75, strokeWidth=1, stroke=palette.PAPER)
        .encode(
            x=alt.X("due:Q", title="Year in which the base case replaces the roof",
                    axis=alt.Axis(format="d", tickMinStep=1)),
            y=alt.Y("heat:Q", title=f"Heat inward a year, {heat}", axis=style.count_axis()),
            size=alt.Size("area:Q", legend=None, scale=alt.Scale(range=[30, 420])),
            color=style.color(ids),
            shape=style.shape(ids),
            tooltip=style.tips(name="Roof", due="Due in year", heat_text="Heat inward",
                               area_text="Roof area"),
        )
    )  # fmt: skip
    return style.dressed(alt.layer(marks), 260)

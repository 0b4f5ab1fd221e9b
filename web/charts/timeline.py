"""When something is done to the roof, and what each piece of work costs."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from web import format as fmt
from web.charts import style
from web.charts.figure import Data, Figure, Reply, Row, Series, Table, against_base, series_of
from web.charts.jobs import jobs

LANE = 84  # px


def figure(reply: Reply) -> Figure:
    """Return the programme of work of every alternative on one time axis."""
    series = series_of(reply)
    rows = _rows(reply, series)
    return Figure(
        key="timeline",
        title="Programme of work",
        reading=reading(reply),
        spec=_spec(tuple(one.id for one in series)),
        data=_data(rows, series, len(reply["alternatives"][0]["cash_flow"]) - 1),
        table=Table(
            ("Year", "Alternative", "Work", "Why", "Cost then, today’s prices"),
            tuple(
                (str(row["year"]), row["name"], row["what"], row["why"], row["shown"])
                for row in rows
            ),
        ),
        wide=True,
    )


def reading(reply: Reply) -> str:
    """Return how often the roof is worked on under the base case and the cheapest alternative."""
    base, other = against_base(reply)
    years = len(base["cash_flow"]) - 1
    return (
        f"In {years} years “{base['name']}” means {_pieces(base)}; "
        f"“{other['name']}” means {_pieces(other)}, in today’s prices."
    )


def _pieces(alternative: Reply) -> str:
    done = list(jobs(alternative))
    if not done:
        return "no work beyond repairs"
    total = fmt.shown(sum(job.cost for job in done), "money")
    return f"{len(done)} piece{'s' * (len(done) > 1)} of work for {total}"


def _rows(reply: Reply, series: Sequence[Series]) -> list[Row]:
    rows = [
        {
            "year": job.year,
            "series": one.id,
            "name": one.name,
            "what": job.what,
            "why": job.why,
            "cost": fmt.rounded(job.cost, "money"),
            "shown": fmt.shown(job.cost, "money"),
        }
        for one, alternative in zip(series, reply["alternatives"], strict=True)
        for job in jobs(alternative)
    ]
    return sorted(rows, key=lambda row: (row["year"], row["series"]))


def _data(rows: list[Row], series: Sequence[Series], last: int) -> Data:
    largest = max((row["cost"] for row in rows), default=0.0)
    return {
        "timeline": [{**row, "told": row["cost"] > largest / 6} for row in rows],
        "timeline_lanes": [
            {"series": one.id, "name": one.name, "first": 0, "last": last} for one in series
        ],
    }


@lru_cache(maxsize=16)
def _spec(ids: tuple[str, ...]) -> dict[str, Any]:
    lane = alt.Y("series:N", sort=list(ids), axis=None, scale=alt.Scale(domain=list(ids)))
    lanes = alt.Chart(alt.NamedData("timeline_lanes")).encode(y=lane)
    line = lanes.mark_rule(color=style.GRID, strokeWidth=3).encode(
        x=alt.X("first:Q", title="Years from today", axis=alt.Axis(tickMinStep=1, format="d")),
        x2="last:Q",
    )
    name = lanes.mark_text(align="left", dy=-31, fontWeight=600, fontSize=12, limit=360).encode(
        x=alt.value(0), text="name:N"
    )
    events = alt.Chart(alt.NamedData("timeline")).encode(x="year:Q", y=lane)
    told = events.transform_filter("datum.told").mark_text(dy=27, color=style.MUTED)
    return style.dressed(
        alt.layer(line, name, _marks(events, ids), told.encode(text="shown:N")), LANE * len(ids)
    )


def _marks(events: alt.Chart, ids: Sequence[str]) -> Any:
    return events.mark_point(stroke=style.PAPER, strokeWidth=1.5).encode(
        color=style.color(ids),
        shape=style.shape(ids),
        size=alt.Size("cost:Q", legend=None, scale=alt.Scale(range=[40, 700], zero=True)),
        tooltip=[
            alt.Tooltip("year:Q", title="Year"),
            alt.Tooltip("what:N", title="Work"),
            alt.Tooltip("why:N", title="Why"),
            alt.Tooltip("shown:N", title="Cost"),
        ],
    )

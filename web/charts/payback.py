"""What each alternative has cost so far, in present value: the payback chart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from web import format as fmt
from web.charts import style
from web.charts.figure import (
    Data,
    Figure,
    Reply,
    Row,
    Series,
    against_base,
    pivot,
    series_of,
    subject,
)
from web.charts.jobs import jobs


def figure(reply: Reply) -> Figure:
    """Return the cumulative present value of every alternative by year, as steps."""
    series = tuple(
        Series(one.id, one.name, fmt.shown(alternative["cumulative_present_value"][-1], "money"))
        for one, alternative in zip(series_of(reply), reply["alternatives"], strict=True)
    )
    data = _data(reply, series)
    return Figure(
        key="payback",
        title="Spent so far, in today’s money",
        reading=reading(reply),
        spec=_spec(tuple(one.id for one in series)),
        data=data,
        table=pivot(data["payback"], series, "year", "Year"),
        series=series,
        wide=True,
    )


def crossing(base: Sequence[float], other: Sequence[float]) -> int | None:
    """Return the first year from which `other` has cost no more than `base`, to the end.

    Examples
    --------
    >>> crossing([0, 2, 4, 9], [3, 4, 4, 5]), crossing([0, 1], [3, 3]), crossing([5, 6], [1, 2])
    (2, None, 0)
    """
    dearer = [year for year, (b, o) in enumerate(zip(base, other, strict=True)) if o > b]
    first = dearer[-1] + 1 if dearer else 0
    return first if first < len(base) else None


def reading(reply: Reply) -> str:
    """Return the chart in one sentence: the cheapest alternative against the base case."""
    base, other = against_base(reply)
    costs = base["cumulative_present_value"], other["cumulative_present_value"]
    years = len(costs[0]) - 1
    amount = fmt.shown(abs(costs[0][-1] - costs[1][-1]), "money")
    start = fmt.shown(costs[1][0] - costs[0][0], "money")
    year = crossing(*costs)
    if year is None:
        return (
            f"“{other['name']}” does not catch up with “{base['name']}”: after {years} years "
            f"it has cost {amount} more."
        )
    if year == 0:
        return f"“{other['name']}” costs less from day one, and {amount} less by year {years}."
    return (
        f"“{other['name']}” starts {start} dearer, has cost "
        f"less than “{base['name']}” for good from year {year}, and {amount} less by year {years}."
    )


def _data(reply: Reply, series: Sequence[Series]) -> Data:
    costs = {
        one.id: [fmt.rounded(cost, "money") for cost in alternative["cumulative_present_value"]]
        for one, alternative in zip(series, reply["alternatives"], strict=True)
    }
    return {
        "payback": [
            {"year": year, "series": key, "cost": cost, "shown": fmt.shown(cost, "money")}
            for key, line in costs.items()
            for year, cost in enumerate(line)
        ],
        "payback_events": list(_events(reply, series, costs)),
        "payback_crossings": list(_crossings(costs)),
        "payback_gap": list(_gap(costs["s0"], costs[f"s{subject(reply)}"])),
        "payback_years": [
            {"Year": year, **{name: shown[year] for name, shown in _told(series, costs).items()}}
            for year in range(len(costs["s0"]))
        ],
    }


def _told(series: Sequence[Series], costs: dict[str, list[float]]) -> dict[str, list[str]]:
    """Every line as text by its name; a name that is taken gets a number."""
    told: dict[str, list[str]] = {}
    for place, one in enumerate(series):
        name = f"{one.name} ({place})" if one.name in (*told, "Year") else one.name
        told[name] = [fmt.shown(cost, "money") for cost in costs[one.id]]
    return told


def _events(reply: Reply, series: Sequence[Series], costs: dict[str, list[float]]) -> Iterator[Row]:
    total = max(line[-1] for line in costs.values())
    for one, alternative in zip(series, reply["alternatives"], strict=True):
        for job in jobs(alternative):
            yield {
                "year": job.year,
                "series": one.id,
                "cost": costs[one.id][job.year],
                "what": job.what,
                "shown": fmt.shown(job.cost, "money"),
                "name": one.name,
                "told": one.id == "s0" and job.cost > total / 20 and job.year > 4,
            }


def _crossings(costs: dict[str, list[float]]) -> Iterator[Row]:
    last, slot = len(costs["s0"]) - 1, 0
    for key, line in list(costs.items())[1:]:
        year = crossing(costs["s0"], line)
        if year:
            yield {
                "year": year,
                "series": key,
                "cost": line[year],
                "text": f"ahead from year {year}",
                "late": year > last / 2,
                "slot": slot,
            }
            slot += 1


def _gap(base: Sequence[float], other: Sequence[float]) -> Iterator[Row]:
    """The area between base case and the cheapest alternative where that one is ahead."""
    run = 0
    for year, (high, low) in enumerate(zip(base, other, strict=True)):
        run += high <= low
        if high > low:
            yield {"year": year, "low": low, "high": high, "run": run}


@lru_cache(maxsize=64)
def _spec(ids: tuple[str, ...]) -> dict[str, Any]:
    year = alt.X("year:Q", title="Years from today", axis=alt.Axis(tickMinStep=1, format="d"))
    cost = alt.Y("cost:Q", title=None, axis=style.money_axis())
    gap = (
        alt.Chart(alt.NamedData("payback_gap"))
        .mark_area(interpolate="step-after", opacity=0.12, color=style.look("s1")[0])
        .encode(x=year, y=alt.Y("low:Q", title=None), y2="high:Q", detail="run:N")
    )
    lines = (
        alt.Chart(alt.NamedData("payback"))
        .mark_line(interpolate="step-after")
        .encode(x=year, y=cost, color=style.color(ids), strokeDash=style.dash(ids))
    )
    return style.dressed(
        alt.layer(gap, _cursor(), lines, *_crossing_marks(ids), _event_costs(), _event_marks(ids)),
        340,
    )


def _event_marks(ids: Sequence[str]) -> Any:
    return (
        alt.Chart(alt.NamedData("payback_events"))
        .mark_point(size=64, stroke=style.PAPER, strokeWidth=1.5)
        .encode(
            x="year:Q",
            y="cost:Q",
            color=style.color(ids),
            shape=style.shape(ids),
            tooltip=[
                alt.Tooltip("name:N", title="Alternative"),
                alt.Tooltip("year:Q", title="Year"),
                alt.Tooltip("what:N", title="Work"),
                alt.Tooltip("shown:N", title="Cost"),
            ],
        )
    )


def _crossing_marks(ids: Sequence[str]) -> list[Any]:
    """A ring where an alternative gets ahead for good, told at the foot of a rule."""
    base = alt.Chart(alt.NamedData("payback_crossings")).encode(x="year:Q")
    rule = base.mark_rule(strokeDash=[1, 3]).encode(y="cost:Q", y2=alt.datum(0))
    ring = base.mark_point(filled=False, size=190, strokeWidth=2, shape="circle").encode(
        y="cost:Q", color=style.color(ids)
    )
    return [rule, ring, *(_crossing_text(base, late) for late in (True, False))]


def _crossing_text(base: alt.Chart, late: bool) -> Any:
    return (
        base.transform_filter(f"datum.late == {str(late).lower()}")
        .transform_calculate(line="height - 14 - 18 * datum.slot")
        .mark_text(
            align="right" if late else "left", dx=-7 if late else 7, fontSize=12.5, fontWeight=600
        )
        .encode(text="text:N", y=alt.Y("line:Q", scale=None))
    )


def _event_costs() -> Any:
    return (
        alt.Chart(alt.NamedData("payback_events"))
        .transform_filter("datum.told")
        .mark_text(align="right", dx=-9, dy=-7, color=style.MUTED)
        .encode(x="year:Q", y="cost:Q", text="shown:N")
    )


def _cursor() -> Any:
    """A rule at the year nearest the pointer that tells every alternative's figure."""
    near = alt.selection_point(
        name="near",
        nearest=True,
        on="pointerover",
        fields=["Year"],
        empty=False,
        clear="pointerout",
    )
    # The tooltip tells the datum itself: a name never becomes part of an expression.
    return (
        alt.Chart(alt.NamedData("payback_years"))
        .mark_rule(strokeWidth=1, tooltip=alt.TooltipContent("data"))
        .encode(
            x="Year:Q",
            opacity=alt.condition(near, alt.value(0.55), alt.value(0)),
        )
        .add_params(near)
    )

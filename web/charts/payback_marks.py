"""The marks of the payback chart: the specification that draws the data of `payback`."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from web.charts import palette, style
from web.charts.payback import BAND, ENDS, HIGH, LANE, SIZE, WIDE

_FITS = "datum.low < width && width <= datum.high"


@lru_cache(maxsize=64)
def spec(ids: tuple[str, ...]) -> dict[str, Any]:
    """Return the specification for the named series `ids`, the base case first."""
    roomy = f"width > {WIDE + ENDS}"
    year = alt.X(
        "year:Q",
        title="years from today",
        axis=alt.Axis(
            tickMinStep=1, format="d", titlePadding=3, tickCount={"expr": "width < 430 ? 5 : 10"}
        ),
        scale=alt.Scale(nice=False, range=[0, {"expr": f"{roomy} ? width - {ENDS} : width"}]),
    )
    cost = alt.Y(
        "cost:Q",
        title="Spent so far, in today’s money",
        axis=style.money_axis(minExtent=52, **style.ON_TOP),  # of the widest common face
        scale=alt.Scale(nice=False, zero=False),
    )
    grey = _lines("payback_others").encode(x=year, y=cost, detail="series:N",
                                           color=alt.value("#b9c3cb"))  # fmt: skip
    lines = _lines("payback").encode(x=year, y=cost, color=style.color(ids),
                                     strokeDash=style.dash(ids))  # fmt: skip
    scale = alt.Chart(alt.NamedData("payback_scale")).mark_point(opacity=0).encode(x=year, y=cost)
    words = [
        _word_marks(ids, strong, side) for strong in (False, True) for side in ("left", "right")
    ]
    ends = [_end_marks(ids, roomy, strong) for strong in (False, True)]
    edges_and_words = (one for pair in words for one in pair)
    base = alt.Chart(alt.NamedData("payback_ahead")).encode(x="year:Q")
    rule = base.mark_rule(strokeDash=[1, 3]).encode(y="cost:Q", y2="foot:Q")
    ring = base.mark_point(filled=False, size=170, strokeWidth=2.5, shape="circle").encode(
        y="cost:Q", color=style.color(ids)
    )
    layers = [scale, *_band_marks(), _cursor(), _leaders(ids), grey, lines,
              rule, ring, _event_marks(ids), *edges_and_words, *ends]  # fmt: skip
    return style.dressed(alt.layer(*layers), HIGH)


def _lines(data: str) -> Any:
    return alt.Chart(alt.NamedData(data)).mark_line(interpolate="step-after")


def _band_marks() -> list[Any]:
    """The likely range along the foot of the chart, named in it or beside it."""
    base = alt.Chart(alt.NamedData("payback_band")).transform_filter(_FITS)
    bar = base.mark_bar(
        height=LANE - 4, yOffset=-LANE / 2, color="#0b6fb3", fillOpacity=0.17
    ).encode(x="first:Q", x2="last:Q", y="bottom:Q")
    words = [
        base.transform_filter(f"datum.align === '{side}'")
        .mark_text(align=side, dx=5 if side == "left" else -5, dy=-LANE / 2, fontSize=BAND,
                   color="#084566")
        .encode(x="at:Q", y="bottom:Q", text="text:N")
        for side in ("left", "right")
    ]  # fmt: skip
    return [bar, *words]


def _event_marks(ids: Sequence[str]) -> Any:
    return (
        alt.Chart(alt.NamedData("payback_events"))
        .mark_point(size=50, stroke=palette.PAPER, strokeWidth=1)
        .encode(
            x="year:Q",
            y="cost:Q",
            color=style.color(ids),
            shape=style.shape(ids),
            tooltip=style.tips(name="Alternative", year="Year", what="Work", shown="Cost"),
        )
    )


def _leaders(ids: Sequence[str]) -> Any:
    """A thin line from a step to words that found no room beside it."""
    return (
        alt.Chart(alt.NamedData("payback_words"))
        .transform_filter(f"{_FITS} && datum.far")
        .mark_rule(strokeWidth=1, strokeDash=[2, 2])
        .encode(x="year:Q", y=alt.Y("from:Q", scale=None), y2=alt.Y2("y:Q"), color=style.color(ids))
    )


def _word_marks(ids: Sequence[str], strong: bool, side: Any) -> list[Any]:
    """Words of one weight on one side of their points, on a pale edge."""
    base = (
        alt.Chart(alt.NamedData("payback_words"))
        .transform_filter(f"{_FITS} && datum.strong === {str(strong).lower()}"
                          f" && datum.align === '{side}'")
        .encode(x="year:Q", y=alt.Y("y:Q", scale=None), text="text:N")
    )  # fmt: skip
    look = {"align": side, "fontSize": SIZE, "dx": {"expr": "datum.dx"},
            "fontWeight": 600 if strong else 400}  # fmt: skip
    edge = base.mark_text(**look, stroke=palette.PAPER, strokeWidth=3, strokeJoin="round")
    return [edge, base.mark_text(**look).encode(color=style.color(ids))]


def _end_marks(ids: Sequence[str], roomy: str, strong: bool) -> Any:
    return (
        alt.Chart(alt.NamedData("payback_ends"))
        .transform_filter(f"({roomy}) && datum.strong === {str(strong).lower()}")
        .mark_text(align="left", dx=9, fontSize=12, fontWeight=600 if strong else 400)
        .encode(x="year:Q", y=alt.Y("y:Q", scale=None), text="text:N", color=style.color(ids))
    )


def _cursor() -> Any:
    """A rule at the year nearest the pointer that tells every alternative's figure."""
    near = alt.selection_point(name="near", nearest=True, on="pointerover", fields=["Year"],
                               empty=False, clear="pointerout")  # fmt: skip
    # The tooltip tells the datum itself: a name never becomes part of an expression.
    return (
        alt.Chart(alt.NamedData("payback_years"))
        .mark_rule(strokeWidth=1, tooltip=alt.TooltipContent("data"))
        .encode(x="Year:Q", opacity=alt.condition(near, alt.value(0.55), alt.value(0)))
        .add_params(near)
    )

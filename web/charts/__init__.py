"""The charts: each module turns figures of a reply into a chart, its reading and its table."""

from __future__ import annotations

from web.charts import categories, condensation, hot_day, monthly, payback, spread, swings, timeline
from web.charts.figure import Figure, Reply, Series, Table

__all__ = ["Figure", "Reply", "Series", "Table", "figures"]


def figures(reply: Reply) -> tuple[Figure, ...]:
    """Return every figure of a comparison's reply, in reading order."""
    return (
        payback.figure(reply),
        timeline.figure(reply),
        categories.figure(reply),
        *swings.figures(reply),
        *spread.figures(reply),
        *condensation.figures(reply),
        *monthly.figures(reply),
        *hot_day.figures(reply),
    )

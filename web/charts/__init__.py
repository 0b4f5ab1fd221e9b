"""The charts: each module turns figures of a reply into a chart, its reading and its table."""

from __future__ import annotations

from web.charts.figure import Figure, Reply, Series, Table

__all__ = ["Figure", "Reply", "Series", "Table", "figures"]


def figures(reply: Reply) -> tuple[Figure, ...]:
    """Return every figure of a comparison's reply, in reading order."""
    # Loaded here, since paper and command line read this package and need no altair.
    from web.charts import hot_day, payback, spread  # noqa: PLC0415

    return (payback.figure(reply), *spread.figures(reply), hot_day.figure(reply))

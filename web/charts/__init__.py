"""The charts: each module turns figures of a reply into a chart, its reading and its table."""

from collections.abc import Collection

from web.charts.figure import Figure, Reply, Series, Table

__all__ = ["Figure", "Reply", "Series", "Table", "figures"]


def figures(reply: Reply, seen: Collection[str] | None = None) -> tuple[Figure, ...]:
    """Return the figures of a comparison's reply in reading order.

    The payback chart is always among them, the others where their heading is seen.
    """
    # Loaded here, since paper and command line read this package and need no altair.
    from web.charts import hot_day, payback, spread  # noqa: PLC0415

    drawn = spread.figures(reply) if seen is None or "how-sure" in seen else ()
    flow = (hot_day.figure(reply),) if seen is None or "heat" in seen else ()
    return (payback.figure(reply), *drawn, *flow)

"""Charts of many roofs: each module turns results into a chart, its reading and its table."""

from web.charts.figure import Figure
from web.charts.portfolio import curve, need, ranked, worth
from web.charts.portfolio.roofs import Roofs

__all__ = ["Roofs", "figures"]


def figures(roofs: Roofs) -> tuple[Figure, ...]:
    """Return every figure of a portfolio that has at least one result, in reading order."""
    if not roofs.rows:
        return ()
    return (ranked.figure(roofs), curve.figure(roofs), worth.figure(roofs), need.figure(roofs))

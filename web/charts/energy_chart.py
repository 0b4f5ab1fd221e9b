"""Which year of energy stands for an alternative in a chart, and the roof as it is today."""

from __future__ import annotations

from collections.abc import Sequence

from web.charts.figure import Reply, Series, series_of
from web.charts.palette import TODAY


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
    today = reply["alternatives"][0]["energy"][0]
    if today is not named[0][1]:
        named.insert(0, (Series(TODAY, "Roof as it is today"), today))
    return named


def ids_of(named: Sequence[tuple[Series, Reply]]) -> tuple[str, ...]:
    """Return the palette places of a list of states."""
    return tuple(one.id for one, _ in named)

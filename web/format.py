"""Figures as text: the core's one rounding rule for what is shown, and plain numbers to enter."""

from __future__ import annotations

from lcc.figures import MINUS, NOTHING, chance, rounded, shown

__all__ = ["MINUS", "NOTHING", "chance", "entry", "rounded", "shown"]


def entry(value: float) -> str:
    """Return a number for an entry field: plain, seven digits, so that units go there and back.

    Examples
    --------
    >>> entry(24000.0), entry(2229.67296), entry(0.03), entry(-0.0)
    ('24000', '2229.673', '0.03', '0')
    """
    text = f"{value + 0.0:.7g}"
    if "e" in text:
        text = f"{float(text):.12f}".rstrip("0").rstrip(".")
    return text

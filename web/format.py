"""Figures as text: the core's one rounding rule for what is shown, and plain numbers to enter."""

from __future__ import annotations

from lcc.figures import MINUS, NOTHING, chance, rounded, said, shown

__all__ = ["MINUS", "NOTHING", "brief", "chance", "entry", "rounded", "said", "shown"]


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


def brief(value: float) -> str:
    """Return an amount for a small place, in thousands or millions.

    Examples
    --------
    >>> brief(824605.0), brief(1234567.0), brief(-27000.0), brief(640.0), brief(99960000.0)
    ('$825k', '$1.23M', '\u2212$27k', '$640', '$100M')
    """
    size = abs(float(f"{value:.3g}"))
    for unit, letter in ((1e9, "bn"), (1e6, "M"), (1e3, "k")):
        if size >= unit:
            return f"{MINUS if value < 0 else ''}${size / unit:.3g}{letter}"
    return shown(round(value), "money")

"""Outlines of the chart markers, for the samples that stand beside a series' name."""

from __future__ import annotations

_PATHS = {
    "circle": "M4 0A4 4 0 1 1-4 0A4 4 0 1 1 4 0Z",
    "square": "M-3.5-3.5H3.5V3.5H-3.5Z",
    "triangle-up": "M0-4.3 4.3 3.4H-4.3Z",
    "triangle-down": "M0 4.3-4.3-3.4H4.3Z",
    "triangle-right": "M4.3 0-3.4 4.3V-4.3Z",
    "diamond": "M0-5 4 0 0 5-4 0Z",
    "cross": "M-1.5-4.5h3v3h3v3h-3v3h-3v-3h-3v-3h3Z",
}


def marker_path(marker: str) -> str:
    """Return the outline of a marker around its centre, as SVG path data."""
    return _PATHS[marker]

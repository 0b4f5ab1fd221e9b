"""Colours, dashes and markers of the series, on page and paper alike."""

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


INK, MUTED, GRID, PAPER = "#14212b", "#51606c", "#e4e9ed", "#ffffff"

# Okabe and Ito's colour-blind-safe set (2008), only those with 3:1 on white, yellow-greens left
# out; orange and green are darkened, so that words in their colours can be read. Each also has a
# dash and a marker, so that colour is never alone.
TODAY = "today"
_LOOKS: dict[str, tuple[str, list[int], str]] = {
    "s0": ("#b94a00", [1, 0], "square"),
    "s1": ("#0072b2", [1, 0], "circle"),
    "s2": ("#007f5f", [2, 2], "triangle-up"),
    "s3": ("#a3488a", [9, 3, 2, 3], "diamond"),
    "s4": ("#14212b", [4, 2], "triangle-down"),
    "s5": ("#6b5b00", [12, 4], "cross"),
    TODAY: ("#6b7883", [5, 2, 1, 2], "triangle-down"),
}


def look(series_id: str) -> tuple[str, list[int], str]:
    """Return colour, dash and marker of a series.

    After six the alternatives take colours again, with a dash of another; none looks like the
    base case, s0.
    """
    if series_id in _LOOKS:
        return _LOOKS[series_id]
    again = int(series_id[1:]) - 1
    colour, _, marker = _LOOKS[f"s{1 + again % 5}"]
    _, dash, _ = _LOOKS[f"s{1 + (again + again // 5) % 5}"]
    return colour, dash, marker

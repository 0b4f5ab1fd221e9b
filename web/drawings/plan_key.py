"""How lines and areas of the framing plan look, and the key that names them."""

from collections.abc import Sequence

import numpy as np

from lcc.quantities.cut_list import cross_places
from lcc.quantities.roof_frame import RoofFrame
from web.drawings.framing_section import cut_parts
from web.drawings.sheet import BLUE, GREEN, INK, MARGIN, MUTED, ORANGE, ROW, WIDE, DrawingSheet

KEY_WIDE = 4  # entries of the key in a row
# How an edge is drawn, by its role: the part's class, and its look.
EDGES = {
    "eave": ("eave", {"stroke": BLUE, "stroke_width": "4.5"}),
    "eave-above": ("eave", {"stroke": BLUE, "stroke_width": "4.5"}),
    "rake": ("rake", {"stroke": INK, "stroke_width": "1.2"}),
    "high-edge": ("rake", {"stroke": INK, "stroke_width": "1.2"}),
    "step": ("step", {"stroke": INK, "stroke_width": "3"}),
    "wall-gutter": ("valley", {"stroke": BLUE, "stroke_width": "4.5", "stroke_dasharray": "3 3"}),
    "inner-gutter": ("valley", {"stroke": BLUE, "stroke_width": "4.5", "stroke_dasharray": "3 3"}),
    "valley": ("valley", {"stroke": BLUE, "stroke_width": "3", "stroke_dasharray": "3 3"}),
    "hip": ("hip", {"stroke": BLUE, "stroke_width": "2", "stroke_dasharray": "12 4"}),
    "ridge": ("ridge", {"stroke": BLUE, "stroke_width": "2", "stroke_dasharray": "12 4"}),
    "break": ("break", {"stroke": MUTED, "stroke_width": "1.2"}),
}
BEARING = {"stroke": GREEN, "stroke_width": "0.8", "stroke_dasharray": "1 3"}
POST = {"stroke": INK, "stroke_width": "2.4", "stroke_linecap": "round"}
BRACE = {"stroke": ORANGE, "stroke_width": "1.8", "stroke_dasharray": "6 3"}
CUT = {"stroke": INK, "stroke_width": "0.9", "stroke_dasharray": "10 3 2 3"}
VENTILATOR = {"stroke": GREEN, "stroke_width": "7"}
CROSS = {"stroke": MUTED, "stroke_width": "1.6"}
DRAIN = {"stroke": BLUE, "stroke_width": "8", "stroke_linecap": "round"}
DRAIN_RING = {**DRAIN, "stroke": "#fff", "stroke_width": "12"}
DOWNSPOUT = {"stroke": BLUE, "stroke_width": "5"}
LOW_PARAPET = {"stroke": INK, "stroke_width": "0.8"}
PARAPET = {"stroke": INK, "stroke_width": "4", "stroke_dasharray": "2 2"}
# How the zones of wind that pull most are shaded.
SHADES = {
    "edge": {"fill": ORANGE, "fill_opacity": "0.15", "stroke": "none"},
    "corner": {"fill": ORANGE, "fill_opacity": "0.35", "stroke": "none"},
}


def parapets(roof: RoofFrame) -> list[int]:
    """Return the places of the free edges that have a parapet."""
    edges = roof.edges
    return np.flatnonzero((edges.lower < 0) & (edges.parapet_m > 0)).tolist()


def key_of(roof: RoofFrame) -> list[tuple[str, dict[str, str]]]:
    """Return the names and looks of the lines and areas that the plan has."""
    cuts = "sections A, B" if len(cut_parts(roof.framing)) > 1 else "section A"
    walls, framing, roles = parapets(roof), roof.framing, {*roof.edges.role.tolist()}
    key: list[tuple[str, dict[str, str], bool]] = [
        ("eave", EDGES["eave"][1], True),
        ("rake, high edge", EDGES["rake"][1], not roles.isdisjoint(("rake", "high-edge"))),
        ("ridge, hip", EDGES["ridge"][1], not roles.isdisjoint(("ridge", "hip"))),
        ("valley, gutter", EDGES["valley"][1],
         not roles.isdisjoint(("valley", "wall-gutter", "inner-gutter"))),
        ("step, wall", EDGES["step"][1], "step" in roles),
        ("bracing", BRACE, framing.bracing),
        ("ventilators", {**VENTILATOR, "stroke_dasharray": "7 5"}, True),
        ("posts", {**POST, "stroke_dasharray": "0 6"}, True),
        (cuts, CUT, True),
        ("joists, beams", BEARING, any(one.bearing_spacing_m for one in framing.rectangles)),
        ("cross member", CROSS, any(True for fall in roof.falls for _ in cross_places(fall))),
        ("parapet", LOW_PARAPET, bool(walls)),
        ("flashed parapet", PARAPET, bool(roof.edges.behind_parapet[walls].any())),
        ("downspouts", {"stroke": BLUE, "stroke_width": "9", "stroke_dasharray": "5 5"},
         framing.other_work.rain_hour_m is not None),
        ("old drains", {**DRAIN, "stroke_dasharray": "0 12"}, bool(framing.drains)),
        ("wind: edge", SHADES["edge"], roof.zones is not None),
        ("wind: corner", SHADES["corner"], roof.zones is not None),
    ]  # fmt: skip
    return [(name, look) for name, look, there in key if there]


def draw_key(
    sheet: DrawingSheet, notes: Sequence[str], key: Sequence[tuple[str, dict[str, str]]],
    across: int = KEY_WIDE, wide: float = WIDE - MARGIN,
) -> None:  # fmt: skip
    """Write the notes at the foot of a plan, a row each, and every entry of its key below them."""
    rows = -(-len(key) // across)
    for row, note in enumerate(notes):
        sheet.words(MARGIN / 2, ROW * (rows + len(notes) - row), note, "start")
    for k, (name, look) in enumerate(key):
        x = MARGIN / 2 + k % across * wide / across
        y = 12 + ROW * (rows - 1 - k // across)
        corners = [(x, y), (x + 24, y)]
        if "fill" in look:
            corners = [(x, y - 6), (x + 24, y - 6), (x + 24, y + 6), (x, y + 6)]
        sheet.path(corners, f"legend-{name.split(',')[0].replace(': ', '-')}", **look)
        sheet.words(x + 28, y - 4, name, "start")

"""The roof of today and the metal retrofit over it, side by side, thicknesses to scale."""

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lcc import tables, units
from lcc.case import Case, Layer, MetalRetrofit
from lcc.case.document_values import capital
from lcc.errors import CaseError
from lcc.heat import assembly
from lcc.quantities import framed
from lcc.units import System
from web import format as fmt
from web.charts.placing import spread

STACK = 176.0  # px; the stack is drawn, the rest are labels
HEIGHT = 392.0  # px; of a sheet whose labels fit beside the layers
SOLIDS, AIR, FOOT = 150.0, 96.0, 344.0  # px; tallest solids, tallest cavity, underside of the deck
THINNEST = 3.0  # px
LINE = 15.0  # px between lines of a label
EDGE = 2.0  # px, of the sheet above its labels


@dataclass(frozen=True)
class Band:
    """One layer: how thick [m], what it is, and as drawn from `top` down over `height` [px]."""

    role: str
    thickness_m: float
    name: str
    facts: str
    steel: bool = False
    top: float = 0.0
    height: float = 0.0


@dataclass(frozen=True)
class Label:
    """The words of a band: lines from `top` [px] on, joined to the band at `at`."""

    at: float
    top: float
    lines: tuple[str, ...]
    facts: str


@dataclass(frozen=True)
class Drawing:
    """One assembly drawn: bands from the outside in, labels, and the cavity's own lines."""

    title: str
    bands: tuple[Band, ...]
    labels: tuple[Label, ...]
    scale: float
    panel: float = 0.0
    rise: float = 0.0
    broken: bool = False
    old_top: float = 0.0

    @property
    def top(self) -> float:
        """Height of the uppermost solid layer [px]."""
        return min(band.top for band in self.bands)

    @property
    def sheet_top(self) -> float:
        """Height from which on the sheet is used [px]."""
        drawn = self.panel - self.rise / 2 - 10 if self.panel else self.top - 6
        return max(min(drawn, *(label.top for label in self.labels)), 0.0)

    @property
    def sheet_foot(self) -> float:
        """Height down to which the sheet is used [px]; many labels reach below the layers."""
        last = self.labels[-1]
        return max(HEIGHT, last.top + LINE * (len(last.lines) + 1) + 9)


def drawings(case: Case, system: System, which: int | None) -> tuple[Drawing, ...]:
    """Return the drawing of the roof of today and of a metal retrofit, at one scale.

    Parameters
    ----------
    case : lcc.case.Case
        A case that the core accepts.
    system : "ip" or "si"
        Units of the labels.
    which : int or None
        Place of the retrofit among the case's alternatives; None where there is none.
    """
    old = [_band(layer, system) for layer in case.roof.layers]
    retrofit = None if which is None else case.alternatives[which]
    if not isinstance(retrofit, MetalRetrofit):
        return (_stack("Today", old, _scale(old)),)
    laid_out = framed(retrofit, case.roof.area_m2)
    new = [_band(layer, system) for layer in laid_out.layers]
    scale = _scale([*new, *old])
    return (
        _stack("Today", old, scale),
        _with_roof(_stack(retrofit.name, [*new, *old], scale), laid_out, len(new), system),
    )


def _band(layer: Layer, system: System) -> Band:
    try:
        solid = assembly.thermal_layer(layer)
    except CaseError:
        return Band("other", 0.0, "not complete yet", "")
    thickness = units.from_core(solid.thickness_m, "thickness", system)
    resistance = units.from_core(solid.resistance_m2k_w, "resistance", system)
    facts = " ".join(fmt.read(thickness, "thickness", system))
    r_value = f"R {fmt.shown(resistance)}"
    is_steel = "steel" in (layer.material or "")
    return Band(
        solid.role,
        solid.thickness_m,
        "Air layer" if solid.role == "air" else capital(solid.name),
        f"{facts}, {r_value}" if resistance >= 0.005 else facts,
        is_steel and solid.role == "deck",
    )


def _scale(bands: Iterable[Band]) -> float:
    """Pixels for a metre, so that all solid layers fit."""
    total = sum(band.thickness_m for band in bands)
    return min(SOLIDS / total, 1500.0) if total else 1500.0


def _stack(title: str, bands: Sequence[Band], scale: float) -> Drawing:
    heights = [max(band.thickness_m * scale, THINNEST) for band in bands]
    drawn = tuple(replace(band, top=FOOT - sum(heights[place:]), height=heights[place])
                  for place, band in enumerate(bands))  # fmt: skip
    return Drawing(title, drawn, _labels(drawn), scale)


def _with_roof(drawing: Drawing, retrofit: MetalRetrofit, new: int, system: System) -> Drawing:
    """Add the cavity, at its own height where it fits, and the panel on its posts."""
    cavity = retrofit.cavity
    height = min(cavity.mean_height_m * drawing.scale, AIR)
    rise = min(retrofit.slope * STACK, 40.0)
    panel = drawing.top - height
    mean = units.from_core(cavity.mean_height_m, "length", system)
    unit = units.unit("length", system).display
    ways = {
        "air-changes": f"{fmt.shown(retrofit.cavity.air_changes_per_h)} air changes an hour",
        "openings": "vented by its openings",
        "sealed": "sealed",
    }
    air = Band("cavity", cavity.mean_height_m, "Cavity, " + ways[cavity.ventilation],
               f"{fmt.shown(mean)} {unit} high on average", top=panel, height=height)  # fmt: skip
    row = tables.rows("panels")[retrofit.panel]
    roof = Band("panel", 0.0, "Standing-seam panel", str(row["name"]).lower(), top=panel,
                height=THINNEST)  # fmt: skip
    bands = (roof, air, *drawing.bands)
    return replace(
        drawing,
        labels=_labels([roof, replace(air, top=panel + 14, height=height - 14), *drawing.bands]),
        panel=panel,
        rise=rise,
        broken=height < cavity.mean_height_m * drawing.scale,
        old_top=bands[2 + new].top,
    )


def _labels(bands: Sequence[Band]) -> tuple[Label, ...]:
    """Place the words beside their bands, pushed apart where bands are thin."""
    blocks = [(band, tuple(textwrap.wrap(band.name, 29)[:2])) for band in bands]
    heights = [LINE * (len(lines) + 1) + 5 for _, lines in blocks]
    middles = [band.top + band.height / 2 for band in bands]
    wanted = [middle - height / 2 - EDGE for middle, height in zip(middles, heights, strict=True)]
    # Blocks that are higher than the sheet together go on below it.
    tops = spread(wanted, heights, max(HEIGHT - 3 * EDGE, sum(heights)))
    return tuple(
        Label(middle, top + EDGE, lines, band.facts)
        for middle, top, (band, lines) in zip(middles, tops, blocks, strict=True)
    )


def corrugation(top: float, left: float = 0.0, width: float = STACK, rib: float = 22.0) -> str:
    """Return the outline of a ribbed steel deck hanging from `top` [px], as SVG path data."""
    steps = [f"M{left:g} {top:g}"]
    for index in range(int(width // rib)):
        x = left + index * rib
        steps.append(f"H{x + 6:g}L{x + 9:g} {top + 12:g}H{x + 16:g}L{x + 19:g} {top:g}")
    return "".join([*steps, f"H{left + width:g}"])

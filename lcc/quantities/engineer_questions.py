"""What the take-off asks the engineer: snow, drift, reactions and wind, with its numbers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lcc.quantities.roof_edges import side_of
from lcc.quantities.roof_frame import RoofFrame
from lcc.results.takeoff_result import DriftPlace, WindZone
from lcc.units.texts import both

_IMPORTANCE = {"I": 0.8, "II": 1.0, "III": 1.1, "IV": 1.2}
COLD_ROOF = 1.1  # thermal factor of a ventilated roof over insulation
_LEAST_WALL_M = 0.3
NEVER = "These are questions for a licensed structural engineer; nothing here is approved."


def roof_snow(roof: RoofFrame) -> float | None:
    """Return the flat roof snow load [kg/m²], or None where no ground snow is entered.

    Notes
    -----
    p = 0.7 Ce Ct Is pg, with Ce 1.0, Ct 1.1 of a cold ventilated roof, and Is by risk category.
    Drift, sliding, unbalanced and rain-on-snow loads are not in it.

    References
    ----------
    ASCE 7-16 equation 7.3-1 and tables 7.3-1, 7.3-2 and 1.5-2, from memory.
    """
    site = roof.framing.wind_and_snow
    if site.ground_snow_kg_m2 is None:
        return None
    return 0.7 * COLD_ROOF * _IMPORTANCE[site.risk_category] * site.ground_snow_kg_m2


def drifts(roof: RoofFrame) -> tuple[DriftPlace, ...]:
    """Return every wall and parapet against which snow may drift: where, how long, how high."""
    sums = roof.edges
    found: dict[str, tuple[float, float]] = {}
    for k, role in enumerate(sums.role.tolist()):
        where, height = _obstacle(roof, k, role)
        if height > _LEAST_WALL_M:
            length, tallest = found.get(where, (0.0, 0.0))
            found[where] = length + float(sums.plan_m[k]), max(tallest, height)
    return tuple(DriftPlace(where, *sizes) for where, sizes in found.items())


def _obstacle(roof: RoofFrame, k: int, role: str) -> tuple[str, float]:
    sums = roof.edges
    ends = [sums.start[k], sums.end[k]]
    upper = roof.facets[sums.upper[k]]
    if role in ("step", "wall-gutter"):
        lower = roof.facets[sums.lower[k]]
        rises = [upper.fall.plane.z(*at) - lower.fall.plane.z(*at) for at in ends]
        name = roof.parts[lower.over].name
        return f"{name}, against the wall of {roof.parts[upper.over].name}", max(rises)
    if sums.lower[k] < 0 and sums.parapet_m[k] > 0:
        tops = [upper.deck.z(*at) + sums.parapet_m[k] - upper.fall.plane.z(*at) for at in ends]
        name, side = roof.parts[upper.over].name, side_of(sums.outward[k])
        return f"{name}, parapet at the {side}", float(np.max(tops))
    return "", 0.0


def questions(
    roof: RoofFrame, zones: tuple[WindZone, ...], drifting: tuple[DriftPlace, ...]
) -> Iterator[str]:
    """Yield the questions that go to the engineer's sheet."""
    site = roof.framing.wind_and_snow
    if not zones:
        yield ("Wind: basic wind speed and mean roof height are not entered; purlins are not "
               "closed up at edges and corners, where wind pulls most.")  # fmt: skip
    else:
        yield (f"Wind: are the zones, coefficients and exposure {site.exposure} right for this "
               "building and the edition in force (ASCE 7-16 from memory here)?")  # fmt: skip
        if site.panel_uplift_kg_m2 is None:
            yield ("Wind: purlins at edges and corners are closed up by a ratio; what does the "
                   "panel's test say?")  # fmt: skip
    if site.ground_snow_kg_m2 is None:
        yield "Snow: no ground snow load is entered; what is it, and what of rain on snow?"
    if drifting:
        yield f"Drift: it may lie at {len(drifting)} walls or parapets, located and not sized here."
    if any(part.rectangle.bearing_spacing_m is None for part in roof.parts):
        yield "Structure: posts of parts without bearing lines are not tied to joists or beams."
    if any(part.rectangle.bearing_spacing_m is not None for part in roof.parts):
        yield "Structure: do the edges of each part bear, as walls or edge beams?"
    if (valley := roof.edges.length("valley")) > 0:
        yield (f"Valleys: a support under {both(valley)} of valley is counted and weighed as one "
               "line of purlin; what member is it, and where do its posts stand?")  # fmt: skip
    yield NEVER

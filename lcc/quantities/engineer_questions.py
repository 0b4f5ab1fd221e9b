"""What the take-off asks the engineer: snow, drift, reactions and wind, with its numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.drainage import valley_discharges
from lcc.quantities.roof_edges import side_of
from lcc.quantities.roof_frame import RoofFrame
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.wind_pressure import LOW_SLOPE
from lcc.results.takeoff_result import DriftPlace, WindZone
from lcc.units import from_core, to_core
from lcc.units.texts import both, both_areas

_IMPORTANCE = {"I": 0.8, "II": 1.0, "III": 1.1, "IV": 1.2}
# Thermal factor of a ventilated roof over insulation.
_COLD_ROOF = {"7-16": 1.1, "7-22": 1.2}
_LEAST_WALL_M = 0.3
# Least snow of a low slope by edition and risk category; 7-16 multiplies 20 lb/ft² by Is.
_LEAST_SNOW_KG_M2 = {
    edition: {risk: to_core(load, "mass_per_area", "ip") for risk, load in loads.items()}
    for edition, loads in (
        ("7-16", {risk: 20.0 * factor for risk, factor in _IMPORTANCE.items()}),
        ("7-22", {"I": 25.0, "II": 30.0, "III": 35.0, "IV": 40.0}),
    )
}
_LOW_FOR_SNOW = math.tan(math.radians(15))
_MONOSLOPE = math.tan(math.radians(3))
STONE = (
    "Stone: does it hold down a loose-laid membrane, and what holds that membrane against wind "
    "once the stone is off? Its weight is no credit until it is weighed."
)
NEVER = "These are questions for a licensed structural engineer; nothing here is approved."


def roof_snow(roof: RoofFrame) -> float | None:
    """Return the flat roof snow load [kg/m²], or None where no ground snow is entered.

    Notes
    -----
    At least the least of a low slope where a part is under 15°. ASCE 7-16: p = 0.7 Ce Ct Is pg,
    with Ce 1.0, Ct 1.1 of a cold ventilated roof, and Is by risk category. ASCE 7-22: p = 0.7
    Ce Ct pg with Ct 1.2, the risk being in its ground snow. Drift, sliding, unbalanced and
    rain-on-snow loads are not in it.

    References
    ----------
    ASCE 7-16 equation 7.3-1 and tables 7.3-1, 7.3-2 and 1.5-2, from memory. Ct of both editions and
    both equations as a magazine of frame builders prints them (NFBA, September 2025, read there).
    """
    site = roof.framing.wind_and_snow
    if site.ground_snow_kg_m2 is None:
        return None
    flat = 0.7 * _COLD_ROOF[site.edition] * _importance(site) * site.ground_snow_kg_m2
    low = any(part.slope < _LOW_FOR_SNOW for part in roof.parts)
    return max(flat, least_snow(site) or 0.0) if low else flat


def _importance(site: WindAndSnow) -> float:
    """Return the factor of risk on the ground snow; the maps of 7-22 hold it."""
    return _IMPORTANCE[site.risk_category] if site.edition == "7-16" else 1.0


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
    ends = [sums.start[k].tolist(), sums.end[k].tolist()]
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
    work = roof.framing.other_work
    yield from _wind(roof, zones)
    yield from _snow(roof)
    if drifting:
        yield ("Drift: it may lie beside walls or parapets, located and not sized here; places: "
               f"{len(drifting)}.")  # fmt: skip
    if any(part.rectangle.bearing_spacing_m is None for part in roof.parts):
        yield "Structure: posts of parts without bearing lines are not tied to joists or beams."
    if any(part.rectangle.bearing_spacing_m is not None for part in roof.parts):
        yield "Structure: do the edges of each part bear, as walls or edge beams?"
    yield from _bracing(roof)
    yield from _valleys(roof)
    yield ("Posts: the dead load of a post is its roof times the mean of the whole plan. Posts "
           "under walls that close the cavity, ventilators and curbs carry more, others less; what "
           "does each line carry?")  # fmt: skip
    units, skylights = roof.framing.rooftop_units, work.skylights_carried
    if units or skylights:
        yield (f"Weights: rooftop units {units}, skylights carried through {skylights}. What does "
               "each weigh, and where does it stand? Neither is surveyed; new curbs alone are in "
               "the added load.")  # fmt: skip
    if work.ballast_kg_m2:
        yield STONE
    yield NEVER


def _bracing(roof: RoofFrame) -> Iterator[str]:
    if length := math.fsum(fall.frame.bracing_m for fall in roof.falls):
        yield (f"Bracing: at every bracing line one diagonal runs up the slope from each post to "
               f"the next, and one along the purlin to the post beside it, {both(length)} in all; "
               "is that enough, and what takes its force into the building?")  # fmt: skip


def _valleys(roof: RoofFrame) -> Iterator[str]:
    if (valley := roof.edges.length("valley")) > 0:
        yield (f"Valleys: the supports marked W under {both(valley)} of valley are counted and "
               "weighed as one line of purlin; what member is it, and where do its posts stand?"
               )  # fmt: skip
    for each in valley_discharges(roof):
        into = f"into the gutter of {each.into}" if each.into else "at no eave"
        yield (f"Valley between {each.between}: {both_areas(each.drained_m2)} of roof gathers in "
               f"it and leaves at one point, {into}; can it be taken there, in a cloudburst and "
               "with ice?")  # fmt: skip


def _wind(roof: RoofFrame, zones: tuple[WindZone, ...]) -> Iterator[str]:
    site = roof.framing.wind_and_snow
    if not zones:
        yield ("Wind: basic wind speed and mean roof height are not entered; purlins are not "
               "closed up at edges and corners, where wind pulls most.")  # fmt: skip
        return
    yield (f"Wind: are the zones, coefficients and exposure {site.exposure} right for this "
           f"building, and is ASCE {site.edition} the edition in force? Zones and coefficients "
           "are read in copies of its figures, not in the standard.")  # fmt: skip
    yield from _heights(roof)
    if roof.edges.length("valley") > 0:
        yield ("Wind: edge zones follow the roof's outer edges. A valley, and the inner "
               "corner where two wings meet, are no edge zone; is that right?")  # fmt: skip
    if site.panel_uplift_kg_m2 is None:
        yield ("Wind: purlins at edges, ridges and corners are closed up by a ratio; what does "
               "the panel's test say?")  # fmt: skip
    steep = [part for part in roof.parts if part.slope > LOW_SLOPE]
    if steep and roof.zones:
        reach = max(roof.zones.widths_m(part)[0] for part in steep)
        yield (f"Wind: over 7° a strip of {both(reach)} pulls harder along rakes, ridges and hips, "
               "on both sides of a ridge; purlins are closed up there. Is that wide enough at "
               "this roof's steps and valleys, for which the figures say nothing?")  # fmt: skip
    for part in roof.parts:
        if part.rectangle.form == "one-way" and part.slope > _MONOSLOPE:
            yield (f"Wind: {part.name} is a single fall over 3°, with figures of its own (30.3-5A "
                   "and B); it is laid out as a gable roof with a ridge at its high edge."
                   )  # fmt: skip


def _heights(roof: RoofFrame) -> Iterator[str]:
    """Yield parts of different level that share one mean roof height, and stepped roofs."""
    by_height: dict[float | None, list[RoofPart]] = {}
    for part in roof.parts:
        by_height.setdefault(part.roof_height_m, []).append(part)
    for height, parts in by_height.items():
        levels = [part.rectangle.roof_level_m for part in parts]
        if (apart := max(levels) - min(levels)) > _LEAST_WALL_M and height is not None:
            highest = parts[levels.index(max(levels))].name
            yield (f"Wind: one mean roof height, {both(height)}, serves parts whose old roofs lie "
                   f"up to {both(apart)} apart, {highest} the highest; is it that part's height, "
                   "or what is the height of each?")  # fmt: skip
    if any(role in ("step", "wall-gutter") for role in roof.edges.role.tolist()):
        yield ("Wind: what pulls on a lower roof beside the wall of a higher one? No edge "
               "zone is counted along that wall.")  # fmt: skip


def least_snow(site: WindAndSnow) -> float | None:
    """Return the least snow load of a low slope [kg/m²], or None where no ground snow is entered.

    Notes
    -----
    ASCE 7-16: 20 lb/ft² times Is where the ground snow is more than 20 lb/ft², else the ground snow
    times Is. ASCE 7-22: the ground snow, at most 25, 30, 35 or 40 lb/ft² by risk category.

    References
    ----------
    ASCE 7-16, 7.3.4, and ASCE 7-22, 7.3.3, from memory.

    Examples
    --------
    25 lb/ft² on a school, Is 1.1: 22 lb/ft².

    >>> site = WindAndSnow(ground_snow_kg_m2=25 * 4.882428, risk_category="III")
    >>> round(least_snow(site) / 4.882428, 4)
    22.0
    """
    if site.ground_snow_kg_m2 is None:
        return None
    most = _LEAST_SNOW_KG_M2[site.edition][site.risk_category]
    return min(_importance(site) * site.ground_snow_kg_m2, most)


def _snow(roof: RoofFrame) -> Iterator[str]:
    site = roof.framing.wind_and_snow
    least, used = least_snow(site), roof_snow(roof)
    if least is None or used is None:
        yield "Snow: no ground snow load is entered; what is it, and what of rain on snow?"
        return
    in_pounds = from_core(least, "mass_per_area", "ip")
    risk = (f"and Is {_importance(site):g}" if site.edition == "7-16"
            else "and no Is, since the ground snow of 7-22 holds the risk")  # fmt: skip
    yield (f"Snow: the flat roof load is 0.7 of the ground snow with Ce 1.0, "
           f"Ct {_COLD_ROOF[site.edition]:g} {risk} (ASCE {site.edition} from memory); are they "
           f"right? The least of a slope under 15° is {in_pounds:.1f} lb/ft² ({least:.0f} kg/m²)"
           f"{', which governs here' if used == least else ''}. Not in it: unbalanced and sliding "
           "snow, snow in valleys, rain on snow, drift at walls, parapets and units.")  # fmt: skip

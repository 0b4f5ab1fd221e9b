"""Snow on the framed roof, and where it may drift: at steps, walls and parapets."""

import math
from collections.abc import Iterator

import numpy as np

from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_lines_and_heights import PurlinLine
from lcc.quantities.roof_edges import side_of
from lcc.quantities.roof_frame import FramedFall, RoofFrame, off_segments
from lcc.results.takeoff_result import DriftPlace
from lcc.units import from_core, to_core

_IMPORTANCE = {"I": 0.8, "II": 1.0, "III": 1.1, "IV": 1.2}
# Thermal factor of a ventilated roof over insulation.
_COLD_ROOF = {"7-16": 1.1, "7-22": 1.2}
FARTHEST = 8.0  # times the height of a wall: how far from it a drift reaches, at most
TOO_LOW = 1.2  # times the snow's own depth: a wall that stands less than 0.2 of it above the snow
# Least snow of a low slope by edition and risk category; 7-16 multiplies 20 lb/ft² by Is.
_LEAST_SNOW_KG_M2 = {
    edition: {risk: to_core(load, "mass_per_area", "ip") for risk, load in loads.items()}
    for edition, loads in (
        ("7-16", {risk: 20.0 * factor for risk, factor in _IMPORTANCE.items()}),
        ("7-22", {"I": 25.0, "II": 30.0, "III": 35.0, "IV": 40.0}),
    )
}
MAY_DRIFT = "drift to be sized"
LOW_WALL = "too low to count"
UNKNOWN_SNOW = "open: no ground snow entered"
_LOW_FOR_SNOW = math.tan(math.radians(15))


def roof_snow(roof: RoofFrame) -> float | None:
    """Return the snow load that counts on the roof [kg/m²], None without ground snow entered.

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
    flat, least = _flat_snow(site), least_snow(site)
    if flat is None or least is None:
        return None
    low = any(part.slope < _LOW_FOR_SNOW for part in roof.parts)
    return max(flat, least) if low else flat


def _flat_snow(site: WindAndSnow) -> float | None:
    """Return the flat roof snow load, without the least of a low slope [kg/m²]."""
    if site.ground_snow_kg_m2 is None:
        return None
    return 0.7 * _COLD_ROOF[site.edition] * _importance(site) * site.ground_snow_kg_m2


def lowest_drift_wall_m(site: WindAndSnow) -> float | None:
    """Return the height of a wall above the panel below which no drift need be counted [m].

    Notes
    -----
    The standard asks for none where the wall stands less than 0.2 of the depth of the balanced snow
    above it: 1.2 depths above the panel. The depth is the flat roof load over the density of
    snow, 0.13 of the ground snow and 14 lb/ft³, at most 30; what the slope sheds is not taken off.

    References
    ----------
    ASCE 7-16 and 7-22, 7.7.1, from memory; the density as Structure magazine prints it ("Current
    Canadian and U.S. Approaches to Snow Drift Loads", read there).

    Examples
    --------
    25 lb/ft² of ground snow, risk II: 19.25 lb/ft² on the roof, of 17.25 lb/ft³, 1.116 ft deep.

    >>> round(lowest_drift_wall_m(WindAndSnow(ground_snow_kg_m2=25 * 4.882428)) / 0.3048, 3)
    1.339
    """
    flat = _flat_snow(site)
    if flat is None or site.ground_snow_kg_m2 is None:
        return None
    ground = from_core(site.ground_snow_kg_m2, "mass_per_area", "ip")
    return TOO_LOW * flat / to_core(min(0.13 * ground + 14.0, 30.0), "density", "ip")


def _importance(site: WindAndSnow) -> float:
    """Return the factor of risk on the ground snow; the maps of 7-22 hold it."""
    return _IMPORTANCE[site.risk_category] if site.edition == "7-16" else 1.0


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


def snow_questions(roof: RoofFrame) -> Iterator[str]:
    """Yield what the engineer is asked about snow, with the take-off's own figures."""
    site = roof.framing.wind_and_snow
    least, used, flat = least_snow(site), roof_snow(roof), _flat_snow(site)
    if least is None or used is None or flat is None:
        yield "Snow: no ground snow load is entered; what is it, and what of rain on snow?"
        return
    risk = (f"and Is {_importance(site):g}" if site.edition == "7-16"
            else "and no Is, since the ground snow of 7-22 holds the risk")  # fmt: skip
    yield (f"Snow: the flat roof snow load is 0.7 of the ground snow with Ce 1.0, "
           f"Ct {_COLD_ROOF[site.edition]:g} {risk} (ASCE {site.edition} from memory); are they "
           f"right? They give {_both(flat, 2)}, the balanced load that a drift stands on. The "
           f"least load of a slope under 15° is {_both(least, 1)}"
           f"{', which governs here' if used == least else ''}. Not in it: unbalanced and sliding "
           "snow, snow in valleys, rain on snow, drift at walls, parapets and units.")  # fmt: skip


def _both(load_kg_m2: float, places: int) -> str:
    pounds = from_core(load_kg_m2, "mass_per_area", "ip")
    return f"{pounds:.{places}f} lb/ft² ({load_kg_m2:.0f} kg/m²)"


def drifts(roof: RoofFrame) -> tuple[DriftPlace, ...]:
    """Return every step, wall and parapet above the panel beside it: where, how long, how high.

    A parapet counts as far as it stands above the panel.

    Notes
    -----
    Each says whether snow may drift there, or that it is too low for that by `lowest_drift_wall_m`.
    """
    sums, low = roof.edges, lowest_drift_wall_m(roof.framing.wind_and_snow)
    found: dict[str, tuple[float, float]] = {}
    for k, role in enumerate(sums.role.tolist()):
        where, height = _obstacle(roof, k, role)
        if height > TOUCH_M:
            length, tallest = found.get(where, (0.0, 0.0))
            walled = sums.behind_parapet[k] if sums.lower[k] < 0 else 1.0
            found[where] = length + float(sums.plan_m[k] * walled), max(tallest, height)
    return tuple(DriftPlace(where, length, height, _may_drift(height, low))
                 for where, (length, height) in found.items())  # fmt: skip


def drifted_lines(roof: RoofFrame) -> frozenset[tuple[int, str, int]]:
    """Return the purlin lines over whose posts snow may drift: part, side of the fall, number.

    Notes
    -----
    Drift is not sized. It reaches at most 8 heights of its wall or parapet from it, so lines with
    a post as near as that on the lower roof are taken. None where no ground snow is entered.

    References
    ----------
    ASCE 7-16, 7.7.1: the width of a drift is at most 8 hc, from memory.
    """
    low, sums = lowest_drift_wall_m(roof.framing.wind_and_snow), roof.edges
    if low is None:
        return frozenset()
    reached: dict[int, list[tuple[int, float]]] = {}
    for k, role in enumerate(sums.role.tolist()):
        height = _obstacle(roof, k, role)[1]
        if height >= max(low, TOUCH_M):
            under = sums.upper[k] if sums.lower[k] < 0 else sums.lower[k]
            reached.setdefault(roof.facets[under].over, []).append((k, FARTHEST * height))
    return frozenset(
        (part, fall.frame.fall.side, line.number)
        for fall in roof.falls if (part := fall.frame.part.index) in reached
        for line in fall.lines if line.posts_m.size and _reached(roof, fall, line, reached[part])
    )  # fmt: skip


def _reached(
    roof: RoofFrame, fall: FramedFall, line: PurlinLine, walls: list[tuple[int, float]]
) -> bool:
    posts = np.stack(fall.frame.post_places([line]), axis=1)
    chosen = [k for k, _ in walls]
    ends = np.stack([roof.edges.start[chosen], roof.edges.end[chosen]], axis=1)
    near = off_segments(posts, ends) <= np.array([far for _, far in walls]) + TOUCH_M
    return bool(near.any())


def _may_drift(height_m: float, low_m: float | None) -> str:
    if low_m is None:
        return UNKNOWN_SNOW
    return LOW_WALL if height_m < low_m else MAY_DRIFT


def step_m(roof: RoofFrame, k: int) -> float:
    """Return how far the panel above a step stands over the one below, at its highest end [m]."""
    sums = roof.edges
    upper, lower = roof.facets[sums.upper[k]].fall.plane, roof.facets[sums.lower[k]].fall.plane
    ends = sums.start[k].tolist(), sums.end[k].tolist()
    return float(max(upper.z(*at) - lower.z(*at) for at in ends))


def _obstacle(roof: RoofFrame, k: int, role: str) -> tuple[str, float]:
    sums = roof.edges
    ends = [sums.start[k].tolist(), sums.end[k].tolist()]
    upper = roof.facets[sums.upper[k]]
    if role in ("step", "wall-gutter"):
        name = roof.parts[roof.facets[sums.lower[k]].over].name
        return f"{name}, against the wall of {roof.parts[upper.over].name}", step_m(roof, k)
    if sums.lower[k] < 0 and sums.parapet_m[k] > 0:
        tops = [upper.deck.z(*at) + sums.parapet_m[k] - upper.fall.plane.z(*at) for at in ends]
        name, side = roof.parts[upper.over].name, side_of(sums.outward[k])
        return f"{name}, parapet at the {side}", float(np.max(tops))
    return "", 0.0

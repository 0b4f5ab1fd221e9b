"""Pressures and coefficients of wind by zone of a low building's roof, as ASCE 7 gives them."""

import math
from dataclasses import dataclass, replace

from lcc.case.wind_and_snow import WindAndSnow

LOW_SLOPE = math.tan(math.radians(7))
_MIDDLE_SLOPE = math.tan(math.radians(20))
INSIDE = 0.18  # internal coefficient of an enclosed building
DIRECTIONALITY = 0.85
ALLOWABLE = 0.6  # of a wind load of strength design, in allowable stress design
KILOGRAM_N = 9.80665  # weight of a kilogram at standard gravity
# Velocity pressure exposure coefficient by edition: factor, and by exposure power, gradient height
# and least height [m].
_EXPOSURE = {
    "7-16": (2.01, {"B": (7.0, 365.76, 9.144), "C": (9.5, 274.32, 4.572),
                    "D": (11.5, 213.36, 4.572)}),
    "7-22": (2.41, {"B": (7.5, 999.744, 4.572), "C": (9.8, 749.808, 4.572),
                    "D": (11.5, 589.788, 4.572)}),
}  # fmt: skip
_LEAST_A_M = 0.9144
_HIP_RATIOS = (0.5, 0.8)  # height over least width, between which coefficients of hips change
_NUMBERS = {"middle": "1'", "field": "1", "edge": "2", "corner": "3"}  # of a roof to 7°


@dataclass(frozen=True)
class ZoneRule:
    """Zones of one figure of the standard, gentlest first.

    Parameters
    ----------
    figure : str
        Edition and figure.
    names : tuple of str
        Zones, with the standard's own marks.
    coefficients : tuple of float
        External pressure coefficients for 10 ft².
    strength : tuple of str
        Which ratio of purlin spacing each zone takes: field, edge or corner.
    places : tuple of int
        The zone of field, eave, rake, ridge, corner and ridge end; empty for a roof of low slope,
        which has its own widths.
    """

    figure: str
    names: tuple[str, ...]
    coefficients: tuple[float, ...]
    strength: tuple[str, ...]
    places: tuple[int, ...] = ()


def zone_label(name: str) -> str:
    """Return the name of a zone as it is printed, with its number in the standard.

    References
    ----------
    ASCE 7-16 and 7-22, figure 30.3-2A: numbers to 7°; steeper roofs have theirs in the name.

    Examples
    --------
    >>> zone_label("corner"), zone_label("ridge end (3r)")
    ('corner (zone 3)', 'ridge end (zone 3r)')
    """
    plain, _, own = name.partition(" (")
    number = _NUMBERS.get(name, own.removesuffix(")"))
    return f"{plain} (zone {number})" if number else plain


def edge_distance(least_width_m: float, height_m: float) -> float:
    """Return the distance a of the standard [m], the edge width of roofs steeper than 7°.

    Parameters
    ----------
    least_width_m : float
        Least horizontal dimension of the building [m].
    height_m : float
        Mean roof height [m].

    Notes
    -----
    The lesser of 10 % of the least width and 0.4 h, but at least 4 % of that width and 3 ft.

    References
    ----------
    SEI/ASCE 7-02, components and cladding, method 1, notation, as printed in Structural Steel
    Designer's Handbook, figure 4.3 (read there); ASCE 7-16 figure 30.3-1 from memory.

    Examples
    --------
    >>> round(edge_distance(30.0, 6.0), 9), edge_distance(10.0, 6.0)
    (2.4, 1.0)
    """
    return max(min(0.1 * least_width_m, 0.4 * height_m), 0.04 * least_width_m, _LEAST_A_M)


def velocity_pressure(site: WindAndSnow, height_m: float) -> float:
    """Return the velocity pressure at a mean roof height [m], directionality in it [Pa].

    Notes
    -----
    q = 0.613 Kz Kd V², Kd 0.85, flat ground. ASCE 7-16: Kz = 2.01 (z / zg)^(2/α), z at least 15 ft,
    and 30 ft in exposure B. ASCE 7-22: Kz = 2.41 (z / zg)^(2/α) with its own α and zg, z at least
    15 ft; its Kd stands with the coefficients, which changes nothing in their product.

    References
    ----------
    ASCE 7-16 equation 26.10-1 and table 26.10-1, from memory; ASCE 7-22 table 26.10-1, from memory,
    its 2.41 read in a copy.

    Examples
    --------
    115 mph, exposure C, 30 ft: Kz 0.98 by both editions, 28.2 lb/ft².

    >>> from dataclasses import replace
    >>> site = WindAndSnow(basic_wind_m_s=51.41)
    >>> round(velocity_pressure(site, 9.144) / 47.88, 1)
    28.3
    >>> round(velocity_pressure(replace(site, edition="7-22"), 9.144) / 47.88, 1)
    28.2
    """
    assert site.basic_wind_m_s is not None
    return 0.613 * exposure_factor(site, height_m) * DIRECTIONALITY * site.basic_wind_m_s**2


def exposure_factor(site: WindAndSnow, height_m: float) -> float:
    """Return Kz, the velocity pressure exposure coefficient, at a mean roof height [m].

    Examples
    --------
    >>> round(exposure_factor(WindAndSnow(), 15 * 0.3048), 2)
    0.85
    """
    factor, exposures = _EXPOSURE[site.edition]
    power, top, least = exposures[site.exposure]
    return float(factor * (max(height_m, least) / top) ** (2 / power))


def uplift_kg_m2(site: WindAndSnow, coefficient: float, height_m: float) -> float:
    """Return the pressure of strength design for an external coefficient [kg/m²], up is negative.

    Examples
    --------
    A signed calculation for a roof in Florida: 175 mph, exposure C, 15 ft, -1.7 in zone 1; 63.81
    lb/ft² in allowable stress design.

    >>> site = WindAndSnow(basic_wind_m_s=78.232)
    >>> round(ALLOWABLE * uplift_kg_m2(site, -1.7, 4.572) / 4.882428, 1)
    -63.8
    """
    return velocity_pressure(site, height_m) * (coefficient - INSIDE) / KILOGRAM_N


def single_fall_figure(slope: float) -> str:
    """Return the figure of a roof of a single fall, or nothing to 3°, where it is as any other.

    References
    ----------
    ASCE 7-16 and 7-22 figures 30.3-5A, to 10°, and 30.3-5B, from memory.

    Examples
    --------
    >>> single_fall_figure(1 / 12), single_fall_figure(0.5 / 12)
    ('30.3-5A', '')
    """
    low, steep = (math.tan(math.radians(each)) for each in (3, 10))
    return "" if slope <= low else f"30.3-5{'A' if slope <= steep else 'B'}"


def zone_rule(
    edition: str, slope: float, *, hips: bool, height_over_width: float, single: bool = False
) -> ZoneRule:
    """Return the zones of a part by edition, slope and form.

    Parameters
    ----------
    edition : str
        "7-16" or "7-22".
    slope : float
        Rise over run.
    hips : bool
        Whether all ends of its ridge are hips.
    height_over_width : float
        Mean roof height over the building's least width, which ASCE 7-16 asks of hip roofs.
    single : bool
        Whether it has a single fall: its rule then names the figure that it should go by.

    Notes
    -----
    To 7° both editions have the same zones and coefficients. Over 7° ASCE 7-16 divides a gable
    roof in six zones and a hip roof in four, ASCE 7-22 each in three; up to 27°, which is as steep
    as a survey may be. A roof of a single fall over 3° has figures of its own
    (`single_fall_figure`); over 7° its high edge is taken as a ridge here, which pulls harder than
    theirs.

    References
    ----------
    ASCE 7-16 figures 30.3-2A to G and ASCE 7-22 figures 30.3-2A to F. Coefficients and layout
    read in open-source copies of the figures, not in the standard; those of 7-22 to 20° agree with
    examples 6.1 to 6.3 of the Guide to the Wind Load Provisions of ASCE 7-22 as such a copy lists
    them. The layout of zones 2 and 3 on a hip roof of 7-22 is from memory.

    Examples
    --------
    >>> zone_rule("7-16", 0.25, hips=False, height_over_width=0.5).coefficients
    (-2.0, -2.0, -3.0, -3.0, -3.0, -3.6)
    >>> zone_rule("7-22", 0.25, hips=False, height_over_width=0.5).coefficients
    (-2.0, -2.7, -3.6)
    """
    if single and (own := single_fall_figure(slope)):
        rule = zone_rule(edition, slope, hips=hips, height_over_width=height_over_width)
        return replace(rule, figure=f"{rule.figure}, to be {own}: a single fall")
    if slope <= LOW_SLOPE:
        return ZoneRule(
            f"ASCE {edition} figure 30.3-2A", ("middle", "field", "edge", "corner"),
            (-0.9, -1.7, -2.3, -3.2), ("field", "field", "edge", "corner"),
        )  # fmt: skip
    steeper = slope > _MIDDLE_SLOPE
    if edition == "7-22":
        return _three_zones(hips, steeper)
    return _hip_zones(height_over_width, steeper) if hips else _gable_zones(steeper)


def _gable_zones(steeper: bool) -> ZoneRule:
    # From 20° the curve of zone 3r begins at -3.6 and 4 ft² and ends at -1.8 and 50 ft²: -2.95.
    steep, mild = (-1.5, -1.5, -2.5, -2.5, -2.5, -2.95), (-2.0, -2.0, -3.0, -3.0, -3.0, -3.6)
    return ZoneRule(
        f"ASCE 7-16 figure 30.3-2{'C' if steeper else 'B'}",
        ("field (1)", "eave (2e)", "rake (2n)", "ridge (2r)", "eave corner (3e)", "ridge end (3r)"),
        steep if steeper else mild, ("field", "edge", "edge", "edge", "corner", "corner"),
        (0, 1, 2, 3, 4, 5),
    )  # fmt: skip


def _hip_zones(height_over_width: float, steeper: bool) -> ZoneRule:
    low, high = _HIP_RATIOS
    part = min(max((height_over_width - low) / (high - low), 0.0), 1.0)
    slender = [a + part * (b - a) for a, b in ((-1.3, -1.8), (-1.8, -2.6), (-2.4, -2.4))]
    field, eave, ridge = (-1.4, -2.0, -2.0) if steeper else slender
    return ZoneRule(
        f"ASCE 7-16 figure 30.3-2{'G' if steeper else 'E and F'}",
        ("field (1)", "eave (2e)", "ridge and hip (2r)", "corner (3)"),
        (field, eave, ridge, eave), ("field", "edge", "edge", "corner"), (0, 1, 2, 2, 3, 2),
    )  # fmt: skip


def _three_zones(hips: bool, steeper: bool) -> ZoneRule:
    strength = ("field", "edge", "corner")
    if hips:
        names = ("field (1)", "eave, ridge and hip (2)", "corner (3)")
        found = (-1.4, -2.0, -2.0) if steeper else (-1.8, -2.4, -2.6)
        figure = "F" if steeper else "E"
        return ZoneRule(f"ASCE 7-22 figure 30.3-2{figure}", names, found, strength,
                        (0, 1, 1, 1, 2, 1))  # fmt: skip
    names = ("field and eave (1)", "rake and ridge (2)", "ridge end (3)")
    found = (-1.5, -2.5, -3.0) if steeper else (-2.0, -2.7, -3.6)
    return ZoneRule(f"ASCE 7-22 figure 30.3-2{'C' if steeper else 'B'}", names, found, strength,
                    (0, 0, 1, 1, 1, 2))  # fmt: skip

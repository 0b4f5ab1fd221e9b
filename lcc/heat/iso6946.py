"""Steady resistances by ISO 6946:2017: surfaces, air layers, fasteners, tapered layers."""

from math import log1p
from typing import Literal

from lcc.heat.sky import KELVIN, STEFAN_BOLTZMANN

Direction = Literal["up", "horizontal", "down"]

R_SE = 0.04  # m²K/W, ISO 6946:2017 table 7
R_SI: dict[Direction, float] = {"up": 0.10, "horizontal": 0.13, "down": 0.17}
UNVENTILATED_MM2 = 500.0
WELL_VENTILATED_MM2 = 1500.0


def air_layer_resistance(
    thickness_m: float, direction: Direction, emittance: float = 0.9, mean_c: float = 10.0
) -> float:
    """Return the resistance [m²K/W] of an unventilated air layer up to 0.3 m.

    Parameters
    ----------
    thickness_m : float
        Thickness [m], above 0.
    emittance : float
        Of both faces.

    Notes
    -----
    1/(h_a + E h_r0) with E = 1/(2/ε - 1), h_r0 = 4 σ T³; h_a the greater of 0.025/d and 1.25
    (horizontal), 1.95 (up) or 0.12 d^-0.44 (down), for faces less than 5 K apart.

    References
    ----------
    ISO 6946:2017, annex D.

    Examples
    --------
    >>> round(air_layer_resistance(0.025, "down"), 2), round(air_layer_resistance(0.1, "up"), 2)
    (0.19, 0.16)
    """
    natural = {"horizontal": 1.25, "up": 1.95, "down": 0.12 * thickness_m**-0.44}[direction]
    convection = max(natural, 0.025 / thickness_m)
    exchange = 1 / (2 / emittance - 1)
    radiation = 4 * STEFAN_BOLTZMANN * (mean_c + KELVIN) ** 3
    return float(1 / (convection + exchange * radiation))


def slightly_ventilated(openings_mm2: float, unventilated: float, well_ventilated: float) -> float:
    """Return the total resistance [m²K/W] of a component with a slightly ventilated air layer.

    Parameters
    ----------
    openings_mm2 : float
        Area of the openings per m² of a horizontal layer [mm²]; below 500 the layer counts as
        unventilated, above 1500 as well ventilated.
    unventilated, well_ventilated : float
        Total resistances of the component with either kind of layer [m²K/W].

    References
    ----------
    ISO 6946:2017, 6.9.3.

    Examples
    --------
    >>> slightly_ventilated(1000.0, 2.0, 1.7)
    1.85
    """
    span = WELL_VENTILATED_MM2 - UNVENTILATED_MM2
    part = min(max((openings_mm2 - UNVENTILATED_MM2) / span, 0.0), 1.0)
    return (1 - part) * unventilated + part * well_ventilated


def fastener_correction(
    conductance_w_k: float, number_per_m2: float, depth_m: float,
    thickness_m: float, layer_r: float, total_r: float,
) -> float:  # fmt: skip
    """Return the correction of U [W/m²K] for metal that passes through a layer.

    Parameters
    ----------
    conductance_w_k : float
        λ_f A_f of one fastener, conductivity times section [W m/K].
    number_per_m2 : float
        Fasteners per m².
    depth_m, thickness_m : float
        Depth of the fastener in the layer, and the layer's thickness [m].
    layer_r, total_r : float
        Resistance of the layer and of the component without fasteners [m²K/W].

    Notes
    -----
    ΔU = α (λ_f A_f n_f / d_1) (R_1/R_tot)², α = 0.8 through the whole layer; of a recessed
    fastener α = 0.8 d_1/d_0, and R_1 is that of the depth d_1 it reaches.

    References
    ----------
    ISO 6946:2017, annex F, F.3.2 (recessed fasteners from memory).

    Examples
    --------
    Five screws per m² of 50 W/mK and 20 mm² through 100 mm of 0.04 W/mK, and through 50 mm of it:

    >>> round(fastener_correction(50 * 20e-6, 5, 0.1, 0.1, 2.5, 2.7), 4)
    0.0343
    >>> round(fastener_correction(50 * 20e-6, 5, 0.05, 0.1, 2.5, 2.7), 4)
    0.0086
    """
    reached = min(depth_m / thickness_m, 1.0)
    conductance = conductance_w_k * number_per_m2 / depth_m
    return 0.8 * reached * conductance * (reached * layer_r / total_r) ** 2


def tapered_u_value(constant_r: float, greatest_taper_r: float, shape: str) -> float:
    """Return the mean U [W/m²K] of an area with a tapered layer.

    Parameters
    ----------
    constant_r : float
        Resistance of all but the taper [m²K/W].
    greatest_taper_r : float
        Resistance of the taper where it is thickest [m²K/W].
    shape : {"rectangle", "thick-apex", "thin-apex"}
        A rectangle, or a triangle that is thickest or thinnest at its apex.

    References
    ----------
    ISO 6946:2017, annex E.

    Examples
    --------
    >>> round(tapered_u_value(1.0, 4.0, "rectangle"), 4)
    0.4024
    """
    if greatest_taper_r <= 1e-6 * constant_r:
        return 1 / constant_r  # the formulas below would lose their digits
    rise = log1p(greatest_taper_r / constant_r)
    ratio = constant_r / greatest_taper_r
    if shape == "rectangle":
        return rise / greatest_taper_r
    if shape == "thick-apex":
        return 2 / greatest_taper_r * ((1 + ratio) * rise - 1)
    return 2 / greatest_taper_r * (1 - ratio * rise)

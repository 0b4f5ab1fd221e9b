"""The vented cavity under a metal panel, eliminated hour by hour."""

from dataclasses import dataclass
from functools import cached_property
from math import hypot

import numpy as np

from lcc.arrays import Array
from lcc.case.layers import Cavity
from lcc.heat.exterior import BareRoof
from lcc.heat.outside_film import GRAVITY
from lcc.heat.precision import by_sign
from lcc.heat.sky import KELVIN, STEFAN_BOLTZMANN

HELPED, HINDERED = 1.51, 0.76  # W/(m² K^4/3), Walton 1983, horizontal faces
# ASHRAE Handbook of Fundamentals, natural ventilation (from memory): sharp openings 0.6 to 0.65,
# winds on the slant 0.25 to 0.35.
DISCHARGE = 0.6
WIND_EFFECTIVENESS = 0.3
ROUGH_START = 30.0  # the next exchange goes on from the first one's state
SLIP_K = 1e-9  # keeps the cube root's slope finite in still air


@dataclass(frozen=True, eq=False)
class CavityState:
    """Temperatures of panel and cavity air [°C], air changes [1/h] and fluxes of every hour.

    `panel_follows` and `air_follows` are their rise for each kelvin of the face below, `lower_c`.
    """

    panel_c: Array
    air_c: Array
    air_changes_per_h: Array
    flux_w_m2: Array
    fall_w_m2k: Array
    lower_c: Array
    panel_follows: Array
    air_follows: Array


@dataclass(frozen=True, eq=False)
class VentedCavity:
    """The layers' outer surface under a cavity and a panel; the panel meets the outdoors.

    Notes
    -----
    Neither panel nor air stores heat. Panel: outdoor flux + h₁ (T_c - T_p) + h_r (T_l - T_p) = 0.
    Air: h₁ (T_p - T_c) + h₂ (T_l - T_c) + V (T_a - T_c) = 0, V = ρ c_p H n / 3600. Both are
    solved for every hour by Newton steps over arrays, to a thousandth of a kelvin.

    References
    ----------
    Walton (1983), natural convection at horizontal faces (from memory): 1.51 |ΔT|^⅓ where
    buoyancy helps, 0.76 |ΔT|^⅓ where it hinders.
    """

    cavity: Cavity
    panel: BareRoof
    area_m2: float = 1.0
    steps: int = 25
    tolerance_k: float = 0.1

    def exchange(
        self, surface_c: Array, before: CavityState | None = None
    ) -> tuple[Array, Array, CavityState]:
        """Return the flux into the lower face [W/m²], its fall [W/m²K], and the cavity's state."""
        state = self.solve(surface_c, before, 1.0 if before else ROUGH_START)
        return state.flux_w_m2, state.fall_w_m2k, state

    def first_guess(self) -> Array:
        """Return outdoor air a third of the way to the bare panel's temperature [°C]."""
        air = self.panel.outdoors.air_c
        return np.asarray(air + (self.panel.first_guess() - air) / 3)

    def solve(
        self, surface_c: Array, before: CavityState | None = None, rough: float = 1.0
    ) -> CavityState:
        """Return the state of panel and air over a lower face of given temperature [°C].

        Notes
        -----
        Newton steps end when they fall below the tolerance times `rough`, or below an eighth of the
        face's own rise; the flux is carried along the last step, so that what is left is of second
        order.
        """
        panel, air, rise_k = self._begun(surface_c, before)
        enough = max(rough * self.tolerance_k, rise_k / 8)
        for _ in range(self.steps):
            balance = self._balance(panel, air, surface_c)
            panel_step, air_step = balance.answer(balance.panel_gap, balance.air_gap)
            panel, air = panel + panel_step, air + air_step
            if max(np.abs(panel_step).max(), np.abs(air_step).max()) < enough:
                break
        return self._state(balance, panel, air, surface_c, panel_step, air_step)

    def _begun(self, surface_c: Array, before: CavityState | None) -> tuple[Array, Array, float]:
        """Panel and air to begin with, moved with the face, and how far it has moved [K]."""
        if before is None:
            return self.panel.first_guess(), surface_c, 0.0
        rise = surface_c - before.lower_c
        panel = before.panel_c + before.panel_follows * rise
        air = before.air_c + before.air_follows * rise
        return panel, air, float(np.abs(rise).max())

    def _balance(self, panel: Array, air: Array, low: Array) -> "_Balance":
        sun, fall = self.panel.flux(panel)
        upper, upper_slope = natural_convection(panel - air, HINDERED, HELPED)
        lower, lower_slope = natural_convection(low - air, HELPED, HINDERED)
        radiation, panel_slope, low_slope = self._radiation(low, panel)
        supply = self._supply(air)
        return _Balance(
            panel_gap=sun - upper + radiation,
            air_gap=upper + lower + supply * (self.panel.outdoors.air_c - air),
            panel_fall=fall + upper_slope + panel_slope,
            air_fall=upper_slope + lower_slope + supply,
            coupling=upper_slope,
            lower=lower,
            radiation=radiation,
            slopes=(lower_slope, panel_slope, low_slope),
        )

    def _radiation(self, low: Array, panel: Array) -> tuple[Array, Array, Array]:
        """Flux from the lower face to the panel [W/m²], its slopes with panel and low face."""
        exchange = STEFAN_BOLTZMANN / (
            1 / self.cavity.panel_lower_emittance + 1 / self.cavity.lower_emittance - 1
        )
        low_k, panel_k = low + KELVIN, panel + KELVIN
        low_cubed = exchange * (low_k * low_k * low_k)
        panel_cubed = exchange * (panel_k * panel_k * panel_k)
        return low_cubed * low_k - panel_cubed * panel_k, 4 * panel_cubed, 4 * low_cubed

    def _supply(self, air: Array) -> Array:
        heat = self.panel.outdoors.air_heat_j_m3k * self.cavity.mean_height_m / 3600
        if self.cavity.ventilation == "openings":
            return self.air_changes(air) * heat
        return self._fixed_supply * heat

    @cached_property
    def _fixed_supply(self) -> Array:
        return self.air_changes(self.panel.outdoors.air_c)

    def air_changes(self, air_c: Array) -> Array:
        """Return the air changes of the cavity [1/h] for its air temperature [°C].

        Notes
        -----
        From openings: Q = √(Q_wind² + Q_stack²), Q_wind = 0.3 A v and
        Q_stack = C_d A √(2 g Δh |ΔT| / T), A the smaller opening (in series with the larger
        one for the stack), C_d = 0.6.

        References
        ----------
        ASHRAE Handbook of Fundamentals, ventilation and infiltration, natural ventilation
        (from memory): wind effectiveness 0.25 to 0.35 for diagonal winds.
        """
        cavity = self.cavity
        if cavity.ventilation == "sealed":
            return np.zeros_like(air_c)
        if cavity.ventilation == "air-changes":
            return np.full_like(air_c, cavity.air_changes_per_h)
        wind = WIND_EFFECTIVENESS * min(cavity.inlet_area_m2, cavity.outlet_area_m2)
        lift = np.abs(air_c - self.panel.outdoors.air_c) / (air_c + KELVIN)
        rise = np.sqrt(2 * GRAVITY * cavity.stack_height_m * lift)
        stack = DISCHARGE * series_area(cavity.inlet_area_m2, cavity.outlet_area_m2) * rise
        flow = np.sqrt((wind * self.panel.outdoors.wind_m_s) ** 2 + stack**2)
        return np.asarray(flow * 3600 / (cavity.mean_height_m * self.area_m2))

    def _state(
        self, balance: "_Balance", panel: Array, air: Array, lower: Array,
        panel_step: Array, air_step: Array,
    ) -> CavityState:  # fmt: skip
        lower_slope, panel_slope, low_slope = balance.slopes
        flux = lower_slope * air_step + panel_slope * panel_step - balance.lower - balance.radiation
        # Panel and air follow the face: d(flux)/dT with both balances kept.
        panel_follows, air_follows = balance.answer(low_slope, lower_slope)
        fall = lower_slope * (1 - air_follows) + low_slope - panel_slope * panel_follows
        changes = self.air_changes(air)
        return CavityState(panel, air, changes, flux, fall, lower, panel_follows, air_follows)


@dataclass(frozen=True, eq=False)
class _Balance:
    """Both balances of a cavity, their slopes, and the fluxes at the lower face."""

    panel_gap: Array
    air_gap: Array
    panel_fall: Array
    air_fall: Array
    coupling: Array
    lower: Array
    radiation: Array
    slopes: tuple[Array, Array, Array]

    def answer(self, to_panel: Array, to_air: Array) -> tuple[Array, Array]:
        """Return the rise of panel and air for heat given to each, by Cramer's rule."""
        determinant = self.panel_fall * self.air_fall - self.coupling**2
        return (
            (to_panel * self.air_fall + to_air * self.coupling) / determinant,
            (to_air * self.panel_fall + to_panel * self.coupling) / determinant,
        )


def natural_convection(
    excess_k: Array, warm: float = HELPED, cool: float = HINDERED
) -> tuple[Array, Array]:
    """Return the flux from a face to air [W/m²] and its slope, for its excess temperature [K].

    Parameters
    ----------
    warm, cool : float
        Coefficients of |ΔT|^⅓ when the face is warmer and when it is cooler than the air.

    Examples
    --------
    >>> flux, slope = natural_convection(np.array([8.0, -8.0]))
    >>> flux.round(2).tolist(), slope.round(3).tolist()
    ([24.16, -12.16], [4.027, 2.027])
    """
    coefficient = by_sign(excess_k, warm, cool) * np.cbrt(np.abs(excess_k) + SLIP_K)
    return coefficient * excess_k, coefficient * (4 / 3)


def series_area(first_m2: float, second_m2: float) -> float:
    """Return the effective area [m²] of two openings in series.

    Examples
    --------
    >>> round(series_area(1.0, 1.0), 4)
    0.7071
    """
    product = first_m2 * second_m2
    return product / hypot(first_m2, second_m2) if product > 0 else 0.0

"""A plain finite-volume march of the heat equations, to hold the fast solution against.

It shares no step with ``lcc.heat.coupled_solver``: layers are cut into cells, time goes forward
in small implicit steps, the outdoor exchange is linearised about the last step, and the thermostat
acts at every step. Many roofs march side by side, so that the loop over time is paid once. Nothing
in the product's figures is computed here.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from lcc.arrays import Array
from lcc.case import Assembly, Building, Cavity, Layer, Site
from lcc.errors import CaseError
from lcc.heat import climate
from lcc.heat.assembly import resolved_layers
from lcc.heat.climate import Climate
from lcc.heat.corrections import ResolvedLayer
from lcc.heat.equipment import consumption
from lcc.heat.hour_interpolation import hours_from_blocks
from lcc.heat.plenum_and_attic import occupied_of
from lcc.heat.psychrometrics import air_heat_j_m3k
from lcc.heat.roof_model import inside_films, outdoors, overhead_in, solve
from lcc.heat.zone import zone_of

SIGMA, KELVIN = 5.670374e-8, 273.15
STEP_S = 300.0
WARM_UP_DAYS = 60
CELLS_A_LAYER = 8


@dataclass(frozen=True)
class MarchCase:
    """One roof over one building in one climate."""

    climate: Climate
    building: Building
    area_m2: float
    assembly: Assembly


@dataclass(frozen=True, eq=False)
class March:
    """Hourly means of the march, arrays of shape (cases, 8760)."""

    roof_flux_w_m2: Array
    surface_c: Array
    indoor_c: Array
    load_w_m2: Array


def march(cases: Sequence[MarchCase], step_s: float = STEP_S) -> March:
    """March all cases through a warm-up and a year; return hourly means.

    Notes
    -----
    Hourly weather is rebuilt to the steps so that every hour keeps its mean; schedules hold for
    their hour. The last days of December warm the layers up before the year begins.
    """
    per_hour = round(3600 / step_s)
    inputs = _Inputs(cases, per_hour)
    a_step = _Step(cases, step_s)
    sums = np.zeros((4, len(cases), 8760))
    for hour in range(-24 * WARM_UP_DAYS, 8760):
        for part in range(per_hour):
            values = a_step.advance(*inputs.at(hour % 8760, part), begins=part == 0)
            if hour >= 0:
                sums[:, :, hour] += values
    return March(*(sums / per_hour))


def cooling_electricity(case: MarchCase, load_w_m2: Array) -> Array:
    """Return the electricity [W/m²] that sensible cooling takes at part load, hour by hour.

    Notes
    -----
    Written apart from `lcc.heat.equipment`: at the part F of a plant 15 % over the highest hour, a
    packaged unit gives less per electricity by 1.13 - 0.13 F.
    """
    plant, cooling = case.building.equipment, np.where(load_w_m2 < 0, -load_w_m2, 0.0)
    size = plant.cooling_capacity_w_m2 or 1.15 * cooling.max()
    warmer = case.climate.dry_bulb_c - 35.0
    rated = np.clip(1 - plant.eer_slope_per_k * warmer, 0.3, 1.6) * plant.cooling_eer * 0.29307107
    return np.asarray(cooling * (1.0 + 0.13 * (1 - np.minimum(cooling, size) / size)) / rated)


class _Inputs:
    """Weather rebuilt to the steps, and schedules, of every case."""

    def __init__(self, cases: Sequence[MarchCase], per_hour: int) -> None:
        skies = [outdoors(c.climate, c.building, c.assembly, "suburban") for c in cases]
        zones = [zone_of(c.building, c.climate, c.area_m2) for c in cases]
        finer = {"air_c": None, "irradiance_w_m2": 0.0, "longwave_w_m2": 0.0,
                 "wind_m_s": 0.0}  # fmt: skip
        weather = [
            [hours_from_blocks(getattr(sky, name), low, parts=per_hour) for sky in skies]
            for name, low in finer.items()
        ]
        plans = ("conductance_w_m2k", "gains_w_m2", "low_c", "high_c")
        self.weather, self.per_hour = np.array(weather), per_hour
        above = [overhead_in(c.building, c.climate).ceiling_m2k_w for c in cases]
        self.plans = np.array([*([getattr(zone, name) for zone in zones] for name in plans), above])

    def at(self, hour: int, part: int) -> tuple[Array, Array]:
        return self.weather[:, :, hour * self.per_hour + part], self.plans[:, :, hour]


class _Step:
    """The state of every case and one implicit step of it."""

    def __init__(self, cases: Sequence[MarchCase], step_s: float) -> None:
        assemblies = [c.assembly for c in cases]
        self.absorptance = np.array([1 - a.solar_reflectance for a in assemblies])
        self.emittance = np.array([a.thermal_emittance for a in assemblies])
        elevations = [c.climate.place.elevation_m for c in cases]
        self.face_film = _Film(cases)
        self.cavity = _CavityTerms([a.cavity for a in assemblies], elevations)
        films = [inside_films(a) for a in assemblies]
        self.up, self.down = (np.array([getattr(f, way) for f in films]) for way in ("up", "down"))
        chains = [_chain(resolved_layers(a)) for a in assemblies]
        self.first, self.last, self.inverse = _matrices(chains, step_s)
        self.capacity = _padded([caps for caps, _ in chains], 1.0) / step_s
        zones = [zone_of(c.building, c.climate, c.area_m2) for c in cases]
        self.storage = np.array([z.storage_w_m2k for z in zones]) * 3600 / step_s
        self.size = np.array([len(caps) for caps, _ in chains])
        self.row = np.arange(len(cases))
        self.cells = np.full(self.capacity.shape, 20.0)
        self.face = np.full(len(cases), 20.0)
        self.surface, self.indoor, self.flux = self.face.copy(), self.face.copy(), 0 * self.face
        above = [overhead_in(c.building, c.climate) for c in cases]
        self.vent = np.array([each.outdoor_w_m2k for each in above])
        self.ducts = np.array([each.duct_loss for each in above])
        self.drawn = np.array([each.return_leak for each in above])
        self.lost, self.evenly = 0 * self.face, 0 * self.face
        self.per_hour = round(3600 / step_s)

    def advance(
        self, weather: Array, plans: Array, begins: bool
    ) -> tuple[Array, Array, Array, Array]:
        source, slope = self._outdoor(*weather)
        inner_r = self.last + np.where(self.flux > 0, self.down, self.up)
        air, ceiling = weather[0], 1 / np.maximum(plans[-1], 1e-7)
        # Ceiling and attic air as one resistance to one temperature.
        within = ceiling * self.indoor + self.vent * air - self.lost
        beyond = within / (ceiling + self.vent)
        out_g, in_g = slope / (1 + slope * self.first), 1 / (inner_r + 1 / (ceiling + self.vent))
        self._conduct(source / (1 + slope * self.first), out_g, in_g, beyond)
        edge = self.cells[self.row, self.size - 1]
        outer = (source - slope * self.cells[:, 0]) / (1 + slope * self.first)
        self.surface = self.cells[:, 0] + outer * self.first
        self.flux = (edge - beyond) * in_g
        plenum = beyond + self.flux / (ceiling + self.vent)
        self.into_room = self.flux - self.lost + self.vent * (air - plenum)
        at_once = self._brought(*plans[2:4]) if begins else 0.0
        load = self._thermostat(air, *plans[:-1])
        taken = self.lost
        self.lost = self._ducts(load - at_once + self.evenly, plenum)
        return self.flux, self.surface, self.indoor, load - taken

    def _brought(self, low: Array, high: Array) -> Array:
        """Heat that takes the room to a new set point in the hour's first step.

        To ducts it comes evenly over the hour: no unit does it within a step.
        """
        at_once = self.storage * (np.clip(self.indoor, low, high) - self.indoor)
        self.evenly = at_once / self.per_hour
        return np.asarray(at_once)

    def _ducts(self, load: Array, plenum: Array) -> Array:
        """What ducts take from the plenum: cold of 13 °C over 11 K, heat of 40 °C over 20 K."""
        warmer = self.drawn * (plenum - self.indoor)
        cold = (self.ducts * (plenum - 13.0) + warmer) / 11.0
        hot = (self.ducts * (40.0 - plenum) - warmer) / 20.0
        part = np.clip(np.where(load < 0, cold, hot), 0, 0.6)
        return np.asarray(-load * part / (1 - part))

    def _outdoor(self, air: Array, sun: Array, sky: Array, wind: Array) -> tuple[Array, Array]:
        """Flux into the layers' outer surface as source minus slope times its temperature."""
        kelvin, wind = self.face + KELVIN, self.face_film.coefficient(self.face - air, wind)
        radiating = 4 * self.emittance * SIGMA * kelvin**3
        rest = self.absorptance * sun + wind * air + self.emittance * sky
        rest = rest + radiating * self.face - self.emittance * SIGMA * kelvin**4
        source, slope, self.face = self.cavity.through(
            rest, wind + radiating, air, self.surface, self.face
        )
        return source, slope

    def _conduct(self, source: Array, out_g: Array, in_g: Array, beyond: Array) -> None:
        """One implicit step; both ends enter by a rank-two correction of the fixed inverse."""
        right = self.capacity * self.cells
        right[:, 0] += source
        right[self.row, self.size - 1] += in_g * beyond
        free = np.matmul(self.inverse, right[:, :, None])[:, :, 0]
        near, far = self.inverse[:, :, 0], self.inverse[self.row, :, self.size - 1]
        end = self.size - 1
        a, b = 1 + out_g * near[:, 0], in_g * far[:, 0]
        c, d = out_g * near[self.row, end], 1 + in_g * far[self.row, end]
        determinant = a * d - b * c
        first, last = free[:, 0], free[self.row, end]
        x, y = (first * d - last * b) / determinant, (last * a - first * c) / determinant
        self.cells = free - (out_g * x)[:, None] * near - (in_g * y)[:, None] * far

    def _thermostat(self, air: Array, k: Array, gains: Array, low: Array, high: Array) -> Array:
        whole = self.storage + k
        drive = self.storage * self.indoor + k * air + gains + self.into_room
        self.indoor = np.clip(drive / whole, low, high)
        return np.asarray(whole * self.indoor - drive)


class _Film:
    """The outside film of every case for the last step's face, written apart from the product's.

    Plates of length L: 0.037 R_f k/L Re^0.8 Pr^⅓ forced; natural 0.15 k/L Ra^⅓ warm, 0.27 k/L
    Ra^¼ cold, weighed by ln(1 + Gr/Re²) over one more than it.
    """

    def __init__(self, cases: Sequence[MarchCase]) -> None:
        self.length = np.sqrt([c.area_m2 for c in cases])
        rough = {"smooth": 1.13, "granular": 1.52, "gravel": 1.67}
        self.rough = np.array([rough[c.assembly.roughness] for c in cases])
        heats = np.array([air_heat_j_m3k(c.climate.place.elevation_m) for c in cases])
        self.thin = air_heat_j_m3k(0.0) / heats

    def coefficient(self, excess: Array, wind: Array) -> Array:
        v, size = np.maximum(wind, 0.4), np.abs(excess) + 1e-6
        nu, alpha = 1.589e-5 * self.thin, 2.25e-5 * self.thin
        reynolds = v * self.length / nu
        forced = 0.037 * self.rough * reynolds**0.8 * 0.707 ** (1 / 3)
        grashof = 9.81 / 300 * size * self.length**3 / nu**2
        rayleigh = grashof * nu / alpha
        natural = np.where(excess > 0, 0.15 * np.cbrt(rayleigh), 0.27 * rayleigh**0.25)
        part = np.log(1 + grashof / reynolds**2)
        return np.asarray(0.0263 / self.length * (forced + natural * part / (1 + part)))


class _CavityTerms:
    """The cavities of every case with coefficients of the last step; none where there is none."""

    def __init__(self, cavities: Sequence[Cavity | None], elevations: Sequence[float]) -> None:
        self.present = np.array([c is not None for c in cavities])
        some = [c or Cavity() for c in cavities]
        if any(c.ventilation == "openings" for c in some):
            raise CaseError("cavity.ventilation", "openings", "air changes or none in the march")
        changes = [0.0 if c.ventilation == "sealed" else c.air_changes_per_h for c in some]
        heights = np.array([c.mean_height_m for c in some])
        self.supply = (
            np.array([air_heat_j_m3k(z) for z in elevations]) * heights * np.array(changes) / 3600
        )
        emittances = [1 / (1 / c.panel_lower_emittance + 1 / c.lower_emittance - 1) for c in some]
        self.exchange = np.array(emittances) * SIGMA
        self.air = np.full(len(some), 20.0)

    def through(self, rest: Array, slope: Array, air: Array, low: Array, panel: Array) -> Any:
        """Eliminate panel and cavity air; return source and slope at the layers, and the face."""
        upper, lower = (
            _walton(air_gap=panel - self.air, warm=0.76, cool=1.51),
            _walton(air_gap=low - self.air, warm=1.51, cool=0.76),
        )
        low_k, panel_k = low + KELVIN, panel + KELVIN
        radiation = self.exchange * (low_k**2 + panel_k**2) * (low_k + panel_k)
        j11, j22 = slope + upper + radiation, upper + lower + self.supply
        determinant = j11 * j22 - upper**2
        still_panel = (rest * j22 + self.supply * air * upper) / determinant
        still_air = (self.supply * air * j11 + rest * upper) / determinant
        panel_part = (radiation * j22 + lower * upper) / determinant
        air_part = (lower * j11 + radiation * upper) / determinant
        source = lower * still_air + radiation * still_panel
        fall = lower * (1 - air_part) + radiation * (1 - panel_part)
        self.air = still_air + air_part * low
        face = np.where(self.present, still_panel + panel_part * low, low)
        return np.where(self.present, source, rest), np.where(self.present, fall, slope), face


def _walton(air_gap: Array, warm: float, cool: float) -> Array:
    return np.where(air_gap > 0, warm, cool) * np.cbrt(np.abs(air_gap) + 1e-9)


def _chain(layers: Sequence[ResolvedLayer]) -> tuple[list[float], list[float]]:
    """Cell capacities [J/m²K], and the resistances before, between and after them [m²K/W]."""
    capacities: list[float] = []
    resistances, pending = [], 0.0
    for layer in layers:
        if layer.capacity_j_m2k == 0:
            pending += layer.resistance_m2k_w
            continue
        for _ in range(CELLS_A_LAYER):
            half = layer.resistance_m2k_w / CELLS_A_LAYER / 2
            resistances.append(pending + half)
            capacities.append(layer.capacity_j_m2k / CELLS_A_LAYER)
            pending = half
    return capacities, [*resistances, pending]


def _matrices(chains: Sequence[tuple[list[float], list[float]]], step_s: float) -> Any:
    """First and last resistance, and the inverse of (C/Δt + K) without the two ends."""
    size = max(len(caps) for caps, _ in chains)
    whole = np.tile(np.eye(size), (len(chains), 1, 1))
    for matrix, (caps, between) in zip(whole, chains, strict=True):
        count = len(caps)
        links = 1 / np.array(between[1:-1])
        matrix[:count, :count] = np.diag(np.array(caps) / step_s)
        for index, link in enumerate(links):
            matrix[index : index + 2, index : index + 2] += link * np.array([[1, -1], [-1, 1]])
    ends = np.array([[between[0], between[-1]] for _, between in chains])
    return ends[:, 0], ends[:, 1], np.linalg.inv(whole)


def _padded(rows: Sequence[Sequence[float]], fill: float) -> Array:
    size = max(len(row) for row in rows)
    return np.array([[*row, *[fill] * (size - len(row))] for row in rows])


CLIMATES = ("houston-tx", "chicago-il", "phoenix-az")
AREA_M2 = 2000.0
# At 300 s the march itself is 1 % off where an attic leaves the roof little flux.
FINE_STEP_S = 150.0


def reference_roofs() -> dict[str, Assembly]:
    """Return the eight roofs, light to heavy, bare and under a panel, over an open deck."""
    covering, deck = Layer(material="built-up-roofing"), Layer(material="steel-deck")
    board = Layer(material="polyiso-board", thickness_m=0.05)
    concrete = Layer(material="concrete-structural", thickness_m=0.15)
    blanket = Layer(material="glass-fibre-blanket", thickness_m=0.15)
    old_light, old_heavy = (covering, board, deck), (covering, concrete)
    panel = Assembly(solar_reflectance=0.6, thermal_emittance=0.85, cavity=Cavity())
    sealed = Cavity(ventilation="sealed")
    return {
        "bare steel deck": Assembly(layers=(deck,), solar_reflectance=0.6),
        "dark built-up over board": Assembly(layers=old_light, solar_reflectance=0.1),
        "built-up on concrete": Assembly(layers=old_heavy),
        "dark built-up on plywood": Assembly(
            layers=(covering, Layer(material="plywood")), solar_reflectance=0.1
        ),
        "retrofit over board": replace(panel, layers=(blanket, *old_light)),
        "retrofit, sealed": replace(panel, layers=(blanket, *old_light), cavity=sealed),
        "retrofit over concrete": Assembly(layers=(blanket, *old_heavy), cavity=Cavity()),
        "retrofit over thin board": Assembly(
            layers=(Layer(material="eps-board", thickness_m=0.025), deck), cavity=Cavity()
        ),
    }


def reference_cases() -> dict[tuple[str, str], MarchCase]:
    """Return every roof over a school in every climate, by climate and roof.

    Eight roofs over an open deck, and one roof with each thing that may be below its deck.
    """
    roofs = reference_roofs()
    board = roofs["dark built-up over board"]
    below = {
        name: (assembly, Building(use="school", overhead="open-deck"))
        for name, assembly in roofs.items()
    }
    below |= {
        f"board, {kind}": (board, Building(use="school", overhead=kind))
        for kind in ("suspended-ceiling", "return-plenum", "ducts-above-ceiling", "attic")
    }
    return {
        (station, name): MarchCase(climate.load(Site(climate=station)), building, AREA_M2, assembly)
        for station in CLIMATES
        for name, (assembly, building) in below.items()
    }


@cache
def agreement() -> dict[tuple[str, str], dict[str, float]]:
    """Return how far the fast solution is from the march, by climate and roof.

    Returns
    -------
    dict
        `gain`, `loss`, `cooling` and `heating`: relative difference of the year's sum;
        `electricity`: that of the sensible cooling's electricity, with the part-load curve;
        `rms`: root mean square difference of the hourly flux over the march's highest flux.

    Notes
    -----
    The march takes some seconds, so it is done once in a process.
    """
    cases = reference_cases()
    marched = march(tuple(cases.values()), FINE_STEP_S)
    return {
        name: _differences(case, marched.roof_flux_w_m2[index], marched.load_w_m2[index])
        for index, (name, case) in enumerate(cases.items())
    }


def _differences(case: MarchCase, flux: Array, load: Array) -> dict[str, float]:
    ours = solve(case.climate, case.building, case.area_m2, case.assembly)
    q, p = ours.heat.roof_flux_w_m2, ours.load_w_m2
    runs, air_c = occupied_of(case.building.use), case.climate.dry_bulb_c
    used = consumption(case.building.equipment, p, air_c, runs).cooling_electricity
    return {
        "gain": _relative(q, flux),
        "loss": _relative(-q, -flux),
        "cooling": _relative(-p, -load),
        "heating": _relative(p, load),
        "electricity": _relative(used, cooling_electricity(case, load)),
        "rms": float(np.sqrt(np.mean((q - flux) ** 2)) / np.abs(flux).max()),
    }


def _relative(ours: Array, theirs: Array) -> float:
    return float(np.maximum(ours, 0).sum() / np.maximum(theirs, 0).sum() - 1)

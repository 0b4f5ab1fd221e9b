"""One assembly or thousands: their steady, periodic and, with a climate, annual figures."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from api import schemas, service
from api.limits import MOST_ASSEMBLIES, MOST_WITH_CLIMATE
from api.problems import from_case_error
from api.reply_parts import ECHO, echo
from lcc.case import Assembly, Building, Site
from lcc.case.fields import CasePart, Key, Part, Parts, Quantity, Text
from lcc.errors import MOST_LISTED, CaseError
from lcc.heat import climate as climates
from lcc.heat.assembly import resolved_layers, steady
from lcc.heat.cavity import CavityState
from lcc.heat.climate import Climate
from lcc.heat.conduction import dynamic
from lcc.heat.coupled_solver import FixedAir
from lcc.heat.iso6946 import R_SE, R_SI
from lcc.heat.roof_model import solve_space
from lcc.heat.sri import solar_reflectance_index
from lcc.units import System

# The air space of a cavity is worked out per area; its openings are those of this much roof.
REFERENCE_AREA_M2 = 1000.0

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class AssembliesRequest(CasePart):
    """Assemblies to work out, and the climate for their annual figures."""

    assemblies: Annotated[tuple[Assembly, ...], Parts(
        "Assemblies", low=1, high=MOST_ASSEMBLIES, advanced=False)] = ()
    climate: Annotated[str | None, Key(
        "climates", "Climate", when_unset="no annual figures", advanced=False,
        help=f"With a climate at most {MOST_WITH_CLIMATE} assemblies.")] = None
    indoor_temperature_c: Annotated[float, Quantity(
        "temperature", "Indoor temperature of the annual figures", low=-50, high=80,
        basis="common practice", source="between usual heating and cooling set points")] = 22.0

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.climate is not None and len(self.assemblies) > MOST_WITH_CLIMATE:
            allowed = f"at most {MOST_WITH_CLIMATE} with a climate"
            raise CaseError("assemblies", len(self.assemblies), allowed)


@dataclass(frozen=True)
class AnnualFigures:
    """A typical year of an assembly over air of constant temperature, per area of roof."""

    heat_gain_kwh_m2: Annotated[float, Quantity("energy_per_area", "Heat inward over the year")]
    heat_loss_kwh_m2: Annotated[float, Quantity("energy_per_area", "Heat outward over the year")]
    peak_gain_w_m2: Annotated[float, Quantity("flux", "Highest flux inward")]
    peak_loss_w_m2: Annotated[float, Quantity("flux", "Highest flux outward")]
    hottest_surface_c: Annotated[float, Quantity("temperature", "Hottest outermost surface")]
    coldest_surface_c: Annotated[float, Quantity("temperature", "Coldest outermost surface")]


@dataclass(frozen=True)
class AssemblyFigures:
    """What an assembly does to heat."""

    name: Annotated[str, Text("Name")]
    u_value_up_w_m2k: Annotated[float, Quantity("u_value", "U-value, heat flowing up (ISO 6946)")]
    u_value_down_w_m2k: Annotated[float, Quantity(
        "u_value", "U-value, heat flowing down (ISO 6946)")]
    u_value_w_m2k: Annotated[float, Quantity(
        "u_value", "U-value with the surface resistances given, or horizontal ones")]
    resistance_m2k_w: Annotated[float, Quantity("resistance", "R-value, surface to surface")]
    fastener_share: Annotated[float, Quantity("fraction", "Part of the U-value that steel adds")]
    decrement_factor: Annotated[float, Quantity("ratio", "Decrement factor, 24 h (ISO 13786)")]
    time_lag_h: Annotated[float, Quantity("hours", "Time lag, 24 h (ISO 13786)")]
    periodic_transmittance_w_m2k: Annotated[float, Quantity(
        "u_value", "Periodic transmittance, 24 h")]
    areal_heat_capacity_j_m2k: Annotated[float, Quantity(
        "heat_capacity", "Heat capacity, inside, 24 h")]
    solar_reflectance_index: Annotated[float, Quantity(
        "ratio", "Solar reflectance index (ASTM E1980)")]
    annual: Annotated[AnnualFigures | None, Part("Annual figures, with a climate")] = None


# fmt: on


@dataclass(frozen=True)
class AssembliesAnswer:
    """The figures of every assembly, in the order of the request."""

    assemblies: Annotated[tuple[AssemblyFigures, ...], Parts("Assemblies")]


def reply(
    request: AssembliesRequest,
    system: System,
    document: dict[str, Any],
    include: Sequence[str] = ECHO,
) -> dict[str, object]:
    """Return the answer to a request, in its units.

    Raises
    ------
    Problem
        With the faults of all assemblies that cannot be worked out.
    """
    climate = climates.load(Site(climate=request.climate)) if request.climate else None
    done: list[AssemblyFigures] = []
    faults: list[CaseError] = []
    for index, assembly in enumerate(request.assemblies):
        try:
            done.append(figures(assembly, climate, request.indoor_temperature_c))
        except CaseError as error:
            faults.append(error.inside("assemblies", index))
            if len(faults) > MOST_LISTED:
                break
    if faults:
        raise from_case_error(*faults, payload=None)
    answer = schemas.schema_for(AssembliesAnswer, system, reply=True)()
    return {
        **service.versions(), "units": system, **echo(include, document),
        **answer.dump(AssembliesAnswer(tuple(done))),
    }  # fmt: skip


def figures(assembly: Assembly, climate: Climate | None, indoor_c: float) -> AssemblyFigures:
    """Return the figures of one assembly; the annual ones where there is a climate."""
    still = steady(assembly)
    inside, outside = assembly.inside_resistance_m2k_w, assembly.outside_resistance_m2k_w
    periodic = dynamic(
        resolved_layers(assembly),
        R_SI["horizontal"] if inside is None else inside,
        R_SE if outside is None else outside,
    )
    return AssemblyFigures(
        name=assembly.name,
        u_value_up_w_m2k=still.u_up_w_m2k,
        u_value_down_w_m2k=still.u_down_w_m2k,
        u_value_w_m2k=still.u_w_m2k,
        resistance_m2k_w=still.resistance_m2k_w,
        fastener_share=still.fastener_share,
        decrement_factor=periodic.decrement_factor,
        time_lag_h=periodic.time_lag_h,
        periodic_transmittance_w_m2k=periodic.periodic_transmittance_w_m2k,
        areal_heat_capacity_j_m2k=periodic.inside_capacity_j_m2k,
        solar_reflectance_index=solar_reflectance_index(
            assembly.solar_reflectance, assembly.thermal_emittance
        ),
        annual=annual(assembly, climate, indoor_c) if climate else None,
    )


def annual(assembly: Assembly, climate: Climate, indoor_c: float) -> AnnualFigures:
    """Return the year of an assembly over air of constant temperature."""
    air = FixedAir(np.full(climate.dry_bulb_c.size, indoor_c))
    heat = solve_space(climate, Building(), REFERENCE_AREA_M2, assembly, air)
    flux = heat.roof_flux_w_m2
    state = heat.exterior_state
    face = state.panel_c if isinstance(state, CavityState) else heat.surface_c
    return AnnualFigures(
        heat_gain_kwh_m2=float(np.maximum(flux, 0).sum()) / 1000,
        heat_loss_kwh_m2=float(np.maximum(-flux, 0).sum()) / 1000,
        peak_gain_w_m2=float(max(flux.max(), 0)),
        peak_loss_w_m2=float(max(-flux.min(), 0)),
        hottest_surface_c=float(face.max()),
        coldest_surface_c=float(face.min()),
    )


__all__ = ["AssembliesRequest", "AssemblyFigures", "figures", "reply"]

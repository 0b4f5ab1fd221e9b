"""Every value a field allows is computed, or refused by a `CaseError` that names a field."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lcc import tables
from lcc.case import Assembly, Building, Cavity, Equipment, Fasteners, Layer, Prices, Site
from lcc.case.fields import facts_of
from lcc.errors import CaseError
from lcc.heat import climate as climates
from lcc.heat.assembly import resolved_layers
from lcc.heat.conduction import dynamic, year_response
from lcc.heat.energy import energy_year
from lcc.heat.roof_model import solve

STATIONS = ("fargo-nd", "phoenix-az", "san-juan-pr")
ROOFS = settings(max_examples=40)


def allowed(cls, name):
    """An end of a field's range or a value between, evenly in its logarithm where it is wide."""
    facts = facts_of(cls)[name]
    low = facts.high * 1e-4 if facts.low_open else facts.low
    ends = st.sampled_from([low, facts.high])
    if low <= 0 or facts.high < 50 * low:
        return ends | st.floats(low, facts.high)
    return ends | st.floats(0, 1).map(
        lambda part: min(low * (facts.high / low) ** part, facts.high)
    )


def some(cls, needed=(), **fixed):
    """A part of a case with any of its quantities, and the needed ones, at any allowed value."""
    names = [name for name, facts in facts_of(cls).items() if facts.type == "quantity"]
    always = fixed | {name: allowed(cls, name) for name in needed}
    chosen = {name: allowed(cls, name) for name in names if name not in always}
    return st.fixed_dictionaries(always, optional=chosen).map(lambda fields: cls(**fields))


SOLID = ("thickness_m", "conductivity_w_mk", "density_kg_m3", "specific_heat_j_kgk")
layers = st.one_of(
    some(Layer, SOLID, resistance_m2k_w=st.none(), air_gap_m=st.none()),
    some(Layer, ("thickness_m",), material=st.sampled_from(tables.keys("materials")),
         fasteners=st.none() | some(Fasteners, ("number_per_m2", "section_m2")),
         air_gap_m=st.none()),
    st.builds(Layer, resistance_m2k_w=allowed(Layer, "resistance_m2k_w")),
    st.builds(Layer, air_gap_m=allowed(Layer, "air_gap_m"),
              air_openings_mm2_m2=allowed(Layer, "air_openings_mm2_m2")),
)  # fmt: skip
cavities = some(Cavity, ventilation=st.sampled_from(["air-changes", "openings", "sealed"]))
assemblies = some(
    Assembly, layers=st.lists(layers, min_size=1, max_size=5).map(tuple),
    cavity=st.none() | cavities,
)  # fmt: skip
equipments = st.one_of(
    some(Equipment, heating=st.sampled_from(["gas", "resistance"]),
         heating_efficiency=st.none() | st.floats(0.3, 1)),
    some(Equipment, heating=st.just("heat-pump"),
         heating_efficiency=st.none() | st.floats(1, 6)),
)  # fmt: skip
buildings = some(
    Building, use=st.sampled_from(tables.keys("building_uses")), storeys=st.sampled_from([1, 200]),
    mass=st.sampled_from(["light", "medium", "heavy"]),
    overhead=st.sampled_from([None, *tables.keys("overheads")]),
)  # fmt: skip


def figures(result):
    """Every number of a result, however deep."""
    if dataclasses.is_dataclass(result):
        for field in dataclasses.fields(result):
            yield from figures(getattr(result, field.name))
    elif isinstance(result, tuple):
        for item in result:
            yield from figures(item)
    elif isinstance(result, float):
        yield result


def computed(*inputs):
    """The year of heat, or the refusal."""
    try:
        return energy_year(*inputs, Prices())
    except CaseError as refusal:
        return refusal


@pytest.mark.thorough
@ROOFS
@given(st.sampled_from(STATIONS), buildings, st.floats(1, 1e6), assemblies)
def test_what_is_allowed_is_computed_or_refused(station, building, area_m2, assembly):
    """No warning (they are errors), no NaN, no year that does not converge."""
    year = computed(climates.load(Site(climate=station)), building, area_m2, assembly)
    if isinstance(year, CaseError):
        assert year.field.partition(".")[0] in {"layers", "heating_setpoint", "ceiling_resistance"}
        return
    assert all(math.isfinite(figure) for figure in figures(year))
    assert year.residual_k <= 2e-3
    assert year.iterations < 60


@given(equipments)
@settings(max_examples=20)
def test_any_equipment_gives_finite_bills(equipment):
    climate = climates.load(Site(climate="fargo-nd"))
    building = Building(equipment=equipment)
    year = energy_year(climate, building, 1000.0, Assembly(layers=(Layer(material="plywood"),)),
                       Prices())  # fmt: skip
    assert all(math.isfinite(figure) for figure in figures(year))


HEAVY = Layer(thickness_m=2.0, conductivity_w_mk=0.72, density_kg_m3=7200.0,
              specific_heat_j_kgk=10000.0)  # fmt: skip
SLAB = Layer(material="concrete-structural", thickness_m=0.25)
LOFT, BOARD = Layer(resistance_m2k_w=50.0), Layer(material="eps-board", thickness_m=0.2)
STILL = Cavity(ventilation="sealed", lower_emittance=0.02, mean_height_m=10.0)
FREE = {"conditioning": "none", "infiltration_per_h": 0.0}


@pytest.mark.parametrize(
    ("layers_inward", "cavity", "building"),
    [
        ((LOFT, HEAVY), None, Building(use="warehouse-unconditioned")),
        ((BOARD, SLAB), None, Building(use="warehouse-unconditioned", infiltration_per_h=0.05,
                                       mass="light")),
        ((LOFT, SLAB), None, Building(use="grocery", **FREE)),
        ((Layer(material="steel-panel"), HEAVY), STILL, Building(use="library", **FREE)),
    ],
    ids=["heavy inside", "slab over a light space", "tight by night", "still cavity"],
)  # fmt: skip
def test_where_the_parts_lean_on_each_other_the_year_converges(layers_inward, cavity, building):
    """While the space knew the roof by its steady U alone, these took over 30 steps or no end."""
    assembly = Assembly(layers=layers_inward, cavity=cavity, solar_reflectance=0.2)
    found = solve(climates.load(Site(climate="phoenix-az")), building, 50e3, assembly).heat
    assert found.iterations <= 15


def test_a_wave_that_does_not_reach_the_other_face_is_none():
    """2 m of the heaviest and least conducting layer: e^x would be beyond any number."""
    thick = Layer(thickness_m=2.0, conductivity_w_mk=0.005, density_kg_m3=25000.0,
                  specific_heat_j_kgk=10000.0)  # fmt: skip
    solid_layers = resolved_layers(Assembly(layers=(thick,)))
    response = year_response(solid_layers)
    assert response.cross[0].real == pytest.approx(0.005 / 2)
    assert not response.cross[-1]
    # The face of a half space: sqrt(i ω λ ρ c).
    omega = 2 * np.pi / 86400
    assert abs(response.outer[365]) == pytest.approx(math.sqrt(omega * 0.005 * 25000 * 10000))
    figures_of_a_day = dynamic(solid_layers, 0.13, 0.04)
    assert figures_of_a_day.decrement_factor == 0
    assert 0 <= figures_of_a_day.time_lag_h < 24

"""What every test file shares."""

import dataclasses
import types

import pytest
from hypothesis import settings

from lcc.case import Case, Layer, Roof, Site
from lcc.compare import compare
from lcc.heat.assembly import resolve
from lcc.results import EnergyYear, HotDay, Monthly

# The same examples in every run, and no deadline: the machine may be shared.
settings.register_profile("house", derandomize=True, deadline=None, database=None)
settings.load_profile("house")


@pytest.fixture(scope="session")
def flat_roof():
    """A roof of 2,000 m² with one dry covering of age 5 and two inches of board."""
    layers = (
        Layer(material="built-up-roofing"),
        Layer(material="perlite-board", thickness_m=0.05),
        Layer(material="steel-deck"),
    )
    return Roof(area_m2=2000.0, covering="built-up-smooth", age_y=5.0, layers=layers)


@pytest.fixture(scope="session")
def plain_energy():
    """A stand-in for the heat core: the bill falls with the resistance of the layers."""
    nothing = {f.name: 0.0 for f in dataclasses.fields(EnergyYear)}
    months = Monthly(*[(0.0,) * 12] * 5)
    day = HotDay("July 1", *[(0.0,) * 24] * 3)

    def energy(climate, building, area_m2, assembly, prices, terrain="suburban"):
        resistance = sum(resolve(layer).resistance_m2k_w for layer in assembly.layers)
        electricity, gas = 10.0 * area_m2 / (1 + resistance), 20.0 * area_m2 / (1 + resistance)
        figures = {
            "assembly": assembly.name,
            "years": (),
            "monthly": months,
            "hot_day": day,
            "condensation": None,
            "cooling_electricity_kwh": electricity,
            "gas_kwh": gas,
            "electricity_cost": electricity * prices.electricity_per_kwh,
            "gas_cost": gas * prices.gas_per_kwh,
        }
        return EnergyYear(**(nothing | figures))

    return energy


@pytest.fixture(scope="session")
def compared(plain_energy):
    """Compare a case with the stand-in for the heat core, in climate zone 3A."""
    zone = types.SimpleNamespace(zone="3A", name="a plain place")
    return lambda case: compare(case, energy=plain_energy, climate=lambda site: zone)


@pytest.fixture(scope="session")
def flat_case(flat_roof):
    """A case on the flat roof: membranes again and again against a metal retrofit."""
    return Case(site=Site(climate="tulsa-ok"), roof=flat_roof)

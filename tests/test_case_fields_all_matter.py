"""Every field of site, building, money, draws, layers and survey changes a result or is refused.

The fields of the roof, the alternatives and the duties' prices are asked one by one in
tests/test_case_fields_matter.py; here each other field takes some values within its limits.
"""

import dataclasses
import json

import pytest

from lcc import compare, load_case
from lcc import tables as data
from lcc.case import (
    Building,
    Cavity,
    Economics,
    Equipment,
    Fasteners,
    Financing,
    Framing,
    Layer,
    Prices,
    Rectangle,
    Site,
    Tax,
    Uncertainty,
    UnitPrices,
)
from lcc.case.fields import facts_of
from lcc.case.other_work import OtherWork
from lcc.case.wind_and_snow import WindAndSnow
from lcc.errors import CaseError

pytestmark = pytest.mark.thorough

# Where a part stands in the case, and its fields that are asked for elsewhere or are parts.
PLACES = {
    Site: "site",
    Building: "building",
    Equipment: "building.equipment",
    Prices: "prices",
    Economics: "economics",
    Tax: "economics.tax",
    Financing: "economics.financing",
    Uncertainty: "uncertainty",
    Layer: "roof.layers.2",
    Fasteners: "roof.layers.2.fasteners",
    Cavity: "alternatives.0.cavity",
    Framing: "alternatives.1.framing",
    Rectangle: "alternatives.1.framing.rectangles.0",
    WindAndSnow: "alternatives.1.framing.wind_and_snow",
    OtherWork: "alternatives.1.framing.other_work",
    UnitPrices: "alternatives.1.framing.unit_prices",
}
ELSEWHERE = {  # another test changes them
    (Site, "weather"),  # tests/test_heat_climate.py
    (Site, "sky"),  # of a weather file alone
    (Framing, "quotation_from"),  # a name beside the quotation
}
# What must be so beside, before a field matters: paths within the case.
OTHER, SHAPE = "alternatives.1.framing.other_work.", "alternatives.1.framing.rectangles.0."
PRICE, BARE = "alternatives.1.framing.unit_prices.", {"alternatives.0.framing": None}
OPEN = BARE | {"alternatives.0.cavity.ventilation": "openings",
               "alternatives.0.cavity.inlet_area_m2": 4.0,
               "alternatives.0.cavity.outlet_area_m2": 4.0}  # fmt: skip
AIR = {"roof.layers.2": Layer(air_gap_m=0.05)}
FOLLOWED = {SHAPE + "bearing_spacing_m": 1.8}
BESIDE = {
    "site.climate_zone": {"site.place": "74103", "site.climate": None},
    "building.equipment.fan": {"building.equipment.fan_power_w_m2": 5.0},
    "economics.inflation": {"economics.rate_kind": "nominal"},
    "economics.tax.expensing_limit": {"economics.tax.expensing": "all"},
    "economics.tax.expensing_threshold": {
        "economics.tax.expensing": "all",
        "economics.tax.expensing_limit": 300000.0,
    },
    "economics.tax.old_roof_basis": {"economics.tax.partial_disposition": True},
    "economics.tax.old_roof_years": {
        "economics.tax.partial_disposition": True,
        "economics.tax.old_roof_basis": 90000.0,
    },
    "economics.tax.partial_disposition": {"economics.tax.old_roof_basis": 90000.0},
    "economics.financing.escalation": {"economics.financing.how": "lease"},
    "uncertainty.wet_area_range": {"roof.wet_fraction": 0.1},
    "uncertainty.unknown_range": {"roof.asbestos": "not-tested"},
    "roof.layers.2.air_gap_m": AIR,
    "roof.layers.2.air_openings_mm2_m2": AIR,
    "roof.layers.2.taper_shape": {"roof.layers.2.taper_m": 0.03},
    "alternatives.0.cavity.mean_height_m": OPEN,
    "alternatives.0.cavity.air_changes_per_h": BARE,
    "alternatives.0.cavity.inlet_area_m2": OPEN,
    "alternatives.0.cavity.outlet_area_m2": OPEN,
    "alternatives.0.cavity.stack_height_m": OPEN,
    "alternatives.0.cavity.covering_air_layer_m": {
        "alternatives.0.cavity.roof_moisture_kg_m2": 2.0
    },
    SHAPE + "deck_drains_to": {SHAPE + "deck_slope": 0.02},
    SHAPE + "bearing_runs": FOLLOWED,
    SHAPE + "bearing_first_m": FOLLOWED,
    PRICE + "hip_per_m": {SHAPE + "hip_ends": ("left",)},
    PRICE + "parapet_flashing_per_m": {SHAPE + "parapet_front_m": 1.0},
    PRICE + "post_not_given": {SHAPE + "bearing_spacing_m": 2.4},
    PRICE + "skylight_carried": {OTHER + "skylights_carried": 3},
    PRICE + "skylight_covered": {OTHER + "skylights_covered": 3},
    PRICE + "ballast_per_m2": {OTHER + "ballast_kg_m2": 50.0},
    PRICE + "expansion_joint_per_m": {OTHER + "expansion_joint_m": 20.0},
    PRICE + "storm_tie": {OTHER + "storm_ties": True, OTHER + "rain_hour_m": 0.08},
    PRICE + "drain_abandoned": {OTHER + "drains_abandoned": 4},
    PRICE + "access_per_m2": {OTHER + "access_height_m": 8.0},
    PRICE + "set_up_by_area_per_m2": {OTHER + "scaled_set_up": True},
    PRICE + "general_conditions_rate": {OTHER + "general_conditions": True},
}


VALUES = {  # where values between the limits say nothing
    "building.cooling_setpoint_c": [26.0],
    "economics.tax.expensing_limit": [10000.0],
    "economics.tax.expensing_threshold": [10000.0],
    "roof.layers.2.air_openings_mm2_m2": [510.0],
}


def _with(part, path, value):
    """A part with another value at a path, `roof.layers.2.moisture`."""
    first, _, rest = path.partition(".")
    if isinstance(part, tuple):
        at = int(first)
        return (*part[:at], _with(part[at], rest, value) if rest else value, *part[at + 1 :])
    if rest:
        value = _with(getattr(part, first), rest, value)
    return dataclasses.replace(part, **{first: value})


@pytest.fixture(scope="module")
def everything():
    """The demo with tax, a loan, fasteners, and a second retrofit at the price of its take-off."""
    document = json.loads(data.read_text("demo/case.json"))
    surveyed = {k: v for k, v in document["alternatives"][0].items()
                if k not in ("price", "cavity", "slope", "layers")}  # fmt: skip
    document["alternatives"].insert(1, {**surveyed, "name": "Priced by its survey"})
    case = load_case(document)
    made = {"economics.tax": Tax(rate=0.3), "economics.financing": Financing(),
            "uncertainty": Uncertainty(draws=20), "site.terrain": "open",
            "roof.layers.2.fasteners": Fasteners(number_per_m2=4.0, section_m2=2e-5)}  # fmt: skip
    for path, value in made.items():
        case = _with(case, path, value)
    return case


@pytest.fixture(scope="module")
def answered(everything):
    """What is answered, without the list of what was assumed; None where it is refused."""
    held = {}

    def answer(changes):
        key = repr(sorted(changes.items(), key=str))
        if key not in held:
            try:
                case = everything
                for path, value in changes.items():
                    case = _with(case, path, value)
                found = compare(case, explore=False, draw=True)
                held[key] = dataclasses.replace(found, assumptions=())
            except CaseError as error:
                held[key] = error.field
        return held[key]

    return answer


def _values(facts, now):
    """Some values within a field's limits, the nearest to its own first."""
    if facts.type == "flag":
        return [not now]
    if facts.options:
        each = [one for one in facts.options if one != now]
        return [(one,) for one in each] if facts.type == "choices" else each
    if facts.type == "key":
        return [key for key in data.rows(facts.table) if key != now][:3]
    if facts.type == "text":
        return ["73301", "Anchorage, AK"] if facts.kind != "zone" else ["6A"]
    low, high = facts.low if facts.low is not None else 0.0, facts.high
    middle = [low + (high - low) * share for share in (0.0005, 0.02, 0.2, 0.5)]
    near = [now * 1.3, now * 0.7] if isinstance(now, int | float) and now else []
    return [value if facts.type == "quantity" else round(value)
            for value in (*near, *middle) if low < value < high and value != now]  # fmt: skip


CASES = [
    pytest.param(cls, name, id=f"{cls.__name__}-{name}")
    for cls in PLACES
    for name, facts in facts_of(cls).items()
    if facts.type not in ("part", "parts") and (cls, name) not in ELSEWHERE
]


@pytest.mark.parametrize(("cls", "name"), CASES)
def test_the_field_changes_a_result_or_is_refused(everything, answered, cls, name):
    path = f"{PLACES[cls]}.{name}"
    beside = BESIDE.get(path, {})
    part = everything
    for step in PLACES[cls].split("."):
        part = part[int(step)] if isinstance(part, tuple) else getattr(part, step)
    before = answered(beside)
    assert not isinstance(before, str), before
    values = VALUES.get(path) or _values(facts_of(cls)[name], getattr(part, name))
    seen = [answered(beside | {path: value}) for value in values]
    assert seen
    answers = [one for one in seen if not isinstance(one, str)]
    assert any(one != before for one in answers) if answers else name in str(seen)

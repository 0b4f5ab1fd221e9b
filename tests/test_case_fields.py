"""Every field of a case acts: another value changes the answer or is refused with a reason."""

import copy
import dataclasses

import pytest

from api import service
from lcc import tables
from lcc.case.fields import CasePart, facts_of
from lcc.case.resolution import from_row
from lcc.comparison import compare
from lcc.errors import CaseError

# Words for people: what they say is printed, and nothing is computed from it.
LABELS = {"name", "quotation_from"}
# Acts with a weather file alone, which tests/test_heat_climate.py reads both ways.
WITH_A_FILE = {("Site", "sky")}
# A framing survey in which everything is counted, read or looked up.
SURVEYED = {
    "rectangles": [
        {
            "length": 200.0, "width": 120.0, "form": "ridge", "drains_to": "front",
            "bearing_runs": "front-back", "bearing_spacing": 9.0, "bearing_first": 2.0,
            "parapet_right": 2.0, "parapet_front": 2.0, "deck_slope": 0.01, "hip_ends": ["left"],
            "ballast": 8.0,
        }
    ],
    "other_work": {
        "skylights_carried": 2, "skylights_covered": 1, "ballast": 5.0, "expansion_joint": 40.0,
        "rain_hour": 4.0, "storm_ties": True, "drains_abandoned": 3, "ventilator_flow": 500.0,
        "access_height": 20.0, "general_conditions": True, "productivity": "likely",
        "scaled_set_up": True, "torn_off": 2.0,
    },
    "wet_area": 500.0,
    "wind_and_snow": {
        "basic_wind": 110.0, "roof_height": 20.0, "ground_snow": 25.0, "panel_uplift": 60.0,
    },
}  # fmt: skip
OPEN = {"ventilation": "openings", "inlet_area": 40.0, "outlet_area": 40.0}


def contexts():
    """Cases that between them use every part of a case, in the order in which they are tried."""
    demo = copy.deepcopy(tables.read_json("demo/case.json"))
    demo["uncertainty"] = {"draws": 50}
    demo["economics"] |= {"rate_kind": "nominal", "inflation": 0.02, "tax": {"rate": 0.25}}
    yield demo
    second = copy.deepcopy(demo)
    metal = second["alternatives"][0]
    del metal["framing"], second["alternatives"][1]
    metal["cavity"] = {**metal["cavity"], **OPEN, "roof_moisture": 2.0}
    metal["layers"][0]["fasteners"] = {"number": 0.2, "section": 0.5}
    second["roof"]["wet_fraction"] = 0.2
    second["roof"]["layers"][1:1] = [
        {"thickness": 2.0, "conductivity": 0.3, "density": 2.0, "specific_heat": 0.35},
        {"air_gap": 1.0, "air_openings": "300 mm^2/m^2"},
        {"resistance": 3.0},
    ]
    second["roof"]["layers"][4] |= {"taper": 1.0, "moisture": 0.02}
    second["building"]["equipment"] = {"heating": "heat-pump"}
    second["base_case"] |= {"method": "tear-off", "price_includes": ["covering"], "tapered": True}
    second["roof"] |= {"deck_fall": 0.0, "ponding": "stands-48-hours"}
    second["building"]["equipment"]["fan_power"] = 0.5
    del second["roof"]["remaining_life"]
    aired = {**copy.deepcopy(metal), "name": "With air changes"}
    aired["cavity"] = {"ventilation": "air-changes", "air_changes": 4.0}
    second["alternatives"].append(aired)
    yield second
    surveyed = copy.deepcopy(demo)
    surveyed["alternatives"][0]["framing"] |= SURVEYED
    surveyed["alternatives"] = surveyed["alternatives"][:1]
    surveyed["roof"]["wet_fraction"] = 0.4
    yield surveyed
    soaked = copy.deepcopy(second)
    soaked["roof"] |= {"coverings": 1, "wet_fraction": 0.9}
    soaked["alternatives"] = [{"kind": "metal-retrofit", "name": "Framed after a tear-off"}]
    yield soaked
    in_two = copy.deepcopy(soaked)
    in_two["roof"]["asbestos"] = "found"
    in_two["alternatives"][0] |= {"share_first": 0.5, "rest_after": 3}
    yield in_two


def parts(part, path=()):
    """Yield every part of a case with the way to it."""
    yield path, part
    for name in facts_of(type(part)):
        value = getattr(part, name)
        if isinstance(value, CasePart):
            yield from parts(value, (*path, name))
        elif isinstance(value, tuple):
            for index, each in enumerate(value):
                if isinstance(each, CasePart):
                    yield from parts(each, (*path, name, index))


def put(part, path, new):
    """Return a part with another part put in at a path."""
    if not path:
        return new
    if isinstance(part, tuple):
        inside = put(part[path[0]], path[1:], new)
        return (*part[: path[0]], inside, *part[path[0] + 1 :])
    inner = put(getattr(part, path[0]), path[1:], new)
    return dataclasses.replace(part, **{path[0]: inner})


def others(part, name, facts):
    """Return values of a field other than the one it has."""
    value = getattr(part, name)
    if facts.type == "flag":
        return [not value]
    if facts.type == "choices":
        return [some for some in ((), facts.options[:1], facts.options) if some != value]
    if facts.type == "choice":
        return [word for word in facts.options if word != value]
    if facts.type == "key":
        keys = [key for key in tables.keys(facts.table) if key != value]
        return [keys[0], keys[len(keys) // 2], keys[-1]]
    if facts.type not in ("quantity", "whole"):
        return {"climate_zone": ["6A", "1A"], "place": ["Chicago, IL"]}.get(name, [])
    found = from_row(part, name) if value is None else None
    now = found[0] if found else value or 0
    tries = (now * 1.3, now * 0.7, now + 1, now + 0.05, facts.low, facts.high)
    wanted = [one for one in tries if one is not None and one != now]
    return [round(one) for one in wanted] if facts.type == "whole" else wanted


def figures(case):
    """Return what an answer says, without the list of what it rests on."""
    answer = compare(case)
    taken = [
        dataclasses.replace(
            one, quantities=one.quantities and dataclasses.replace(one.quantities, assumptions=())
        )
        for one in answer.alternatives
    ]
    return taken, answer.cautions


def acts(case, before, path, part, name, facts):
    """Whether some other value of a field changes the answer or is refused with a reason."""
    for value in others(part, name, facts):
        try:
            changed = put(case, path, dataclasses.replace(part, **{name: value}))
            if figures(changed) != before:
                return True
        except CaseError as error:
            if error.allowed:
                return True
    return False


@pytest.mark.thorough
def test_every_field_of_a_case_acts():
    """None is read, kept and then forgotten."""
    idle, seen = set(), set()
    for document in contexts():
        case = service.load_case(document).case
        before = figures(case)
        for path, part in parts(case):
            for name, facts in facts_of(type(part)).items():
                field = (type(part).__name__, name)
                if facts.type in ("part", "parts") or name in LABELS or field in seen:
                    continue
                if others(part, name, facts) and acts(case, before, path, part, name, facts):
                    seen.add(field)
                    idle.discard(field)
                elif facts.type != "text" or name in ("place", "climate_zone"):
                    idle.add(field)
    assert idle == WITH_A_FILE
    assert len(seen) > 150

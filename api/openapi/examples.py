"""Examples of requests in the document; the tests send every one of them."""

from typing import Any

from api import service
from lcc import tables


def comparison_examples() -> dict[str, Any]:
    """Return the smallest case, the demo case as it is, and with the same values in SI."""
    roof = {"area": 24000, "layers": [{"material": "steel-deck"}]}
    smallest = {"units": "ip", "site": {"place": "Tulsa, OK"}, "roof": roof}
    demo = tables.read_json("demo/case.json")
    in_si = service.case_document(service.load_case(demo).case, "si")
    return {"smallest-ip": smallest, "demo-ip": demo, "demo-si": in_si}


def assembly_examples() -> dict[str, Any]:
    """Return a concrete roof in SI, and a framed retrofit in IP with its annual figures."""
    concrete = [
        {"material": "polyiso-board", "thickness": 0.05},
        {"thickness": 0.15, "conductivity": 1.95, "density": 2240, "specific_heat": 900},
        {"resistance": 0.059},
    ]
    retrofit = [
        {"material": "glass-fibre-blanket", "thickness": 6},
        {"material": "built-up-roofing"},
        {"resistance": "4.2 h*ft^2*degF/Btu"},
        {"material": "steel-deck"},
    ]
    panel = {"solar_reflectance": 0.55, "thermal_emittance": 0.85}
    return {
        "concrete-si": {
            "units": "si",
            "assemblies": [{"name": "Insulated concrete", "layers": concrete}],
        },
        "retrofit-ip": {
            "units": "ip",
            "climate": "tulsa-ok",
            "assemblies": [
                {"name": "Retrofit", "layers": retrofit, "cavity": {"mean_height": 2}, **panel}
            ],
        },
    }


def quantities_examples() -> dict[str, Any]:
    """Return an L-shape in IP with its climate, and a ridge roof in SI with panel readings."""
    wing = {"length": 60, "width": 50, "y": 120, "drains_to": "left"}
    return {
        "l-shape-ip": {
            "units": "ip",
            "framing": {
                "rectangles": [{"length": 200, "width": 120, "form": "ridge"}, wing],
                "slope": 0.5, "rooftop_units": 6, "penetrations": 12, "clip_travel": 1.25,
            },
            "layers": [{"material": "glass-fibre-blanket", "thickness": 6}],
            "climate": "tulsa-ok",
        },
        "ridge-si": {
            "units": "si",
            "framing": {"rectangles": [{"length": 60, "width": 30, "form": "ridge"}]},
            "coldest_panel": -25, "hottest_panel": 75,
        },
    }  # fmt: skip

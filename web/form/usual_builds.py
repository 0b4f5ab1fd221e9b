"""Usual builds of a roof below its coverings, so that nobody has to enter layer by layer."""

from typing import Any

from api.json_schema import default
from lcc import tables, units
from lcc.case import Layer
from lcc.case.case_document import members
from lcc.portfolio.rows import roof_layers
from lcc.units import System
from web.form.form_fields import Document, at, units_of, with_origins

# Entries that were of the covering that was there before.
OF_THE_COVERING = ("solar_reflectance", "thermal_emittance")


def choices() -> tuple[tuple[str, str], ...]:
    """Return the key and the name of every usual build."""
    return tuple((key, row["name"]) for key, row in tables.rows("roof_types").items())


def laid_out(document: Document, build: str) -> Document:
    """Return a case document whose roof has the layers of its coverings over a usual build.

    Without a build, what lies under the coverings stays as entered. A document that does not name
    its coverings, or an unknown build, is left as it is.

    Examples
    --------
    >>> roof = {"covering": "epdm-black", "coverings": 1}
    >>> done = laid_out({"units": "ip", "roof": roof}, "steel-deck-polyiso")
    >>> [layer["material"] for layer in done["roof"]["layers"]]
    ['single-ply-membrane', 'polyiso-board', 'steel-deck']
    """
    layers = _layers(document, build) if build else _covered_anew(document)
    if layers is None:
        return document
    kept = {name: value for name, value in document["roof"].items() if name not in OF_THE_COVERING}
    stated = (document.get("origins") or {}).items()
    bases = {pointer: basis for pointer, basis in stated if not pointer.startswith("/roof/layers")}
    bases["/roof/layers"] = "common practice"  # the usual build, not a survey
    return with_origins({**document, "roof": {**kept, "layers": layers}}, bases)


def _covered_anew(document: Document) -> list[Any] | None:
    """The coverings that the case names over the layers that are entered below them."""
    given = at(document, ("roof", "layers"))
    laid = _layers(document, choices()[0][0])
    if laid is None or not isinstance(given, list):
        return None
    below = [layer for layer in given if not _is_covering(at(layer, ("material",)))]
    return [*(layer for layer in laid if _is_covering(layer["material"])), *below]


def _is_covering(material: Any) -> bool:
    row = tables.rows("materials").get(str(material), {})
    return material == "gravel" or row.get("role") == "covering"


def matching(document: Document) -> str:
    """Return the key of the usual build that the layers of a case are, or nothing."""
    given = at(document, ("roof", "layers"))
    if not isinstance(given, list) or not all(isinstance(layer, dict) for layer in given):
        return ""
    usual = {field.name: default(field, units_of(document)) for field in members(Layer)}
    stated = [
        {name: value for name, value in layer.items() if value not in (None, usual.get(name))}
        for layer in given
    ]
    builds = tables.keys("roof_types") if stated else ()
    return next((key for key in builds if _layers(document, key) == stated), "")


def _layers(document: Document, build: str) -> list[dict[str, Any]] | None:
    names = ("covering", "coverings", "covering_below")
    covering, count, below = (at(document, ("roof", name)) for name in names)
    known = covering in tables.keys("coverings") and build in tables.keys("roof_types")
    if not known or not isinstance(count, int) or not 1 <= count <= 10:
        return None
    below = below if below in tables.keys("coverings") else None
    laid = roof_layers(build, covering, count, None, below)
    return [_plain(one, units_of(document)) for one in laid]


def _plain(layer: Layer, system: System) -> dict[str, Any]:
    if layer.thickness_m is None:
        return {"material": layer.material}
    thickness = units.from_core(layer.thickness_m, "thickness", system)
    return {"material": layer.material, "thickness": float(f"{thickness:.7g}")}

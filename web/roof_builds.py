"""Usual builds of a roof below its coverings, so that nobody has to enter layer by layer."""

from __future__ import annotations

from typing import Any

from api import units
from api.units import System
from lcc import tables
from lcc.case import Layer
from lcc.errors import CaseError
from lcc.portfolio.rows import roof_layers
from web.form import Document, at, units_of


def choices() -> tuple[tuple[str, str], ...]:
    """Return the key and the name of every usual build."""
    return tuple((key, row["name"]) for key, row in tables.rows("roof_types").items())


def laid_out(document: Document, build: str) -> Document:
    """Return a case document whose roof has the layers of a usual build under its coverings.

    A document that does not name its coverings, or an unknown build, is left as it is.

    Examples
    --------
    >>> roof = {"covering": "epdm-black", "coverings": 1}
    >>> done = laid_out({"units": "ip", "roof": roof}, "steel-deck-polyiso")
    >>> [layer["material"] for layer in done["roof"]["layers"]]
    ['single-ply-membrane', 'polyiso-board', 'steel-deck']
    """
    layers = _layers(document, build)
    if layers is None:
        return document
    return {**document, "roof": {**document["roof"], "layers": layers}}


def matching(document: Document) -> str:
    """Return the key of the usual build that the layers of a case are, or nothing."""
    given = at(document, ("roof", "layers"))
    keys = (key for key, _ in choices())
    return next((key for key in keys if given and _layers(document, key) == given), "")


def _layers(document: Document, build: str) -> list[dict[str, Any]] | None:
    covering, count = (at(document, ("roof", name)) for name in ("covering", "coverings"))
    known = covering in tables.keys("coverings") and build in tables.keys("roof_types")
    if not known or not isinstance(count, int) or not 1 <= count <= 10:
        return None
    try:
        layers = roof_layers(build, covering, count, None)
    except CaseError:
        return None
    return [_plain(one, units_of(document)) for one in layers]


def _plain(layer: Layer, system: System) -> dict[str, Any]:
    if layer.thickness_m is None:
        return {"material": layer.material}
    thickness = units.from_core(layer.thickness_m, "thickness", system)
    return {"material": layer.material, "thickness": float(f"{thickness:.7g}")}

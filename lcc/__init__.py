"""Heat and money of roofs: the calculation core, pure functions over arrays, SI inside.

What a notebook needs is here: a case and its parts, `compare`, and the readers of case documents.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lcc.case import (
        Building,
        Case,
        Cavity,
        Coating,
        Economics,
        Equipment,
        Framing,
        Layer,
        Membrane,
        MetalRetrofit,
        Prices,
        Rectangle,
        Roof,
        Site,
        Tax,
        Uncertainty,
        UnitPrices,
        WeatherFile,
    )
    from lcc.comparison import compare
    from lcc.errors import CaseError
    from lcc.results import Comparison

__version__ = "0.2.0"
__all__ = [
    "Building",
    "Case",
    "CaseError",
    "Cavity",
    "Coating",
    "Comparison",
    "Economics",
    "Equipment",
    "Framing",
    "Layer",
    "Membrane",
    "MetalRetrofit",
    "Prices",
    "Rectangle",
    "Roof",
    "Site",
    "Tax",
    "Uncertainty",
    "UnitPrices",
    "WeatherFile",
    "compare",
    "load_case",
    "read_case",
]
_ELSEWHERE = {"compare": "lcc.comparison", "CaseError": "lcc.errors", "Comparison": "lcc.results"}


def __getattr__(name: str) -> Any:
    """Return a public name from its module, which is imported only now: the start stays quick."""
    if name not in __all__:
        raise AttributeError(f"module 'lcc' has no attribute {name!r}")
    return getattr(import_module(_ELSEWHERE.get(name, "lcc.case")), name)


def load_case(document: Mapping[str, Any]) -> Case:
    """Return the case that a case document holds, in either system of units.

    Parameters
    ----------
    document : mapping
        As the page saves it and the API takes it: ``units``, ``site``, ``roof`` and what else.

    Raises
    ------
    api.problems.Problem
        With all faults of the document at once.
    """
    from api import service  # noqa: PLC0415 (the one arrow outward, and only when asked)

    return service.load_case(document).case


def read_case(path: str | Path) -> Case:
    """Return the case of a file, as `load_case` of what it holds."""
    from api import strict_json  # noqa: PLC0415 (the one arrow outward, and only when asked)

    document: Mapping[str, Any] = strict_json.loads(Path(path).read_bytes())
    return load_case(document)

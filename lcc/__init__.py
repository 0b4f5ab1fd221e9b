"""Heat and money of roofs: the calculation core, pure functions over arrays, SI inside.

What a notebook needs is here: a case and its parts, `compare`, and the readers of case documents.
"""

from importlib import import_module
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
    from lcc.stated_case import load_case, read_case

__version__ = "0.2.0"
__all__ = [
    "Building", "Case", "CaseError", "Cavity", "Coating", "Comparison", "Economics", "Equipment",
    "Framing", "Layer", "Membrane", "MetalRetrofit", "Prices", "Rectangle", "Roof", "Site", "Tax",
    "Uncertainty", "UnitPrices", "WeatherFile", "compare", "load_case", "read_case",
]  # fmt: skip
_ELSEWHERE = {
    "compare": "lcc.comparison", "CaseError": "lcc.errors", "Comparison": "lcc.results",
    "load_case": "lcc.stated_case", "read_case": "lcc.stated_case",
}  # fmt: skip


def __getattr__(name: str) -> Any:
    """Return a public name from its module, which is imported only now: the start stays quick."""
    if name not in __all__:
        raise AttributeError(f"module 'lcc' has no attribute {name!r}")
    return getattr(import_module(_ELSEWHERE.get(name, "lcc.case")), name)

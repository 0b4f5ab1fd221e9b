"""A case as it is stated: read from its document, and completed by surveys and tables."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from lcc import exact_json
from lcc.case import Alternative, Case, MetalRetrofit
from lcc.case.fields import Origin
from lcc.case.kept import kept
from lcc.case.marked_defaults import changed_defaults, without_defaults
from lcc.case.resolution import resolve
from lcc.document_reader import DocumentError, read_document
from lcc.errors import CaseError, within
from lcc.figures import distinct
from lcc.quantities import framed, with_counts
from lcc.units import SYSTEMS, System

Found = TypeVar("Found")
DRAWS = 10000  # of a case that does not say how many
_ASKED = Origin("common practice", "stated with the case")


def load_case(document: Mapping[str, Any]) -> Case:
    """Return the case that a case document holds, in either system of units.

    Parameters
    ----------
    document : mapping
        As the page saves it and the API takes it: ``units``, ``site``, ``roof`` and what else.

    Raises
    ------
    CaseError
        For the first value that cannot be used.

    Examples
    --------
    >>> roof = {"area": 24000, "layers": [{"material": "steel-deck"}]}
    >>> case = load_case({"units": "ip", "site": {"climate": "tulsa-ok"}, "roof": roof})
    >>> round(case.roof.area_m2)
    2230
    """
    system: System = document["units"] if document.get("units") in SYSTEMS else "si"
    unmarked = without_defaults(document)
    try:
        case: Case = read_document(Case, unmarked, system)
    except DocumentError as faults:
        raise faults.first from None
    if unmarked is not document:
        for error in changed_defaults(completed(case), document, system):
            raise error
    return case


def read_case(path: str | Path) -> Case:
    """Return the case of a file, as `load_case` of what it holds."""
    document = exact_json.loads(Path(path).read_bytes())
    if not isinstance(document, Mapping):
        raise CaseError("", document, "an object")
    return load_case(document)


def with_draws(case: Case) -> Case:
    """Return a case that asks for random draws, so that its answer says how sure it is."""
    if case.uncertainty.states("draws"):
        return case
    return replace(case, uncertainty=case.uncertainty.filled(draws=(DRAWS, _ASKED)))


def completed(case: Case) -> Case:
    """Return the case with what surveys and tables stand in for where it states nothing."""
    return resolve(surveyed(replace(case, roof=case.roof.with_leaks(case.roof.leaks))))


def surveyed(case: Case) -> Case:
    """Return the case with what its framing surveys give in place of price, slope and cavity."""
    first, *others = distinct(case.choices)
    framings = [one.framing for one in others if isinstance(one, MetalRetrofit) and one.framing]
    roof = with_counts(case.roof.with_wet_share(), tuple(framings))
    called = replace(case, roof=roof, base_case=first, alternatives=tuple(others))
    base, *rest = each_of(called, lambda choice, _: _framed(choice, case.roof.area_m2))
    return replace(called, base_case=base, alternatives=tuple(rest))


def each_of(case: Case, found: Callable[[Alternative, int], Found]) -> list[Found]:
    """Call with the base case and every alternative; faults have their place in the case."""
    with within("base_case"):
        results = [found(case.base_case, 0)]
    for index, choice in enumerate(case.alternatives):
        with within("alternatives", index):
            results.append(found(choice, index + 1))
    return results


@kept(64)
def _framed(choice: Alternative, area_m2: float) -> Alternative:
    return framed(choice, area_m2) if isinstance(choice, MetalRetrofit) else choice

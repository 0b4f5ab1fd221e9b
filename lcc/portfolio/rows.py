"""Rows of a portfolio as cases: a building's own figures over those of a template."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any, cast

import pandas as pd

from lcc import tables
from lcc.case import Case, Layer, Membrane, MetalRetrofit, Roof, Site
from lcc.case.fields import Origin
from lcc.errors import CaseError
from lcc.portfolio.columns import by_attribute, columns
from lcc.portfolio.owner_records import with_records

# A blanket of about R-19 on the old roof, as the demo case has it.
_BLANKET = Layer(material="glass-fibre-blanket", thickness_m=0.1524)
_ASSUMED = Origin("common practice", "assumed: the table does not say how the roof is built")


@cache
def template() -> Case:
    """Return the case that supplies what a row does not say: membranes against a metal retrofit.

    Its site and roof stand for no building; every row brings its own.
    """
    return Case(
        site=Site(climate=tables.keys("climates")[0]),
        roof=Roof(area_m2=1000.0, layers=(Layer(material="steel-deck"),)),
        base_case=Membrane(),
        alternatives=(MetalRetrofit(layers=(_BLANKET,)),),
    )


def case_of(row: Mapping[str, Any], base: Case) -> Case:
    """Return the case of one building.

    Parameters
    ----------
    row : mapping
        Values by attribute of `lcc.portfolio.columns`, in the core's units; None or absent
        leaves what `base` says.
    base : Case
        Everything else but site and roof, which are a building's own: what a row does not say
        of those is the template's.

    Raises
    ------
    CaseError
        For a value that the case refuses.
    """
    blank = template()
    # A frame turns a column of whole numbers into real ones where some rows have none.
    given = {
        name: int(value) if name in _whole() else value
        for name, value in row.items()
        if value is not None
    }
    known = by_attribute()
    changes: dict[tuple[str, ...], Any] = {
        known[name].path: value
        for name, value in given.items()
        if name in known and known[name].path
    }
    changes["roof", "layers"] = roof_layers(
        given["roof_type"],
        given["covering"],
        given.get("coverings_in_place", blank.roof.coverings),
        given.get("insulation_m2k_w"),
    )
    own = _changed(replace(base, site=blank.site, roof=blank.roof), _tree(changes))
    if "roof_type" in str(given.get("assumed", "")).split("; "):
        own = replace(own, roof=own.roof.filled(layers=(own.roof.layers, _ASSUMED)))
    return with_records(cast("Case", own), given)


@cache
def _whole() -> frozenset[str]:
    """Return the columns of whole numbers."""
    known = by_attribute().items()
    return frozenset(name for name, column in known if column.facts.type == "whole")


def _tree(changes: Mapping[tuple[str, ...], Any]) -> dict[str, Any]:
    tree: dict[str, Any] = {}
    for path, value in changes.items():
        branch = tree
        for step in path[:-1]:
            branch = branch.setdefault(step, {})
        branch[path[-1]] = value
    return tree


def _changed(part: Any, tree: Mapping[str, Any]) -> Any:
    """Return a frozen dataclass with the branches of `tree` put in."""
    values = {
        step: _changed(getattr(part, step), branch) if isinstance(branch, dict) else branch
        for step, branch in tree.items()
        if step != "retrofit"
    }
    if "retrofit" in tree:
        values["alternatives"] = tuple(
            replace(other, **tree["retrofit"]) if isinstance(other, MetalRetrofit) else other
            for other in part.alternatives
        )
    return replace(part, **values)


@cache
def roof_layers(
    roof_type: str,
    covering: str,
    coverings: int,
    insulation_m2k_w: float | None,
    covering_below: str | None = None,
) -> tuple[Layer, ...]:
    """Return the layers of a roof today, outside to inside.

    Parameters
    ----------
    roof_type, covering : str
        Keys of the tables `roof_types` and `coverings`.
    coverings : int
        Coverings in place.
    insulation_m2k_w : float or None
        R-value of the insulation [m²K/W]; None for that of the roof type, 0 for none.
    covering_below : str, optional
        Covering under the top one; like the top one if not given.

    Examples
    --------
    >>> [layer.material for layer in roof_layers("steel-deck-perlite", "epdm-black", 2, None)]
    ['single-ply-membrane', 'single-ply-membrane', 'perlite-board', 'steel-deck']
    """
    kind = tables.rows("roof_types")[roof_type]
    laid = (covering, *[covering_below or covering] * (coverings - 1))
    below = (*_insulation(kind, insulation_m2k_w), Layer(material=kind["deck"]))
    return (*map(_covering, laid), *below[:: -1 if kind["insulation_place"] == "below" else 1])


def _covering(key: str) -> Layer:
    own = tables.rows("coverings")[key]
    # A fixed layer, such as built-up roofing, has a resistance and no thickness to enter.
    fixed = tables.rows("materials")[own["material"]]["resistance_m2k_w"] is not None
    return Layer(material=own["material"], thickness_m=None if fixed else float(own["thickness_m"]))


def _insulation(kind: Mapping[Any, Any], resistance_m2k_w: float | None) -> tuple[Layer, ...]:
    material = kind["insulation"] or "polyiso-board"
    thickness_m = kind["insulation_thickness_m"]
    if resistance_m2k_w is not None:
        thickness_m = resistance_m2k_w * tables.rows("materials")[material]["conductivity_w_mk"]
    return (Layer(material=material, thickness_m=thickness_m),) if thickness_m else ()


def defaults_used(frame: pd.DataFrame) -> pd.Series:
    """Return for each row the names of the columns it left to the template, in their order.

    Examples
    --------
    >>> defaults_used(pd.DataFrame({"storeys": [2, None]})).str.contains("storeys").tolist()
    [False, True]
    """
    optional = [column for column in columns() if column.has_default]
    absent = pd.DataFrame(
        {
            column.name: frame[column.attribute].isna() if column.attribute in frame else True
            for column in optional
        },
        index=frame.index,
    )
    words = {
        tuple(row): "; ".join(name for name, flag in zip(absent.columns, row, strict=True) if flag)
        for row in absent.drop_duplicates().itertuples(index=False)
    }
    keys = [tuple(row) for row in absent.itertuples(index=False)]
    return pd.Series([words[key] for key in keys], index=frame.index, dtype=object)


def check_columns(frame: pd.DataFrame) -> None:
    """Raise `CaseError` for the first column that is unknown, or required and missing."""
    known = by_attribute()
    for name in frame.columns:
        if name not in known:
            raise CaseError(str(name), "a column", f"columns {', '.join(known)}")
    for name, column in known.items():
        if column.required and name not in frame:
            raise CaseError(name, None, "a column with this name")

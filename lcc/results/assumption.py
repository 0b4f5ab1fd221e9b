"""A figure that a result rests on, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import Basis, stated, text


@dataclass(frozen=True)
class Assumption:
    """A figure that the result rests on."""

    field: str = text("Field of the case")
    label: str = text("What it is")
    value: str | float | None = stated(type="text", label="Value in the core's unit")
    kind: str = text("Kind of quantity")
    basis: Basis = stated(type="text", label="Basis")
    source: str = text("Source")

"""A figure that a result rests on, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import Basis, Text


@dataclass(frozen=True)
class Assumption:
    """A figure that the result rests on."""

    field: Annotated[str, Text("Field of the case")]
    label: Annotated[str, Text("What it is")]
    value: Annotated[str | float | None, Text("Value in the core's unit")]
    kind: Annotated[str, Text("Kind of quantity")]
    basis: Annotated[Basis, Text("Basis")]
    source: Annotated[str, Text("Source")]

"""A figure that a result rests on, with where it comes from."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import Basis, Text
from lcc.case.resolution import CaseFigure


@dataclass(frozen=True)
class Assumption:
    """A figure that the result rests on."""

    field: Annotated[str, Text("Field of the case")]
    label: Annotated[str, Text("What it is")]
    value: Annotated[str | float | None, Text("Value in the core's unit")]
    kind: Annotated[str, Text("Kind of quantity")]
    basis: Annotated[Basis, Text("Basis")]
    source: Annotated[str, Text("Source")]

    @classmethod
    def of(cls, figure: CaseFigure) -> "Assumption":
        """Return a figure of a case as an assumption."""
        value, facts, origin = figure.value, figure.facts, figure.origin
        if isinstance(value, bool):
            value = "yes" if value else "no"
        elif isinstance(value, tuple):
            value = ", ".join(value)
        elif isinstance(value, int | float):
            value = float(value)
        return cls(figure.field, facts.label, value, facts.kind, origin.basis, origin.source)

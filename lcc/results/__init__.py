"""What a comparison answers: frozen dataclasses in SI, the same words as the API's reply.

Yearly tuples have one entry for each year 0 to n of the study period, year 0 being today;
flows fall at the end of their year. Monthly tuples run January to December.
"""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import part as nested
from lcc.case.fields import parts, quantity, stated, text
from lcc.quantities.results import Quantities
from lcc.results.assumption import Assumption
from lcc.results.costs import (
    AfterTax,
    BreakEven,
    Category,
    Chances,
    Event,
    Measure,
    Measures,
    Percentiles,
    Spread,
    Swing,
)
from lcc.results.energy_year import Condensation, Drying, EnergyYear, HotDay, Monthly

__all__ = [
    "AfterTax",
    "AlternativeResult",
    "BreakEven",
    "Category",
    "Chances",
    "Comparison",
    "Condensation",
    "Drying",
    "EnergyYear",
    "Event",
    "HotDay",
    "Measure",
    "Measures",
    "Monthly",
    "Percentiles",
    "Spread",
    "Swing",
]


@dataclass(frozen=True)
class AlternativeResult:
    """One alternative: its energy in each state, its programme of work, and what it costs."""

    name: str = text("Name")
    kind: str = text("Kind")
    energy: tuple[EnergyYear, ...] = parts("Energy by state of the roof, in order of time")
    events: tuple[Event, ...] = parts("Programme of work")
    costs: tuple[Category, ...] = parts("Costs by category")
    first_cost: float = quantity("money", "Spent today, year 0")
    cash_flow: tuple[float, ...] = quantity("money", "All costs by year, not discounted")
    cumulative_present_value: tuple[float, ...] = quantity("money", "Present value spent so far")
    life_cycle_cost: float = quantity("money", "Life-cycle cost, present value (ASTM E917)")
    equivalent_annual_cost: float = quantity("money", "Equivalent uniform annual cost")
    yearly_cost_per_m2: float = quantity("price_per_area", "Cost per area and year")
    residual_value: float = quantity("money", "Residual value at the end, base-year money")
    measures: Measures | None = nested("Measures against the base case", None)
    quantities: Quantities | None = nested("Quantities of the framing survey", None)
    break_even: tuple[BreakEven, ...] = parts(
        "Break-even of each main input with the base case", ()
    )
    swings: tuple[Swing, ...] = parts("Swing of each uncertain input, widest first", ())
    spread: Spread | None = nested("Random draws, where asked for", None)
    after_tax: AfterTax | None = nested("After income tax, where a rate is given", None)


@dataclass(frozen=True)
class Comparison:
    """The answer to a case; the base case is the first of `alternatives`."""

    name: str = text("Name")
    headline: str = text("The answer in plain words")
    verdict: str = text("The answer in a paragraph")
    alternatives: tuple[AlternativeResult, ...] = parts("Alternatives, the base case first")
    notes: tuple[str, ...] = stated(type="parts", label="What the model leaves out")
    cautions: tuple[str, ...] = stated(type="parts", label="Cautions")
    assumptions: tuple[Assumption, ...] = parts("Every figure the result rests on")

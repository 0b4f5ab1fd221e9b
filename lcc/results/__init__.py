"""What a comparison answers: frozen dataclasses in SI, the same words as the API's reply.

Yearly tuples have one entry for each year 0 to n of the study period, year 0 being today;
flows fall at the end of their year. Monthly tuples run January to December.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from html import escape
from typing import Annotated

import pandas as pd

from lcc.case.fields import Part, Parts, Quantity, Text, Whole
from lcc.results.assumption import Assumption
from lcc.results.costs import (
    AfterTax,
    BreakEven,
    Category,
    Chances,
    EnergyByPhase,
    EnergyPhase,
    Event,
    Financed,
    Measure,
    Measures,
    Payback,
    Percentiles,
    Spread,
    StartingYears,
    Swing,
    Verdict,
)
from lcc.results.energy_year import Condensation, Drying, EnergyYear, HotDay, Monthly
from lcc.results.scope_table import (
    LeftOut,
    LevelledQuotation,
    OtherPeriod,
    ScopeEntry,
    ScopeRow,
    Turning,
    TurningChoice,
    TurningInput,
    TurningPair,
)
from lcc.results.takeoff_result import Quantities

# Names and fields are laid out by hand, to be read as a table.
# fmt: off
__all__ = [
    "AfterTax", "AlternativeResult", "BreakEven", "Category", "CautionGroup", "Chances",
    "Comparison", "Condensation", "Drying", "EnergyByPhase", "EnergyPhase", "EnergyYear", "Event",
    "Financed", "HotDay", "LeftOut", "LevelledQuotation", "Measure", "Measures", "Monthly",
    "OtherPeriod", "Payback", "Percentiles", "ScopeEntry", "ScopeRow", "Spread", "StartingYears",
    "Swing", "Turning", "TurningChoice", "TurningInput", "TurningPair", "Verdict", "cheapest",
]

_COSTS = ("kind", "first_cost", "life_cycle_cost", "equivalent_annual_cost", "residual_value")


@dataclass(frozen=True)
class AlternativeResult:
    """One alternative: its energy in each state, its programme of work, and what it costs."""

    name: Annotated[str, Text("Name")]
    kind: Annotated[str, Text("Kind")]
    energy: Annotated[tuple[EnergyYear, ...], Parts(
        "Energy by state of the roof, in order of time")]
    events: Annotated[tuple[Event, ...], Parts("Programme of work")]
    costs: Annotated[tuple[Category, ...], Parts("Costs by category")]
    first_cost: Annotated[float, Quantity("money", "Spent today, year 0")]
    cash_flow: Annotated[tuple[float, ...], Quantity("money", "All costs by year, not discounted")]
    cumulative_present_value: Annotated[tuple[float, ...], Quantity(
        "money", "Present value spent so far")]
    life_cycle_cost: Annotated[float, Quantity(
        "money", "Life-cycle cost, present value (ASTM E917)")]
    equivalent_annual_cost: Annotated[float, Quantity("money", "Equivalent uniform annual cost")]
    yearly_cost_per_m2: Annotated[float, Quantity("price_per_area", "Cost per area and year")]
    residual_value: Annotated[float, Quantity(
        "money", "Residual value at the end, base-year money")]
    last_life_ends: Annotated[int | None, Whole(
        "Year in which the last covering's life ends")] = None
    quotations: Annotated[tuple[LevelledQuotation, ...], Parts(
        "Prices entered for the first job, brought to one scope")] = ()
    quotations_note: Annotated[str, Text("Which quotation is taken, in plain words")] = ""
    measures: Annotated[Measures | None, Part("Measures against the base case")] = None
    payback: Annotated[Payback | None, Part(
        "Payback against the base case, by the one rule")] = None
    energy_by_phase: Annotated[EnergyByPhase | None, Part(
        "Energy saved against the base case")] = None
    financed: Annotated[Financed | None, Part("How it is paid, where asked for")] = None
    starting_years: Annotated[StartingYears | None, Part(
        "When to begin, while the old roof lasts")] = None
    quantities: Annotated[Quantities | None, Part("Quantities of the framing survey")] = None
    break_even: Annotated[tuple[BreakEven, ...], Parts(
        "Break-even of each main input with the base case")] = ()
    swings: Annotated[tuple[Swing, ...], Parts("Swing of each uncertain input, widest first")] = ()
    spread: Annotated[Spread | None, Part("Random runs, where asked for")] = None
    after_tax: Annotated[AfterTax | None, Part("After income tax, where a rate is given")] = None


def cheapest(results: Sequence[AlternativeResult]) -> int:
    """Return the place of the alternative that the headline sets against the base case."""
    return min(range(1, len(results)), key=lambda place: results[place].life_cycle_cost)


@dataclass(frozen=True)
class CautionGroup:
    """A heading of the cautions, and how many of them stand under it."""

    title: Annotated[str, Text("Heading")]
    count: Annotated[int, Whole("How many of the cautions, in their order")]


@dataclass(frozen=True, repr=False)
class Comparison:
    """The answer to a case; the base case is the first of `alternatives`."""

    name: Annotated[str, Text("Name")]
    headline: Annotated[str, Text("The answer in one or two lines")]
    verdict: Annotated[str, Text("The answer in a paragraph")]
    alternatives: Annotated[tuple[AlternativeResult, ...], Parts(
        "Alternatives, the base case first")]
    scope: Annotated[tuple[ScopeRow, ...], Parts(
        "Who does what: every duty in every alternative")]
    scope_note: Annotated[str, Text("Where alternatives do not do the same, in plain words")]
    questions: Annotated[tuple[str, ...], Parts("Questions before bids are asked")]
    turning: Annotated[Turning, Part("What would turn the answer")]
    notes: Annotated[tuple[str, ...], Parts("What the model leaves out")]
    cautions: Annotated[tuple[str, ...], Parts("Cautions, group by group")]
    caution_groups: Annotated[tuple[CautionGroup, ...], Parts(
        "Groups of the cautions, in their order")]
    assumptions: Annotated[tuple[Assumption, ...], Parts("Every figure the result rests on")]
    answer: Annotated[Verdict, Part("The answer: verdict, figures and words")]

    def __repr__(self) -> str:
        """The roof, and each alternative with what it costs over the study period."""
        each = (f"{one.name}: {one.life_cycle_cost:,.0f}" for one in self.alternatives)
        return f"Comparison({self.name!r}; life-cycle costs {'; '.join(each)})"

    def to_frame(self) -> pd.DataFrame:
        """Return alternatives by measures, the base case first; one without value is NaN."""
        names = [each.name for each in fields(Measures)]
        rows = [
            {name: getattr(one, name) for name in _COSTS}
            | {of: getattr(one.measures, of).value if one.measures else None for of in names}
            for one in self.alternatives
        ]
        frame = pd.DataFrame(rows, index=pd.Index([one.name for one in self.alternatives]))
        return frame.astype(dict.fromkeys(names, float)).rename_axis("alternative")

    def cash_flow(self) -> pd.DataFrame:
        """Return years by alternatives: all costs of each year, not discounted."""
        columns = {one.name: one.cash_flow for one in self.alternatives}
        return pd.DataFrame(columns).rename_axis("year")

    def assumptions_frame(self) -> pd.DataFrame:
        """Return every figure that the answer rests on, with its basis and source."""
        names = [each.name for each in fields(Assumption)]
        rows = [{name: getattr(one, name) for name in names} for one in self.assumptions]
        return pd.DataFrame(rows, columns=names).set_index("field")

    def _repr_html_(self) -> str:
        """The headline and the measures, as a notebook shows them."""
        table = self.to_frame().T.to_html(float_format="{:,.2f}".format, na_rep="–")
        return f"<p><strong>{escape(self.headline)}</strong></p>{table}"

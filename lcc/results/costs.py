"""What the money answers: events, categories, measures, and what would change them."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import Basis, quantity, stated, text
from lcc.case.fields import part as nested
from lcc.quantities.results import Amount


@dataclass(frozen=True)
class Event:
    """Something done to the roof: when, what, why, and its cost in base-year money."""

    year: int = stated(type="whole", label="Year")
    what: str = text("What")
    why: str = text("Why")
    cost: float = quantity("money", "Cost in base-year money")
    category: str = text("Category")


@dataclass(frozen=True)
class Category:
    """One category of cost through the study period."""

    name: str = text("Category")
    present_value: float = quantity("money", "Present value")
    by_year: tuple[float, ...] = quantity("money", "By year, base-year money with escalation")


@dataclass(frozen=True)
class Measure:
    """A figure of merit, or no value and the reason in words."""

    value: float | None = quantity("ratio", "Value")
    reason: str | None = text("Why there is no value, or a warning", None)


@dataclass(frozen=True)
class Measures:
    """An alternative against the base case; positive is good for the alternative."""

    net_savings: Measure = nested(
        "Net savings, present value (ASTM E1074)",
        help="The base case's life-cycle cost less the alternative's; negative when it costs more.",
    )
    savings_to_investment_ratio: Measure = nested(
        "Savings-to-investment ratio (ASTM E964)",
        help="Net savings plus the extra cost of the first work, over that extra cost; above 1 it "
        "pays.",
    )
    adjusted_internal_rate_of_return: Measure = nested(
        "Adjusted internal rate of return (E1057)",
        help="Yearly yield of the extra cost when savings are reinvested at the discount rate.",
    )
    simple_payback: Measure = nested(
        "Simple payback, years (ASTM E1121)",
        help="First year by whose end savings have made up for the extra cost, not discounted.",
    )
    discounted_payback: Measure = nested(
        "Discounted payback, years (ASTM E1121)",
        help="The same with every year's saving discounted to today.",
    )
    internal_rate_of_return: Measure = nested(
        "Internal rate of return, where unique",
        help="The discount rate at which both cost the same, if there is exactly one.",
    )


@dataclass(frozen=True)
class BreakEven:
    """The value of one input at which an alternative and the base case cost the same."""

    field: str = text("Field of the case")
    label: str = text("Input")
    current: Amount = nested("Value in the case")
    value: Amount | None = nested("Value at which both cost the same")
    least: Amount = nested("Looked for from")
    most: Amount = nested("Looked for to")
    reason: str | None = text("Why there is no value, or what to know about it", None)


@dataclass(frozen=True)
class Swing:
    """What the net savings become when one input alone is low or high."""

    field: str = text("Field of the case")
    label: str = text("Input")
    low: Amount = nested("Low value")
    high: Amount = nested("High value")
    net_savings_low: float = quantity("money", "Net savings with the low value")
    net_savings_high: float = quantity("money", "Net savings with the high value")
    basis: Basis = stated(type="text", label="Basis of the range")
    source: str = text("Source of the range")


@dataclass(frozen=True)
class Percentiles:
    """An amount of money that one draw in ten, one in two, nine in ten do not exceed."""

    p10: float = quantity("money", "10th percentile")
    p50: float = quantity("money", "50th percentile, the median")
    p90: float = quantity("money", "90th percentile")
    mean: float = quantity("money", "Mean")
    standard_error: float = quantity("money", "Standard error of the mean")


@dataclass(frozen=True)
class Chances:
    """An alternative against the base case over all draws."""

    net_savings: Percentiles = nested("Net savings, present value")
    costs_less: float = quantity("fraction", "Chance that it costs less than the base case")
    costs_less_standard_error: float = quantity("fraction", "Standard error of this chance")
    costs_less_so_far: tuple[float, ...] = quantity(
        "fraction", "This chance after an eighth, a quarter, half and all of the draws"
    )
    payback_p10: Measure = nested("Years to discounted payback for good, 10th percentile")
    payback_p50: Measure = nested("Years to discounted payback for good, median")
    payback_p90: Measure = nested("Years to discounted payback for good, 90th percentile")
    edges: tuple[float, ...] = quantity("money", "Edges of equal steps of net savings")
    shares: tuple[float, ...] = quantity("fraction", "Part of the draws in each step")


@dataclass(frozen=True)
class Spread:
    """What random draws of all uncertain inputs make of an alternative."""

    draws: int = stated(type="whole", label="Random draws")
    seed: int = stated(type="whole", label="Seed")
    life_cycle_cost: Percentiles = nested("Life-cycle cost")
    against_base: Chances | None = nested("Against the base case", None)


@dataclass(frozen=True)
class AfterTax:
    """Costs after income tax, of which a tax adviser must confirm every line."""

    tax_by_year: tuple[float, ...] = quantity("money", "Tax by year, saved tax negative")
    depreciation_by_year: tuple[float, ...] = quantity("money", "Depreciation deducted by year")
    cash_flow: tuple[float, ...] = quantity("money", "All costs after tax by year")
    life_cycle_cost: float = quantity("money", "Life-cycle cost after tax, present value")
    net_savings: float | None = quantity("money", "Net savings after tax, present value", None)

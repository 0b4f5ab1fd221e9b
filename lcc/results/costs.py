"""What the money answers: events, categories, measures, and what would change them."""

from dataclasses import dataclass
from typing import Annotated, Literal

from lcc.case.fields import Basis, Choice, Flag, Part, Parts, Quantity, Text, Whole
from lcc.results.takeoff_result import Amount

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Event:
    """Something done to the roof: when, what, why, and its cost in base-year money."""

    year: Annotated[int, Whole("Year")]
    what: Annotated[str, Text("What")]
    why: Annotated[str, Text("Why")]
    cost: Annotated[float, Quantity("money", "Cost in base-year money")]
    category: Annotated[str, Text("Category")]
    duty: Annotated[str, Text("Key of its row in the scope")]


@dataclass(frozen=True)
class Category:
    """One category of cost through the study period."""

    name: Annotated[str, Text("Category")]
    present_value: Annotated[float, Quantity("money", "Present value")]
    by_year: Annotated[tuple[float, ...], Quantity(
        "money", "By year, base-year money with escalation")]


@dataclass(frozen=True)
class Measure:
    """A figure of merit, or no value and the reason in words."""

    value: Annotated[float | None, Quantity("ratio", "Value")]
    reason: Annotated[str | None, Text("Why there is no value")] = None
    warning: Annotated[str | None, Text("What to beware of with the value")] = None
    convention: Annotated[str, Text("How it is counted")] = ""


@dataclass(frozen=True)
class Measures:
    """An alternative against the base case; positive is good for the alternative."""

    net_savings: Annotated[Measure, Part(
        "Net savings, present value (ASTM E1074)",
        help="The base case's life-cycle cost less the alternative's; negative when it costs "
        "more.")]
    savings_to_investment_ratio: Annotated[Measure, Part(
        "Savings-to-investment ratio (ASTM E964)",
        help="Energy, repairs and upkeep saved for each dollar of extra investment; above 1 it "
        "pays.")]
    savings_per_dollar: Annotated[Measure, Part(
        "Net savings per dollar of the first work",
        help="Net savings over what the first work costs; above 0 it pays.")]
    adjusted_internal_rate_of_return: Annotated[Measure, Part(
        "Adjusted internal rate of return (E1057)",
        help="Yearly yield of the extra investment when savings are reinvested at the discount "
        "rate.")]
    simple_payback: Annotated[Measure, Part(
        "Simple payback, years (ASTM E1121)",
        help="First year from which all that is spent so far stays at or below what the base case "
        "has cost, not discounted; none where net savings are negative.")]
    discounted_payback: Annotated[Measure, Part(
        "Discounted payback, years (ASTM E1121)",
        help="The same with every year's cost discounted to today.")]
    internal_rate_of_return: Annotated[Measure, Part(
        "Internal rate of return",
        help="The discount rate at which both cost the same, if one alone is not negative.")]


@dataclass(frozen=True)
class Payback:
    """When an alternative has made up for what it cost more, by the one rule used everywhere.

    The year is the first after which the alternative is never again behind, to the end of the
    study period, in present value.
    """

    year: Annotated[int | None, Whole("First year after which it is never again behind")] = None
    reason: Annotated[str | None, Text("Why there is no such year")] = None
    clear_from: Annotated[int | None, Whole("Year from which it is ahead by more than 2%")] = None
    level_from: Annotated[int | None, Whole("First year in which both are level")] = None
    level_to: Annotated[int | None, Whole("Last year in which both are level")] = None
    level_years: Annotated[tuple[int, ...], Parts(
        "Years in which both are level, within 2% of the larger life-cycle cost")] = ()
    likely_low: Annotated[int | None, Whole(
        "One draw in ten pays back by this year; none where most draws never do")] = None
    likely_high: Annotated[int | None, Whole(
        "Nine draws in ten pay back by this year; none where fewer ever do")] = None
    likely: Annotated[str, Text("The likely years, or that there are none, in words")] = ""
    chance: Annotated[float | None, Quantity("fraction", "Part of the draws that pay back")] = None
    by_worth: Annotated[bool, Flag("Whether the roof's worth at the end alone does it")] = False
    sentence: Annotated[str, Text("The payback in words")] = ""


@dataclass(frozen=True)
class EnergyPhase:
    """The energy saved against the base case in a spell of years, base-year money."""

    what: Annotated[str, Text("Which years")]
    first_year: Annotated[int, Whole("First year")]
    last_year: Annotated[int, Whole("Last year")]
    bill_saved: Annotated[float, Quantity("money", "Energy bill saved a year")]
    electricity_saved_kwh: Annotated[float, Quantity("electricity", "Electricity saved a year")]
    gas_saved_kwh: Annotated[float, Quantity("gas_energy", "Gas saved a year")]


@dataclass(frozen=True)
class EnergyByPhase:
    """The energy saved in year 1, after each change of a roof, and on average."""

    phases: Annotated[tuple[EnergyPhase, ...], Parts("Spells of years of equal saving")]
    average: Annotated[EnergyPhase, Part("Mean of the study period")]
    sentence: Annotated[str, Text("The energy saved in words")] = ""


@dataclass(frozen=True)
class Verdict:
    """The answer to the case: the cheapest alternative against the base case."""

    state: Annotated[Literal["costs-less", "costs-more", "too-close"], Choice(
        "Verdict", ("costs-less", "costs-more", "too-close"))]
    alternative: Annotated[str, Text("Alternative spoken of")]
    saved: Annotated[float, Quantity(
        "money", "Net savings, present value; negative where it costs more")]
    chance: Annotated[float | None, Quantity(
        "fraction", "Part of the draws in which it costs less")]
    headline: Annotated[str, Text("The answer in one or two lines")]
    explanation: Annotated[str, Text("The answer in a paragraph, after the headline")]
    disagreements: Annotated[tuple[str, ...], Parts(
        "Where point result, draws and after-tax view disagree")]
    conditions: Annotated[tuple[str, ...], Parts(
        "What the answer takes for granted, to be read with the headline")]
    reasons: Annotated[tuple[str, ...], Parts("Why, a sentence each; part of the explanation")]
    certainty: Annotated[tuple[str, ...], Parts(
        "What the random runs say, a sentence each; part of the explanation")]
    runs_assume: Annotated[str, Text(
        "What the random runs take for granted that would turn the answer")] = ""


@dataclass(frozen=True)
class BreakEven:
    """The value of one input at which an alternative and the base case cost the same."""

    field: Annotated[str, Text("Field of the case")]
    label: Annotated[str, Text("Input")]
    current: Annotated[Amount, Part("Value in the case")]
    value: Annotated[Amount | None, Part("Value at which both cost the same")]
    least: Annotated[Amount, Part("Looked for from")]
    most: Annotated[Amount, Part("Looked for to")]
    reason: Annotated[str | None, Text("Why there is no value, or what to know about it")] = None


@dataclass(frozen=True)
class Swing:
    """What the net savings become when one input alone is low or high."""

    field: Annotated[str, Text("Field of the case")]
    label: Annotated[str, Text("Input")]
    low: Annotated[Amount, Part("Low value")]
    high: Annotated[Amount, Part("High value")]
    net_savings_low: Annotated[float, Quantity("money", "Net savings with the low value")]
    net_savings_high: Annotated[float, Quantity("money", "Net savings with the high value")]
    basis: Annotated[Basis, Text("Basis of the range")]
    source: Annotated[str, Text("Source of the range")]

    @property
    def width(self) -> float:
        """By how much the net savings at its two ends differ [money]."""
        return abs(self.net_savings_high - self.net_savings_low)


@dataclass(frozen=True)
class Percentiles:
    """An amount of money that one draw in ten, one in two, nine in ten do not exceed."""

    p10: Annotated[float, Quantity("money", "10th percentile")]
    p50: Annotated[float, Quantity("money", "50th percentile, the median")]
    p90: Annotated[float, Quantity("money", "90th percentile")]
    mean: Annotated[float, Quantity("money", "Mean")]
    standard_error: Annotated[float, Quantity("money", "Standard error of the mean")]


@dataclass(frozen=True)
class Chances:
    """An alternative against the base case over all draws."""

    net_savings: Annotated[Percentiles, Part("Net savings, present value")]
    costs_less: Annotated[float, Quantity(
        "fraction", "Chance that it costs less than the base case")]
    costs_less_standard_error: Annotated[float, Quantity(
        "fraction", "Standard error of this chance")]
    costs_less_so_far: Annotated[tuple[float, ...], Quantity(
        "fraction", "This chance after an eighth, a quarter, half and all of the draws")]
    worst_tenth: Annotated[float, Quantity(
        "money", "Net savings, mean of the worst tenth of the draws")]
    payback_p10: Annotated[Measure, Part("Years to discounted payback for good, 10th percentile")]
    payback_p50: Annotated[Measure, Part("Years to discounted payback for good, median")]
    payback_p90: Annotated[Measure, Part("Years to discounted payback for good, 90th percentile")]
    edges: Annotated[tuple[float, ...], Quantity("money", "Edges of equal steps of net savings")]
    shares: Annotated[tuple[float, ...], Quantity("fraction", "Part of the draws in each step")]
    costs_less_if_well: Annotated[float | None, Quantity(
        "fraction", "Chance that it costs less if nothing that is not known of the roof is bad")
    ] = None


@dataclass(frozen=True)
class Spread:
    """What random runs, all uncertain inputs drawn at once, make of an alternative."""

    draws: Annotated[int, Whole("Random runs")]
    seed: Annotated[int, Whole("Seed")]
    life_cycle_cost: Annotated[Percentiles, Part("Life-cycle cost")]
    cheapest: Annotated[float, Quantity("fraction", "Chance that it is the cheapest of all")]
    not_drawn: Annotated[tuple[str, ...], Parts("What stays as it is in every draw")]
    against_base: Annotated[Chances | None, Part("Against the base case")] = None


@dataclass(frozen=True)
class AfterTax:
    """Costs after income tax, of which a tax adviser must confirm every line."""

    tax_by_year: Annotated[tuple[float, ...], Quantity("money", "Tax by year, saved tax negative")]
    depreciation_by_year: Annotated[tuple[float, ...], Quantity(
        "money", "Cost of work deducted by year")]
    cash_flow: Annotated[tuple[float, ...], Quantity("money", "All costs after tax by year")]
    life_cycle_cost: Annotated[float, Quantity("money", "Life-cycle cost after tax, present value")]
    net_savings: Annotated[float | None, Quantity(
        "money", "Net savings after tax, present value")] = None
    net_savings_by_line: Annotated[float | None, Quantity(
        "money", "The same with all work written off by the line, no other choice")] = None


@dataclass(frozen=True)
class Financed:
    """How the first work is paid, and what the owner pays each year against the base case.

    In the money of each year, inflation included, but for `more_than_cash`.
    """

    how: Annotated[str, Text("Paid by")]
    paid_at_once: Annotated[float, Quantity("money", "Paid at once")]
    financed: Annotated[float, Quantity("money", "Sum lent")]
    monthly_payment: Annotated[float, Quantity("money", "Monthly payment, in the first year")]
    last_monthly_payment: Annotated[float, Quantity("money", "Monthly payment, in the last year")]
    total_interest: Annotated[float, Quantity("money", "Interest in all")]
    interest_by_year: Annotated[tuple[float, ...], Quantity("money", "Interest by year")]
    yearly_difference: Annotated[tuple[float, ...], Quantity(
        "money", "Paid less than under the base case, by year")]
    first_positive_year: Annotated[int | None, Whole("First year in which the owner pays less")]
    ahead_from: Annotated[int | None, Whole(
        "First year from which all payments so far stay at or below the base case's")]
    due_later: Annotated[float, Quantity("money", "Payments due after the study period")]
    more_than_cash: Annotated[float, Quantity(
        "money", "What all payments cost more than cash, present value in base-year money")]
    sentence: Annotated[str, Text("The payments in words")] = ""


@dataclass(frozen=True)
class StartingYears:
    """Net savings by the year in which an alternative begins, while the old roof lasts."""

    years: Annotated[tuple[int, ...], Parts("Year in which it begins")]
    net_savings: Annotated[tuple[float, ...], Quantity(
        "money", "Net savings, leak risk taken off, present value")]
    leak_risk: Annotated[tuple[float, ...], Quantity(
        "money", "Leak damage to be expected until then, present value")]
    best_year: Annotated[int, Whole("Year of the greatest net savings")]
    sentence: Annotated[str, Text("When to begin, in words")] = ""
    advice: Annotated[str, Text("A year that is better by more than 2 %, in words")] = ""

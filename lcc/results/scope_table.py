"""What each alternative does, leaves out or does not need, and what would turn the answer."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import Flag, Part, Parts, Quantity, Text, Whole
from lcc.results.takeoff_result import Amount

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class ScopeEntry:
    """One duty in one alternative: done for so much, not needed, left out, or an open question."""

    name: Annotated[str, Text("Alternative")]
    status: Annotated[str, Text("done, not-needed, left-out (by choice) or open-question")]
    cost: Annotated[float, Quantity(
        "money", "Cost of all jobs in the study period, base-year money")]
    first_cost: Annotated[float, Quantity("money", "Cost in the first job, base-year money")]
    reason: Annotated[str, Text("Why, in plain words")]
    source: Annotated[str, Text("Rule, clause or choice that says so")]


@dataclass(frozen=True)
class ScopeRow:
    """One duty through all alternatives, the base case first."""

    key: Annotated[str, Text("Key of the duty")]
    duty: Annotated[str, Text("Duty")]
    alternatives: Annotated[tuple[ScopeEntry, ...], Parts("The duty in each alternative")]


@dataclass(frozen=True)
class LeftOut:
    """A duty of the first job that a quotation does not state, at its own price."""

    key: Annotated[str, Text("Key of the duty")]
    duty: Annotated[str, Text("Duty")]
    cost: Annotated[float, Quantity("money", "Added for it")]
    price_per_m2: Annotated[float, Quantity("price_per_area", "The same by roof area")]


@dataclass(frozen=True)
class LevelledQuotation:
    """A price for the first job as quoted, what it leaves out, and what it comes to with that."""

    bidder: Annotated[str, Text("Bidder")]
    price_per_m2: Annotated[float, Quantity("price_per_area", "Price as quoted")]
    price_includes: Annotated[tuple[str, ...], Parts("What it says that it includes")]
    quoted_cost: Annotated[float, Quantity("money", "As quoted, for the roof")]
    left_out: Annotated[tuple[LeftOut, ...], Parts("What it leaves out, added")]
    levelled_price_per_m2: Annotated[float, Quantity("price_per_area", "Price at one scope")]
    levelled_cost: Annotated[float, Quantity("money", "At one scope, for the roof")]
    estimated: Annotated[float, Quantity("money", "Of that, estimated beyond what is quoted")]
    taken: Annotated[bool, Flag("Whether the comparison takes it")]
    questions: Annotated[tuple[str, ...], Parts("Questions to the bidder, by duty")]
    short: Annotated[float, Quantity(
        "money", "What it asks less than the work that it holds usually costs, for the roof")] = 0.0
    laying_cost: Annotated[float, Quantity(
        "money", "What it leaves for laying alone, for the roof")] = 0.0
    usual_laying_cost: Annotated[float, Quantity(
        "money", "What laying usually costs, by the table, for the roof")] = 0.0


@dataclass(frozen=True)
class TurningInput:
    """An input at the value at which the answer turns."""

    field: Annotated[str, Text("Field of the case")]
    label: Annotated[str, Text("Input")]
    current: Annotated[Amount, Part("Value in the case")]
    value: Annotated[Amount, Part("Value at which the answer turns")]
    low: Annotated[Amount, Part("Low end of its range")]
    high: Annotated[Amount, Part("High end of its range")]
    sentence: Annotated[str, Text("In plain words")]


@dataclass(frozen=True)
class TurningPair:
    """Two inputs that turn the answer together, each within its range."""

    first: Annotated[TurningInput, Part("One input")]
    second: Annotated[TurningInput, Part("The other input")]
    sentence: Annotated[str, Text("In plain words")]


@dataclass(frozen=True)
class OtherPeriod:
    """Net savings over another study period, nothing else changed."""

    study_period_y: Annotated[int, Whole("Study period", kind="years")]
    net_savings: Annotated[float, Quantity("money", "Net savings, present value")]


@dataclass(frozen=True)
class TurningChoice:
    """A reading of a price, a bid, a start or work asked for at which the answer is another."""

    alternative: Annotated[str, Text("The alternative that is set against the base case")]
    what: Annotated[str, Text("What is read or chosen otherwise")]
    net_savings: Annotated[float, Quantity("money", "Net savings then, present value")]
    too_close: Annotated[bool, Flag("Whether it is then too close to call")]
    sentence: Annotated[str, Text("In plain words")]


@dataclass(frozen=True)
class Turning:
    """What would turn the answer round, for the cheapest alternative against the base case."""

    alternative: Annotated[str, Text("The alternative spoken of")]
    inputs: Annotated[tuple[TurningInput, ...], Parts(
        "Inputs that turn it alone, nearest first")] = ()
    pair: Annotated[TurningPair | None, Part(
        "The pair that turns it together, where one does")] = None
    choices: Annotated[tuple[TurningChoice, ...], Parts(
        "What else turns it: readings of prices, bids, starts, work asked for, tax")] = ()
    study_periods: Annotated[tuple[OtherPeriod, ...], Parts(
        "Net savings over a few years more or fewer, in order")] = ()
    sentence: Annotated[str, Text("In plain words")] = ""

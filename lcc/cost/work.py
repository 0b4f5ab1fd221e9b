"""What a programme is made of: pieces of work, and steps that leave the roof in a new state."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, fsum

from lcc.case.layers import Assembly

COVERING = "Roof coverings and panels"
TEAR_OFF = "Tear-off and disposal"
INSULATION = "Insulation"
UNITS = "Rooftop units"
FLASHINGS = "Edges, skylights and flashings"
DISRUPTION = "Disruption and interior damage"
FEES = "Engineering, permit and fees"
# Fees that are a part of the price of laying, and rise and fall with it; shown among the fees.
FEES_ON_LAYING = "Fees on the price of laying"
UNKNOWN = "What nobody knew of the roof"
# Upkeep with a price per job.
SERVICED, REFINISHED = "Sealant and ventilators serviced", "Finish renewed"
SET_UP_AGAIN = "Setting up again"
GRANT = "Grants and rebates"
REPAIRS = "Repairs"
UPKEEP = "Upkeep and service"
INSURANCE = "Insurance"
ELECTRICITY = "Electricity"
DEMAND = "Demand charges"
GAS = "Gas"
CARBON = "Price of carbon"
RESIDUAL = "Residual value"
TAX = "Income tax"

# Work that an owner pays for as an investment; the rest is what the roof costs to run.
CAPITAL = (COVERING, TEAR_OFF, INSULATION, UNITS, FLASHINGS, DISRUPTION, FEES, GRANT)
ENERGY = (ELECTRICITY, DEMAND, GAS)
CATEGORIES = (*CAPITAL, REPAIRS, UPKEEP, INSURANCE, *ENERGY, CARBON, RESIDUAL)


def granted(costs: Iterable[tuple[str, Sequence[float]]], year: int) -> float:
    """Return the grants received in a year, of costs by category and year [money]."""
    return -fsum(by_year[year] for name, by_year in costs if name == GRANT)


@dataclass(frozen=True)
class Work:
    """A piece of work: what, why, its cost in base-year money, and whether it lasts.

    `every_y` is the interval of work that comes again while its step lasts; `lasts` marks what
    wears with its step and so has a residual value; `stays` is the part of the cost that stays
    below later coverings and wears by a life of its own; `duty` is its row of the scope table;
    `on_laying` marks a fee that is a part of the price of laying; `wet_cost` is the part of
    `cost` that follows the wet area, `in_bid` the part that a price entered holds or is charged on.
    """

    what: str
    why: str
    category: str
    cost: float
    every_y: float | None = None
    lasts: bool = False
    stays: float = 0.0
    duty: str = "service"
    on_laying: bool = False
    wet_cost: float = 0.0
    in_bid: float = 0.0


@dataclass(frozen=True)
class Ruling:
    """What one duty comes to in one job: done, not needed, left out, or an open question.

    `exposure` is what an open question would cost if its answer is the bad one [money]; `counted`
    is False where a bad answer is too rare for the case to count with it.
    """

    duty: str
    status: str
    reason: str
    source: str
    works: tuple[Work, ...] = ()
    exposure: float = 0.0
    counted: bool = True

    @property
    def cost(self) -> float:
        """What the duty costs in this job [money]."""
        return fsum(work.cost for work in self.works)


@dataclass(frozen=True)
class Step:
    """A state of the roof: the rulings on the work that begins it, its life, and its keeping.

    `new` marks a covering laid within the programme, `cut_short` that work begins now, whatever
    life is left. `repairs` is the cost of the first year, which grows by `repairs_growth` each
    year of age; from the age `leaks_from_y` on leak damage comes on top, `leaks` more each year.
    `torn_off` marks that the coverings before it are removed; `gain_y` are the years of `life_y`
    that a coating adds; `grant` is paid to the owner when the step begins for the first time,
    `premium` to the insurer every year.
    """

    state: Assembly
    life_y: float
    new: bool
    repeated: tuple[Work, ...] = ()
    repairs: float = 0.0
    repairs_growth: float = 0.0
    upkeep: float = 0.0
    cut_short: bool = False
    torn_off: bool = False
    rulings: tuple[Ruling, ...] = ()
    leaks: float = 0.0
    leaks_from_y: float = 0.0
    gain_y: float = 0.0
    grant: float = 0.0
    premium: float = 0.0

    @property
    def works(self) -> tuple[Work, ...]:
        """The work that begins it, of every duty."""
        return tuple(work for each in self.rulings for work in each.works)


def growth_over(life_y: float, growth: float, usual_y: float) -> float:
    """Return the growth of repairs for a life other than the usual one [1/year].

    Notes
    -----
    A roof that lasts longer ages slower: repairs are the same part of the way through its life,
    (1 + g') ** life = (1 + g) ** usual, so that a longer life is never dearer by its repairs.
    They double in a year at most, as a growth entered may.

    Examples
    --------
    >>> round(growth_over(40.0, 0.08, 20.0), 4), growth_over(20.0, 0.08, 20.0)
    (0.0392, 0.08)
    """
    return growth if life_y == usual_y else min(1.0, (1 + growth) ** (usual_y / life_y) - 1)


def whole_years(years: float) -> int:
    """Return years rounded to a whole number, halves up: work falls at the end of a year.

    Examples
    --------
    >>> whole_years(12.8), whole_years(2.5), whole_years(0.4)
    (13, 3, 0)
    """
    return floor(years + 0.5)

"""An alternative against the base case: what it saves, and which of three verdicts that is."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from lcc.arrays import Array
from lcc.cost.work import CARBON, ENERGY, RESIDUAL
from lcc.figures import CENTS, more_or_less
from lcc.results import AlternativeResult

# Costs that differ by no more than this part of the larger life-cycle cost are called level.
LEVEL = 0.02
State = Literal["costs-less", "costs-more", "too-close"]
# A chance between these says nothing either way.
UNLIKELY, LIKELY = 0.35, 0.65
# A verdict that fewer draws bear out is only probable.
SURE_PERCENT = 80
# What is not known of the roof is named where it moves the chance by this much.
NOTABLE = 0.1
# What energy costs, a price of carbon with it.
BILLS = (*ENERGY, CARBON)


@dataclass(frozen=True)
class PairedComparison:
    """An alternative against the base case, in present value.

    A saving is the base case's cost less the alternative's.
    """

    base: AlternativeResult
    own: AlternativeResult

    @property
    def saved(self) -> float:
        """Net savings over the study period."""
        return self.base.life_cycle_cost - self.own.life_cycle_cost

    @property
    def level(self) -> bool:
        """Whether both cost the same within 2 % of the larger."""
        return is_level(self.saved, self.base.life_cycle_cost, self.own.life_cycle_cost)

    @property
    def costs_less(self) -> float | None:
        """The part of the draws in which it costs less, None without draws."""
        drawn = self.own.spread.against_base if self.own.spread else None
        return drawn.costs_less if drawn else None

    @property
    def if_well(self) -> float | None:
        """That part if nothing unknown of the roof is bad, where it is another by much."""
        drawn = self.own.spread.against_base if self.own.spread else None
        known = drawn.costs_less_if_well if drawn else None
        return known if drawn and is_moved(drawn.costs_less, known) else None

    @property
    def after_tax(self) -> float | None:
        """Net savings after tax, None without a tax rate or where both are level."""
        base, own = self.base.after_tax, self.own.after_tax
        if base is None or own is None:
            return None
        saved = base.life_cycle_cost - own.life_cycle_cost
        level = is_level(saved, base.life_cycle_cost, own.life_cycle_cost)
        return None if level else saved

    @property
    def level_after_tax(self) -> bool:
        """Whether both cost the same after tax; no without a tax rate."""
        return self.own.after_tax is not None and self.after_tax is None

    @property
    def tax_decides(self) -> bool:
        """Whether tax turns a point result round that is not level."""
        taxed = self.after_tax
        return not self.level and taxed is not None and (taxed > 0) != (self.saved > 0)

    @property
    def state(self) -> State:
        """The verdict: costs less, costs more, or too close to call."""
        sure = self.costs_less is None or not UNLIKELY <= self.costs_less <= LIKELY
        drawn_less = self.saved > 0 if self.costs_less is None else self.costs_less > LIKELY
        taxed_less = self.saved > 0 if self.after_tax is None else self.after_tax > 0
        if self.level or not sure or {drawn_less, taxed_less} != {self.saved > 0}:
            return "too-close"
        return "costs-less" if self.saved > 0 else "costs-more"

    @property
    def probable(self) -> bool:
        """Whether there is a verdict, but less than 4 in 5 draws, as shown, bear it out."""
        often = self.costs_less
        if often is None or self.state == "too-close":
            return False
        return round(100 * max(often, 1 - often)) < SURE_PERCENT

    @property
    def extra(self) -> float:
        """What the alternative costs more today."""
        return self.own.first_cost - self.base.first_cost

    @property
    def energy(self) -> float:
        """The part of the saving that is energy."""
        return _part(self.base, BILLS) - _part(self.own, BILLS)

    @property
    def worth(self) -> float:
        """The part of the saving that is a residual value at the end."""
        return _part(self.base, (RESIDUAL,)) - _part(self.own, (RESIDUAL,))

    @property
    def without_residual(self) -> tuple[float, float]:
        """Both costs, the alternative's without its higher residual value."""
        return self.base.life_cycle_cost, self.own.life_cycle_cost + self.worth

    @property
    def by_residual(self) -> bool:
        """Whether the residual values at the end alone make the verdict of the figures."""
        entered = self.base.life_cycle_cost, self.own.life_cycle_cost
        return not self.level and point_state(*self.without_residual) != point_state(*entered)


def is_moved(often: float, known: float | None) -> bool:
    """Tell whether what is not known of the roof moves the chance by much."""
    return known is not None and abs(often - known) >= NOTABLE


def nearness(base: ArrayLike, own: ArrayLike) -> Array:
    """Return how far apart two life-cycle costs may be and are still level: 2 % of the larger."""
    return np.asarray(LEVEL * np.maximum(np.abs(base), np.abs(own)))


def is_level(saved: float, base: float, own: float) -> bool:
    """Tell whether a saving is within 2 % of the larger of two costs."""
    return bool(abs(saved) <= nearness(base, own))


def _part(result: AlternativeResult, names: tuple[str, ...]) -> float:
    return sum(each.present_value for each in result.costs if each.name in names)


def point_state(base: float, own: float) -> State:
    """Return the verdict of two costs alone, without draws or tax."""
    if is_level(base - own, base, own):
        return "too-close"
    return "costs-less" if own < base else "costs-more"


def difference(base: float, own: float, name: str = "") -> str:
    """Return in words what a cost is less or more than another, and where that is no verdict.

    Examples
    --------
    >>> difference(1000.0, 900.0), difference(1000.0, 1010.0, "Membrane")
    ('about $100 less', 'about $10 more than “Membrane”, too close to call')
    """
    if abs(base - own) <= CENTS:
        return f"the same{f' as “{name}”' if name else ''}"
    close = ", too close to call" * is_level(base - own, base, own)
    return f"about {more_or_less(base - own)}{f' than “{name}”' if name else ''}{close}"

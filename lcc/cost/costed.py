"""A case as it was costed: what each alternative costs, and what it would if some things differ."""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from lcc.case import Alternative, Case, Coating
from lcc.cost.ledger import Ledger
from lcc.cost.programme import Programme, parts_of
from lcc.cost.result import Account
from lcc.cost.roof_states import Setting
from lcc.quantities import left_to_do
from lcc.results import AlternativeResult, LevelledQuotation, cheapest


class Planned(NamedTuple):
    """A way of doing an alternative at the price of laying, and the prices quoted for it."""

    choice: Alternative
    programme: Programme
    bids: tuple[LevelledQuotation, ...]


class Picked(NamedTuple):
    """The cheapest way of doing an alternative, and account and life-cycle cost of every way."""

    way: Planned
    account: Account
    every: tuple[Account, ...]
    costs: tuple[float, ...]


class Otherwise(NamedTuple):
    """Life-cycle costs that only the answer reads, by place: 0 is the base case.

    `prices` has those of the two that the headline sets against each other at each other price
    that was quoted: by bidder, and by `quotations.ENTERED_PRICE` if a price that does not say what
    it holds is for everything. `built` has those of alternatives whose price differs from their
    take-off, at the take-off's price. `across` has those of the two if the wet area lies on the
    other side of a quarter; nothing where it is known on which side it lies, or where a coating
    cannot go on there. `all_off` has those of framed roofs planned over the old roof, if that roof
    must come off after all: given where the base case tears it off, or more than a quarter of it is
    wet.
    """

    prices: Mapping[int, Mapping[str, float]]
    built: Mapping[int, float]
    across: tuple[float, float] | tuple[()]
    all_off: Mapping[int, float]


UNEXPLORED = Otherwise({}, {}, (), {})


class Costed(NamedTuple):
    """A case with each alternative done in its cheapest way, and what that costs.

    `asked` is the case as entered, `stated` the completed one, `case` the same with the ways that
    are taken; `accounts` and `alternatives` have the base case first. `every` and `ways` have the
    account and the life-cycle cost of every way.
    """

    asked: Case
    stated: Case
    case: Case
    zone: int
    accounts: list[Account]
    alternatives: tuple[AlternativeResult, ...]
    every: tuple[tuple[Account, ...], ...]
    ways: tuple[tuple[float, ...], ...]
    otherwise: Otherwise

    @property
    def books(self) -> tuple[tuple[Ledger, ...], ...]:
        """The ledger of every way."""
        return tuple(tuple(own.ledger for own in each) for each in self.every)

    @property
    def best(self) -> int:
        """The place of the alternative that the headline sets against the base case."""
        return cheapest(self.alternatives)

    @property
    def pair(self) -> tuple[AlternativeResult, AlternativeResult]:
        """The base case and that alternative."""
        return self.alternatives[0], self.alternatives[self.best]

    @property
    def best_first(self) -> list[int]:
        """The places of all but the base case, that one first."""
        return sorted(range(1, len(self.alternatives)), key=lambda place: place != self.best)

    def costs_with(self, costs: Mapping[int, float]) -> tuple[float, float]:
        """Return the costs of the base case and of the best, some replaced by place."""
        results = self.alternatives
        base, own = (costs.get(at, results[at].life_cycle_cost) for at in (0, self.best))
        return base, own

    def setting(self, place: int, share: float | None = None) -> Setting:
        """Return that of an alternative's first job, of another wet share where one is given."""
        choice = self.case.choices[place]
        roof = left_to_do(self.case.roof, self.asked.choices[place])
        if not isinstance(choice, Coating) and choice.rest_after_y is not None:
            roof = parts_of(roof, choice.share_first)[0]
        roof = roof if share is None else replace(roof, wet_fraction=share)
        return Setting.of(roof, self.case.prices, self.zone, self.case.building)

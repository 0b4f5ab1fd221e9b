"""What every programme of one roof shares: the roof, resolved prices, the insulation minimum."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

from lcc import tables
from lcc.case import Prices, Roof
from lcc.case.layers import Assembly
from lcc.cost import states
from lcc.cost.steps import DISRUPTION, UNITS, Step, Work


def resolved(prices: Prices) -> Prices:
    """Return prices in which every unset one is the figure of ``data/prices.csv``.

    Examples
    --------
    >>> resolved(Prices(gas_per_kwh=0.05)).gas_per_kwh
    0.05
    """
    rows = tables.rows("prices")
    unset = [f.name for f in fields(prices) if getattr(prices, f.name) is None]
    return replace(prices, **{name: float(rows[name]["value"]) for name in unset})


@dataclass(frozen=True)
class Setting:
    """A roof with its prices and the insulation that its climate zone asks at tear-off."""

    roof: Roof
    prices: Prices
    zone: int
    minimum_m2k_w: float

    @classmethod
    def of(cls, roof: Roof, prices: Prices, zone: int) -> Setting:
        """Return the setting of a roof in a climate zone."""
        row = tables.rows("insulation_minimums")[str(zone)]
        return cls(roof, resolved(prices), zone, float(row["resistance_m2k_w"]))

    @property
    def remaining_life_y(self) -> float:
        """Years that the top covering has left: entered, or service life less age [years]."""
        if self.roof.remaining_life_y is not None:
            return self.roof.remaining_life_y
        life = float(tables.rows("coverings")[self.roof.covering]["service_life_y"])
        return max(0.0, life - self.roof.age_y)

    @property
    def today(self) -> Assembly:
        """The roof as it is, as an assembly."""
        return states.today(self.roof)

    def step_today(self, start: str) -> Step:
        """Return the step before any work, of no length where work starts now."""
        return Step(
            self.today,
            0.0 if start == "now" else self.remaining_life_y,
            new=False,
            cut_short=start == "now",
            repairs=self.roof.repairs_per_m2 * self.roof.area_m2,
            repairs_growth=self.roof.repairs_growth,
        )

    def why_first(self, start: str) -> str:
        """Return why the first work comes when it does."""
        if start == "now":
            return "chosen to be done now"
        return "the covering in place today has reached the end of its life"

    def units_lifted(self, why: str) -> tuple[Work, ...]:
        """Return the lifting of the rooftop units, where there are any."""
        count = self.roof.rooftop_units
        what = f"{count} rooftop unit{'s' if count > 1 else ''} lifted off and on"
        return (Work(what, why, UNITS, count * float(self.prices.unit_lift or 0)),) * (count > 0)

    def disruption(self) -> Work:
        """Return the disruption of the rooms while a roof is replaced."""
        cost = float(self.prices.disruption_per_m2 or 0) * self.roof.area_m2
        why = "the roof is opened over the rooms in use"
        return Work("Disruption and interior damage", why, DISRUPTION, cost)

"""When to begin: net savings by the year in which an alternative starts, leaks at risk in it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lcc.arrays import Array
from lcc.case import Alternative, Case, Coating, Roof
from lcc.case.fields import known
from lcc.case.resolution import BY_AGE
from lcc.cost.cash_flow import life_cycle_costs
from lcc.cost.job_years import first_begins
from lcc.cost.ledger import Ledger
from lcc.cost.present_value import growth, real_discount_rate
from lcc.cost.scenario import Scenario
from lcc.cost.verdict import difference, is_level, nearness, point_state
from lcc.cost.work import whole_years
from lcc.figures import CENTS, said, when
from lcc.results import AlternativeResult, StartingYears


@dataclass(frozen=True)
class OldRoof:
    """What waiting rests on: the years the covering has left, their range, and leak damage.

    `leaks` is the damage of the first year past the end, and so much more in each year after
    [money].
    """

    left_y: float
    range_y: float
    leaks: float

    @classmethod
    def of(cls, case: Case) -> "OldRoof":
        """Return the old roof of a case."""
        damage = case.roof.leak_damage_per_m2 * case.roof.area_m2
        left = known(case.roof.remaining_life_y)
        return cls(left, case.uncertainty.remaining_life_range_y, damage)


def years_past_the_end(year: Array, left_y: float, range_y: float) -> Array:
    """Return by how many years the old covering is past its end, to be expected.

    Parameters
    ----------
    year : ndarray
        Years from today.
    left_y, range_y : float
        Years that it has left, and half the width of their symmetric triangle.

    Notes
    -----
    E max(0, t - L) is the integral of the distribution of L up to t: with x = (t - m) / w it is
    w (1 + x)³ / 6 for -1 < x < 0, and t - m + w (1 - x)³ / 6 for 0 < x < 1.

    Examples
    --------
    Known to end in year 2, and known within two years.

    >>> years_past_the_end(np.array([1.0, 2.0, 4.0]), 2.0, 0.0).tolist()
    [0.0, 0.0, 2.0]
    >>> years_past_the_end(np.array([1.0, 2.0, 4.0]), 2.0, 2.0).round(3).tolist()
    [0.042, 0.333, 2.0]
    """
    past = np.asarray(year, float) - left_y
    if not range_y:
        return np.maximum(0.0, past)
    part = np.clip(1 - np.abs(past) / range_y, 0.0, 1.0)
    return np.asarray(np.maximum(0.0, past) + range_y * part**3 / 6)


def starting_years(case: Case, old: OldRoof, base: Ledger, own: Ledger) -> StartingYears | None:
    """Return the net savings of an alternative begun in each year that the old roof lasts.

    Parameters
    ----------
    case : Case
        Rates, study period and the roof.
    old : OldRoof
        What waiting rests on.
    base, own : Ledger
        Costs of the base case, which stays as it is, and of the alternative.

    Returns
    -------
    StartingYears or None
        None for a coating, which is laid on the covering that is there, and for a roof done in
        two parts, whose years are the owner's.

    Notes
    -----
    Until it begins the old roof stays, with its repairs and its energy, and from the chance that
    it gives out before comes leak damage: the damage of a year past the end times the years past
    the end to be expected. Up to the year in which the base case begins it comes in both alike,
    and is counted in neither.
    """
    if own.programme.kind == "coating" or own.rest is not None:
        return None
    economics = case.economics
    latest = min(whole_years(old.left_y), economics.study_period_y - 1)
    planned = whole_years(float(own.lives[0]))
    starts = np.array([*range(latest + 1), planned])
    planned_terms = Scenario.of(economics)
    terms = replace(planned_terms, more_remaining=starts.astype(float))
    costs = life_cycle_costs(_begun_later(own), terms)
    against = life_cycle_costs(base, planned_terms)
    due, by = int(first_begins(base, planned_terms)[0]), year_from(case.base_case, case.roof)
    risk = _leak_risk(case, old, max(latest, planned, due))
    risk = np.maximum(0.0, risk - risk[due])[starts]
    *saved, as_planned = (against - costs - risk).tolist()
    best = int(np.argmax(saved))
    years, risks = (tuple(each[:-1].tolist()) for each in (starts, risk))
    found = StartingYears(years, tuple(saved), risks, best)
    near = float(nearness(against[0], costs[best]))
    lasts = latest == whole_years(old.left_y)
    found = replace(
        found,
        advice=_advice(found, (base, own), planned, as_planned, near, float(against[0]), due, by),
    )
    return replace(found, sentence=_sentence(found, planned, as_planned, near, due=lasts))


def begun_otherwise(base: AlternativeResult, own: AlternativeResult) -> tuple[int, float] | None:
    """Return the year whose start changes the verdict of the figures, and the net savings then.

    The best year where the alternative does not cost less as planned, else the worst.
    """
    found, costs = own.starting_years, (base.life_cycle_cost, own.life_cycle_cost)
    if found is None:
        return None
    entered = point_state(*costs)
    saved = (min if entered == "costs-less" else max)(found.net_savings)
    year = found.years[found.net_savings.index(saved)]
    return None if point_state(costs[0], costs[0] - saved) == entered else (year, saved)


def year_from(choice: Alternative, roof: Roof) -> str:
    """Say where the year comes from in which an alternative begins on a completed roof."""
    left = known(roof.remaining_life_y)
    chosen = isinstance(choice, Coating) or choice.start == "now" or choice.wait_y is not None
    if chosen or not roof.origin("remaining_life_y").source.startswith(BY_AGE):
        return "as entered"
    usual = f"usually {left + roof.age_y:g} years, less its {roof.age_y:g}"
    return f"a default by the age of today’s roof ({usual if left else 'past its usual life'})"


def cost_begun_now(case: Case, ways: Sequence[Ledger]) -> float:
    """Return the least life-cycle cost among ways of doing an alternative, begun now [money]."""
    terms = replace(Scenario.of(case.economics), more_remaining=np.zeros(1))
    return min(float(life_cycle_costs(_begun_later(way), terms)[0]) for way in ways)


def _begun_later(own: Ledger) -> Ledger:
    """Return the ledger of a programme whose first step lasts as long as is added to it."""
    lives, cut_short = own.lives.copy(), own.cut_short.copy()
    lives[0], cut_short[0] = 0.0, False
    return replace(own, lives=lives, cut_short=cut_short)


def _leak_risk(case: Case, old: OldRoof, latest: int) -> Array:
    """Return the leak damage to be expected by starting year, present value."""
    years = np.arange(latest + 1)
    past = years_past_the_end(years.astype(float), old.left_y, old.range_y)
    past[0] = 0.0
    rate = (1 + case.economics.repairs_escalation) / (1 + real_discount_rate(case.economics)) - 1
    return np.asarray(np.cumsum(old.leaks * past * growth(rate, latest)))


def _advice(
    found: StartingYears,
    ways: tuple[Ledger, Ledger],
    planned: int,
    as_planned: float,
    near: float,
    cost: float,
    due: int,
    due_by: str,
) -> str:
    """Say which year is clearly better than the planned one, unless it then still costs more.

    `cost` is that of the base case, the first of `ways`, which begins in the year `due`, for the
    reason `due_by`.
    """
    best, saved = found.best_year, max(found.net_savings)
    level = is_level(saved, cost, cost - saved)
    if saved <= as_planned + near or (saved < 0 and not level):
        return ""
    base, name = (way.programme.name for way in ways)
    leaks = ", leaks until then counted" if found.leak_risk[best] > CENTS else ""
    lead = f"to wait until year {best}" if best > planned else f"to begin {when(best)}"
    beside = f" “{base}” begins {when(due)}, {due_by}." * (due < ways[0].years)
    then = f" That is {difference(cost, cost - saved, base)}." if level else ""
    return (
        f"Better {lead}: “{name}” then costs about {said(saved - as_planned)} less over the study "
        f"period than begun {when(planned)}{leaks}.{then}{beside}"
    )


def _sentence(
    found: StartingYears, planned: int, as_planned: float, near: float, *, due: bool
) -> str:
    """Say what another year than the one that all other figures are for would change."""
    saved, last = found.net_savings, len(found.net_savings) - 1
    if not last:
        return "The old roof is at its end: there is no waiting."
    best, counted = found.best_year, f"The figures here are for work begun {when(planned)}"
    better = saved[best] - as_planned
    if better <= near:
        worst = saved.index(min(saved))
        less = as_planned - saved[worst]
        if less <= near:
            return f"{counted}. Another start while the old roof lasts changes little."
        return f"{counted}. Begun {when(worst)} instead, it would save about {said(less)} less."
    if found.advice:
        return f"{counted}. {found.advice}"
    at_last = ", when the old roof is due," if due else ", in the last of the years counted,"
    return (
        f"{counted}. Begun {when(best)}{at_last * (best == last)} it would cost about "
        f"{said(better)} less, but still more than the other choice."
    )

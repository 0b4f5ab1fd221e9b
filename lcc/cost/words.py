"""The answer in plain words, made from the figures."""

from __future__ import annotations

from collections.abc import Sequence

from lcc.results import AlternativeResult

# Two costs that differ by less than this part are called the same.
SAME = 0.005


def headline(results: Sequence[AlternativeResult], years: int) -> str:
    """Return one sentence that says which choice costs less over the study period.

    Parameters
    ----------
    results : sequence of AlternativeResult
        The base case first.
    years : int
        Study period [years].

    Notes
    -----
    Of several alternatives the cheapest is spoken of; it is set against the base case.
    """
    base = results[0]
    best = min(results[1:], key=lambda each: each.life_cycle_cost)
    saved = base.life_cycle_cost - best.life_cycle_cost
    costs = f"{money(best.life_cycle_cost)} against {money(base.life_cycle_cost)}"
    over = f"over {years} year{'s' if years > 1 else ''}, in today's money"
    if abs(saved) <= SAME * abs(base.life_cycle_cost):
        return f"“{best.name}” and “{base.name}” cost about the same {over}: {costs}."
    if saved < 0:
        return (
            f"“{best.name}” does not pay: it costs {money(-saved)} more than "
            f"“{base.name}” {over} ({costs})."
        )
    return (
        f"“{best.name}” costs {money(saved)} less than “{base.name}” {over} ({costs}){_from(best)}."
    )


def _from(best: AlternativeResult) -> str:
    payback = best.measures.discounted_payback.value if best.measures else None
    return "" if payback is None else f" and is ahead from year {payback:.0f}"


def money(amount: float) -> str:
    """Return an amount in whole units of money, grouped by thousands.

    Examples
    --------
    >>> money(1234567.8), money(-0.2)
    ('$1,234,568', '$0')
    """
    whole = round(amount)
    return f"-${-whole:,}" if whole < 0 else f"${whole:,}"

"""Checks of money, of code rules, and of published figures that stand in the tables."""

from collections.abc import Callable, Mapping

import numpy as np
import numpy_financial as npf
from scipy.optimize import brentq

from lcc import tables
from lcc.arrays import Array
from lcc.case.economics import Economics, Financing, Tax
from lcc.caution_texts import LEAST_SLOPE
from lcc.checks.heat import Figures, figure
from lcc.cost import measures, present_value
from lcc.cost.financing import interest_by_month, monthly_payments
from lcc.cost.tax import depreciation_shares, expensed
from lcc.cost.tear_off_rule import recover_refusal
from lcc.quantities.drainage import leader_m
from lcc.quantities.movement import expansion
from lcc.units import INCH_M

Design = Mapping[str, float]


def _two_designs(
    base: Design, own: Design, rate: float, years: int, replaced: int, energy_factor: float
) -> Figures:
    """Compare two designs of first cost, one replacement, residual value, energy and upkeep.

    The escalation of energy is the one that gives the printed factor of its present value.
    """
    escalation = _escalation(rate, years, energy_factor)
    paid = [_flows(one, years, replaced, escalation) for one in (base, own)]
    flows = [invested + yearly for invested, yearly in paid]
    net = float(measures.net_savings(flows[0] - flows[1], rate).value or 0.0)
    ratio = measures.savings_to_investment(net, float(npf.npv(rate, paid[1][0] - paid[0][0])))
    return {
        "base": float(npf.npv(rate, flows[0])),
        "own": float(npf.npv(rate, flows[1])),
        "net": net,
        "ratio": ratio.value or 0.0,
        "adjusted_rate": measures.adjusted_rate(ratio, rate, years).value or 0.0,
        "payback": measures.payback_years(flows[0], flows[1], rate).value or 0.0,
    }


def _flows(design: Design, years: int, replaced: int, escalation: float) -> tuple[Array, Array]:
    """Return what is invested by year, less the residual value, and what is paid every year."""
    invested = np.zeros(years + 1)
    invested[0], invested[replaced] = design["first"], design["replacement"]
    invested[years] -= design["residual"]
    yearly = design["energy"] * present_value.growth(escalation, years) + design["upkeep"]
    yearly[0] = 0.0
    return invested, yearly


def _factors(rate: float, years: int, escalation: float = 0.0) -> Figures:
    """Present values of 1 in the last year, and of 1 a year that grows."""
    real = (1 + rate) / (1 + escalation) - 1
    return {
        "single": float(1 / present_value.growth(rate, years)[-1]),
        "uniform": present_value.uniform_present_value(real, years),
    }


def _escalation(rate: float, years: int, factor: float) -> float:
    def excess(escalation: float) -> float:
        return _factors(rate, years, escalation)["uniform"] - factor

    return float(brentq(excess, -0.1, 0.1))


def _loan(principal: float, rate: float, years: int, months: int) -> Figures:
    """Return a loan's payment, and what is paid of interest and owed after some months."""
    payments = monthly_payments(principal, Financing(rate=rate, years=years))
    interest = interest_by_month(principal, payments, rate)[:months].sum()
    return {
        "payment": float(payments[0]),
        "interest": float(interest),
        "balance": float(principal - payments[:months].sum() + interest),
    }


def _annual_cost(first: float, salvage: float, upkeep: float, rate: float, years: int) -> Figures:
    worth = first - salvage * _factors(rate, years)["single"]
    return {"annual": present_value.annual_equivalent(worth, rate, years) + upkeep}


def _renewed(
    first: float,
    yearly: float,
    renewal: float,
    interval: int,
    rate: float,
    years: int,
    escalation: float = 0.0,
) -> Figures:
    """Return the present cost of what is laid once and renewed at an interval, not at the end."""
    paid = np.full(years + 1, yearly)
    paid[0] = first
    paid[interval:years:interval] += renewal
    risen = paid * present_value.growth(escalation, years)
    return {"present": float(npf.npv(rate, risen))}


def _section_179(cost: float, limit: float, threshold: float) -> Figures:
    tax = Tax(0.3, expensing="all", expensing_limit=limit, expensing_threshold=threshold)
    return {"deducted": float(expensed(np.array([cost]), metal=False, tax=tax)[0])}


def _value(table: str, row: str, column: str) -> float:
    return float(tables.rows(table)[row][column])


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "present-value": _factors,
    "annual-equivalent": lambda rate, years: {
        "annual": present_value.annual_equivalent(1.0, rate, years)
    },
    "nominal-rate": figure("nominal", present_value.nominal_rate),
    "depreciation": lambda month, year: {
        "percent": 100 * float(depreciation_shares(month)[year - 1])
    },
    "default-discount-rate": lambda: {"rate": Economics().discount_rate},
    "two-designs": _two_designs,
    "loan": _loan,
    "annual-cost": _annual_cost,
    "renewed": _renewed,
    "section-179": _section_179,
    "insulation-minimum": lambda zone: {
        "r_m2k_w": _value("insulation_minimums", zone, "resistance_m2k_w")
    },
    "least-slope": lambda: {"rise_in": LEAST_SLOPE * 12},
    "recover-rule": lambda coverings: {"allowed": float(recover_refusal(coverings, 0.0) is None)},
    "grid-emissions": lambda: {"kg_kwh": _value("prices", "electricity_emissions_kg_kwh", "value")},
    "panel-travel": lambda length_m, metal, change_k: {
        "travel_m": expansion(length_m, _value("metals", metal, "expansion_per_k"), change_k)
    },
    "leader": lambda drained_m2, rain_m: {
        "leader_in": (leader_m(drained_m2, rain_m) or 0.0) / INCH_M
    },
}

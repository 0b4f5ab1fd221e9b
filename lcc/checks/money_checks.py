"""Checks of money: present-value factors, rates and depreciation."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc.case.economics import Economics
from lcc.cost import present_value
from lcc.cost.tax import depreciation_shares

Figures = Mapping[str, float]


def _present_value(rate: float, years: int, escalation: float) -> Figures:
    return {
        "single": present_value.single_present_value(rate, years),
        "uniform": present_value.escalated_present_value(rate, escalation, years),
    }


def _annual_equivalent(rate: float, years: int) -> Figures:
    return {"annual": present_value.annual_equivalent(1.0, rate, years)}


def _nominal_rate(real: float, inflation: float) -> Figures:
    return {"nominal": present_value.nominal_rate(real, inflation)}


def _default_discount_rate() -> Figures:
    return {"rate": Economics().discount_rate}


def _depreciation(month: int, year: int) -> Figures:
    return {"percent": 100 * float(depreciation_shares(month)[year - 1])}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "present-value": _present_value,
    "annual-equivalent": _annual_equivalent,
    "nominal-rate": _nominal_rate,
    "depreciation": _depreciation,
    "default-discount-rate": _default_discount_rate,
}

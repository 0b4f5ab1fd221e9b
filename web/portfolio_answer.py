"""The answer to a portfolio as the page shows it: words, key figures and charts."""

from dataclasses import dataclass
from typing import Any

import pandas as pd

from api.portfolio.job import cautions
from lcc.model_notes import NOTES
from lcc.portfolio.ranking import CapitalProgramme
from lcc.units import System, unit
from web import format as fmt
from web.charts.figure import Figure
from web.charts.portfolio import Roofs, figures
from web.measures_table import KeyFigure
from web.portfolio_words import lead_in_words, plan_in_words

A_YEAR = "saved a year, mean of the study period"
MEAN_YEAR = (
    "Energy, bills and CO₂ saved are the mean of a year over the whole study period, the years "
    "under the roof of today included; a roof opened as a case tells a year under each roof apart."
)


@dataclass(frozen=True)
class PortfolioAnswer:
    """What the answer's template needs."""

    headline: str
    more: str
    plan_words: str
    keys: tuple[KeyFigure, ...]
    figures: tuple[Figure, ...]
    programme: CapitalProgramme
    cautions: tuple[dict[str, Any], ...]
    notes: tuple[str, ...]


def answer(
    results: pd.DataFrame, whole: CapitalProgramme, system: System, budget: float | None
) -> PortfolioAnswer:
    """Return the answer that results and what they come to make, in the units of a system."""
    headline, *others = lead_in_words(whole, results, budget)
    return PortfolioAnswer(
        headline=headline,
        more=" ".join(others),
        plan_words=" ".join(plan_in_words(whole, results)),
        keys=_keys(whole, system) if len(results) else (),
        figures=figures(Roofs.of(results, system, budget)),
        programme=whole,
        cautions=tuple(cautions(results)),
        notes=(*NOTES, MEAN_YEAR),
    )


def _keys(whole: CapitalProgramme, system: System) -> tuple[KeyFigure, ...]:
    best = whole.in_budget or whole.worthwhile
    which = "in the best set under the budget" if whole.in_budget else "best alternatives that save"
    area, mass = unit("area", system), unit("mass", system)
    roof_area = fmt.shown(best.roof_area_m2 / area.factor, "area")
    emissions = fmt.shown(best.emissions_saved_kg / mass.factor, "mass")
    return (
        KeyFigure("Roofs", f"{best.buildings:,}", f"{roof_area} {area.display}, {which}"),
        KeyFigure("First cost", fmt.said(best.first_cost), "base-year money"),
        KeyFigure("Net savings", fmt.said(best.net_savings), "present value"),
        KeyFigure("Energy bill", fmt.said(best.energy_cost_saved), A_YEAR),
        KeyFigure("CO₂", f"{emissions} {mass.display}", A_YEAR),
    )

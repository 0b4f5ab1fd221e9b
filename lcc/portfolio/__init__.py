"""Many roofs and one budget: a frame of buildings in, frames of results out.

`lcc.portfolio.columns` says what a frame may hold, `evaluate` compares every building with any
executor, and `ranked`, `best_set`, `frontier` and `multi_year_plan` tell what to do first.
"""

from lcc.portfolio.evaluation import evaluate
from lcc.portfolio.one_budget import BudgetSet, best_set, frontier
from lcc.portfolio.outcome import Outcome
from lcc.portfolio.plan_tables import Plan, multi_year_plan
from lcc.portfolio.ranking import MEASURES, Ranked, ranked
from lcc.portfolio.rows import case_of, template

__all__ = [
    "MEASURES", "BudgetSet", "Outcome", "Plan", "Ranked", "best_set", "case_of", "evaluate",
    "frontier", "multi_year_plan", "ranked", "template",
]  # fmt: skip

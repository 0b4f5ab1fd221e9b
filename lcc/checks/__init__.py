"""The evidence: every comparison with the outside world, computed by the product's own code.

The expected figures, their sources and tolerances stand in ``data/checks.csv``; the tests and
the pages read the same table.
"""

from lcc.checks.run import (
    KINDS,
    SECTIONS,
    Check,
    Row,
    Tally,
    compute,
    kept_figures,
    largest_sources,
    measured_roofs,
    rows,
    run_checks,
    tallies,
)

__all__ = [
    "KINDS", "SECTIONS", "Check", "Row", "Tally", "compute", "kept_figures", "largest_sources",
    "measured_roofs",
    "rows", "run_checks", "tallies",
]  # fmt: skip

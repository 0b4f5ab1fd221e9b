"""The evidence: every comparison with the outside world, computed live by the product's own code.

The expected figures, their sources and tolerances stand in ``data/checks.csv``; the tests and
the pages read the same table.
"""

from __future__ import annotations

from lcc.checks.run import SECTIONS, Check, Row, compute, rows, run_checks

__all__ = ["SECTIONS", "Check", "Row", "compute", "rows", "run_checks"]

"""The evidence: every comparison with the outside world, computed by the product's own code.

The expected figures, their sources and tolerances stand in ``data/checks.csv``; the tests and
the pages read the same table.
"""

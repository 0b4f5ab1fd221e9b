"""The fast solution agrees with an independent finite-volume march of the same equations."""

import pytest

from lcc.checks.solver import agreement, reference_cases


@pytest.mark.xdist_group("march")  # the march is made once in a process
@pytest.mark.parametrize("name", reference_cases(), ids=" ".join)
def test_a_year_agrees_with_the_march(name):
    """Eight roofs in three climates: sums within 1 %, hourly flux within 2 % of its peak."""
    found = agreement()[name]
    for figure in ("gain", "loss", "cooling", "heating"):
        assert abs(found[figure]) < 0.01, figure
    assert found["rms"] < 0.02

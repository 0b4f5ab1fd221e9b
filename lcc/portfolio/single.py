"""One building of many compared, with no more worked out than its row will tell."""

from __future__ import annotations

from functools import partial

from lcc.case import Case
from lcc.compare import compare
from lcc.heat.energy import energy_year
from lcc.results import Comparison

_energy = partial(energy_year, sized=False)


def compared(case: Case) -> Comparison:
    """Return the comparison of one building: figures of `lcc.compare.compare`, to the bit.

    Parameters
    ----------
    case : Case
        A building's case.

    Returns
    -------
    Comparison
        Without break-evens, swings and draws, and with no cooling plant sized.
    """
    return compare(case, _energy, explore=False)

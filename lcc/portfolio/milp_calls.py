"""Binary programmes solved to proof, and bounds on them: the calls of the solver."""

from dataclasses import dataclass
from typing import cast

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, vstack

from lcc.arrays import Array, Flags, Integers

INFEASIBLE = 2  # as `scipy.optimize.milp` numbers it


@dataclass(frozen=True)
class Optimum:
    """Values of the unknowns, flags of the binary ones, the least cost, and the gap below it."""

    values: Array
    flags: Flags
    cost: float
    gap: float


def minimise(
    cost: Array,
    limits: list[LinearConstraint],
    binaries: int,
    time_limit_s: float,
    enough: float = 0.0,
) -> Optimum | None:
    """Return the least cost over unknowns of 0 or 1, and after them any others of at least 0.

    None means that nothing satisfies the limits.

    Parameters
    ----------
    cost : array
        Cost of each unknown.
    limits : list of LinearConstraint
        What must hold.
    binaries : int
        How many of the unknowns, from the first, are 0 or 1.
    time_limit_s : float
        Seconds of search, after which the best answer so far is returned with its `gap`.
    enough : float
        Part of the cost below which a gap ends the search early.

    Raises
    ------
    TimeoutError
        If no answer at all was found in that time.

    Notes
    -----
    The solver's default stops at a relative gap of 1e-4; here it goes on to proof,
    unless `enough` is given.
    """
    if not cost.size:  # every roof was refused; the solver takes no empty choice
        return Optimum(np.empty(0), np.empty(0, dtype=bool), 0.0, 0.0)
    binary = np.arange(cost.size) < binaries
    found = milp(
        cost,
        integrality=binary.astype(int),
        bounds=Bounds(0.0, np.where(binary, 1.0, np.inf)),
        constraints=limits,
        options={"mip_rel_gap": enough, "time_limit": time_limit_s},
    )
    if found.status == INFEASIBLE:
        return None
    if found.x is None:
        raise TimeoutError(f"no choice of roofs was found within {time_limit_s:g} s")
    gap = max(0.0, float(found.fun - found.mip_dual_bound)) if found.status or enough else 0.0
    flags = np.asarray(found.x[:binaries] > 0.5, dtype=bool)
    return Optimum(np.asarray(found.x, float), flags, float(found.fun), gap)


def relaxed(
    cost: Array, one_each: LinearConstraint, spending: LinearConstraint
) -> tuple[float, Array] | None:
    """Return a bound below the least cost, and how far each unknown, where taken, goes above it.

    None means that nothing satisfies the limits.

    Notes
    -----
    Duality of linear programmes: with the prices y of the limits, every choice within them that
    takes unknown j costs at least the relaxed optimum plus the reduced cost c_j - Σ a_ij y_i.
    """
    if not cost.size:  # every roof was refused
        return 0.0, cost
    most, each = matrix_of(spending), matrix_of(one_each)
    found = linprog(  # type: ignore[call-overload]  # its types know no sparse matrices
        cost, most, spending.ub, each, one_each.ub, bounds=(0.0, 1.0), method="highs"
    )
    if found.x is None:
        return None
    prices = most.T @ found.ineqlin.marginals + each.T @ found.eqlin.marginals
    return float(found.fun), np.asarray(cost - prices, float)


def matrix_of(limit: LinearConstraint) -> csr_array:
    """Return the matrix of a limit."""
    return csr_array(cast("csr_array", limit.A))


def stacked(limits: list[LinearConstraint]) -> LinearConstraint:
    """Return upper limits as one."""
    every = [matrix_of(one) for one in limits]
    most = [np.broadcast_to(one.ub, a.shape[0]) for one, a in zip(limits, every, strict=True)]
    return LinearConstraint(csr_array(vstack(every)), ub=np.concatenate(most))


def one_of_each(group: Integers, of: Integers | None = None) -> csr_array:
    """Return the matrix that adds up the unknowns of some groups, or of each of more than one.

    Examples
    --------
    >>> one_of_each(np.array([7, 7, 9])).toarray().tolist()
    [[1.0, 1.0, 0.0]]
    """
    groups, row, count = np.unique(group, return_inverse=True, return_counts=True)
    positions = np.arange(row.size)
    whole = csr_array((np.ones(row.size), (row, positions)), shape=(count.size, row.size))
    return csr_array(whole[count > 1 if of is None else np.isin(groups, of)])

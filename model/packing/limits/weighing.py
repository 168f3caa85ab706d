"""The linear program under every limit by weights, and what makes its answer true whatever the solver does."""

import math
from typing import Any

import numpy as np

from tapeloft.model.proof.walls import Numbers

OUTWARD = 1 + 1e-9  # on a limit, for rounding in its sums
PIVOTS = 12_000  # steps of the solver at most, rather than seconds, so that it does the same each time
LONGEST = 1e6  # s
UNDECIDED = 1e-12  # of 1: a least row of no more than that is none


def weighed(costs: Numbers, rows: Any, within_s: float = math.inf) -> tuple[float, Numbers]:
    """Return the least total of *costs* for weights with which each row comes to 1, and what each then comes to.

    costs (n,), rows (m, n), none negative, sparse or not. The weights that the solver gives are divided by what the
    least row comes to, so that the total is a true one, though maybe not the least. Infinite where none is found, as
    in the seconds given.
    """
    from scipy.optimize import linprog

    # solved as its dual, which starts from a point that is allowed: prices for rows, at most the cost of each column
    options = {"maxiter": PIVOTS, "time_limit": min(max(within_s, 0.0), LONGEST)}
    found = linprog(-np.ones(rows.shape[0]), A_ub=rows.T, b_ub=costs, method="highs-ds", options=options)
    weights = np.zeros(len(costs)) if found.status else np.maximum(-found.ineqlin.marginals, 0.0)
    comes_to: Numbers = rows @ weights
    least = float(comes_to.min())
    if least <= UNDECIDED:
        return math.inf, np.ones(rows.shape[0])
    return float(costs @ weights) / least * OUTWARD, comes_to / least

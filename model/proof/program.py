"""The convex program under every bound: the largest box within half-spaces and within reach.

A box is b = (lowest x, y, z, highest x, y, z). It lies in a half-space n · p ≤ d exactly when its corner farthest
along n does, which is linear in b: row · b ≤ d with row = (min(n, 0), max(n, 0)). The program is

    maximise Σ log(side − grown) over the sides not given,  row_j · b ≤ limit_j,  reach low ≤ b low, b high ≤ reach high

where b is the clear space and `grown` how much wider it is than the box wanted. Whatever the weights λ ≥ 0, no box
beats the Lagrange dual value λ · limit + max over reach of (Σ log(side − grown) − λ · rows · b): that value, and
not the convergence of the solver, is what a proof rests on.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]

MARGIN = 1e-12  # unit frame: outward, on every witness and offset, and per unit of weight on every bound
NEVER = -1e300  # logarithm of the volume of what cannot be


class Wish(NamedTuple):
    """What box is wanted, and how a clear space that may hold it depends on what is free: b = turn · u + start."""

    turn: Numbers  # (6, k)
    start: Numbers  # (6,)
    grown: Numbers  # (3,) how much wider the clear space is than the box, along each axis
    drawn: Numbers  # (3,) how much narrower the box given out is than the box found
    level: Numbers  # (3,) where the low face is, NaN where it is free
    size: Numbers  # (3,) side of the clear space, NaN where it is free


class Halfspaces(NamedTuple):
    """Half-spaces that hold every box: row · b ≤ limit."""

    rows: Numbers  # (n, 6)
    limits: Numbers  # (n,)


@part
def log_volume(box: Numbers, wish: Wish, drawn: float) -> float:
    """Return Σ log of the free sides of the box wanted, *drawn* times its margin narrower; NEVER if it is none."""
    total = 0.0
    for i in range(3):
        if math.isnan(wish.size[i]):
            side = box[3 + i] - box[i] - wish.grown[i] - drawn * wish.drawn[i]
            if side <= 0:
                return NEVER
            total += math.log(side)
    return total


@compiled
def dual_bound(rows: Numbers, limits: Numbers, count: int, weights: Numbers, reach: Numbers, wish: Wish) -> float:
    """Return an upper limit of `log_volume` over the first *count* half-spaces and *reach*, valid for any weights ≥ 0.

    rows (≥ count, 6); limits, weights (≥ count,); reach (6,). Coordinates in the unit frame are at most one, so the
    rounding of the sum stays under the MARGIN added for each unit of weight.
    """
    total, size = 0.0, 10.0
    pull = np.zeros(6)
    for j in range(count):
        total += weights[j] * limits[j]
        size += weights[j]
        for i in range(6):
            pull[i] += weights[j] * rows[j, i]
    for i in range(3):
        best = _axis_best(-pull[i], pull[3 + i], reach[i], reach[3 + i], i, wish)
        if best == NEVER:
            return NEVER
        total += best
    return float(total + size * MARGIN)


@part
def _axis_best(up: float, down: float, low: float, high: float, i: int, wish: Wish) -> float:
    """Return the most that log(side − grown) + up · l − down · h can be on one axis, low ≤ l, h ≤ high.

    Concave; were neither face at its end, moving both would change nothing at the best (up = down): one can be.
    """
    level, grown = float(wish.level[i]), float(wish.grown[i])
    if not math.isnan(wish.size[i]):
        return _fixed_best(up, down, low, high, level, wish.size[i])
    floor = low if math.isnan(level) else level
    most = high - floor - grown
    if floor < low or most <= 0:
        return NEVER
    side = most if down <= 0 else min(most, 1 / down)
    best = math.log(side) + up * floor - down * (floor + grown + side)
    if math.isnan(level) and up > 0:
        side = min(most, 1 / up)
        best = max(best, math.log(side) + up * (high - grown - side) - down * high)
    return best


@part
def _fixed_best(up: float, down: float, low: float, high: float, level: float, size: float) -> float:
    """Return the most that up · l − down · (l + size) can be."""
    if math.isnan(level):
        if high - low < size:
            return NEVER
        floor = high - size if up > down else low
    elif level < low or level + size > high:
        return NEVER
    else:
        floor = level
    return up * floor - down * (floor + size)

"""Cells of turns: boxes of Rodrigues vectors, and what a cell looks like from its own middle.

A turn is R = base · rodrigues(g); rodrigues(g) turns by 2·atan|g| about g. In a cell, low ≤ g ≤ high, with middle
turn R₀, every turn is R₀ · Q(ω), ω = 2·(relative Rodrigues vector). The map from g to ω is projective: it takes the
cell into the convex hull of its corners' images, so that bounds on those bound all.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part

Numbers = NDArray[np.float64]
ROUNDING = 1e-14


class Cell(NamedTuple):
    """Turns base · rodrigues(g) with low ≤ g ≤ high."""

    base: Numbers  # (3, 3)
    low: Numbers  # (3,)
    high: Numbers  # (3,)


class View(NamedTuple):
    """A cell from its middle: all its turns are frame · Q(ω) with low ≤ ω ≤ high, ω · ω ≤ square."""

    frame: Numbers  # (3, 3)
    low: Numbers  # (3,)
    high: Numbers  # (3,)
    square: Numbers  # (1,)


@part
def set_rodrigues(vector: Numbers, turn: Numbers) -> None:
    """Set *turn*, (3, 3), to the rotation by 2·atan of the length of *vector* about it."""
    square = vector[0] ** 2 + vector[1] ** 2 + vector[2] ** 2
    scale = 2.0 / (1.0 + square)
    for i in range(3):
        for j in range(3):
            turn[i, j] = scale * vector[i] * vector[j]
        turn[i, i] += 1.0 - scale * square
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        turn[k, j] += scale * vector[i]
        turn[j, k] -= scale * vector[i]


@part
def set_product(a: Numbers, b: Numbers, out: Numbers) -> None:
    """Set *out* to the matrix product of two (3, 3)."""
    for i in range(3):
        for j in range(3):
            out[i, j] = a[i, 0] * b[0, j] + a[i, 1] * b[1, j] + a[i, 2] * b[2, j]


@part
def set_back(turn: Numbers, point: Numbers, out: Numbers) -> None:
    """Set *out*, (3,), to turnᵀ · point."""
    for i in range(3):
        out[i] = turn[0, i] * point[0] + turn[1, i] * point[1] + turn[2, i] * point[2]


@part
def set_turned(view: View, omega: Numbers, turn: Numbers) -> None:
    """Set *turn* to frame · Q(omega)."""
    small, half = np.empty((3, 3)), np.empty(3)
    for i in range(3):
        half[i] = 0.5 * omega[i]
    set_rodrigues(half, small)
    set_product(view.frame, small, turn)


@part
def viewed(base: Numbers, low: Numbers, high: Numbers) -> View:
    """Return the cell from its middle."""
    middle, rotation, frame = np.empty(3), np.empty((3, 3)), np.empty((3, 3))
    for i in range(3):
        middle[i] = 0.5 * (low[i] + high[i])
    set_rodrigues(middle, rotation)
    set_product(base, rotation, frame)
    least, most, square = np.zeros(3), np.zeros(3), np.zeros(1)
    corner, relative = np.empty(3), np.empty(3)
    for number in range(8):
        scale = 1.0
        for i in range(3):
            corner[i] = high[i] if number >> i & 1 else low[i]
            scale += middle[i] * corner[i]
        size = 0.0
        for i in range(3):
            j, k = (i + 1) % 3, (i + 2) % 3
            relative[i] = corner[i] - middle[i] - (middle[j] * corner[k] - middle[k] * corner[j])
            relative[i] *= 2.0 / scale
            size += relative[i] ** 2
            least[i] = min(least[i], relative[i] - ROUNDING)
            most[i] = max(most[i], relative[i] + ROUNDING)
        square[0] = max(square[0], size + ROUNDING)
    return View(frame, least, most, square)


@compiled
def view_of(base: Numbers, low: Numbers, high: Numbers) -> View:
    """Return the cell from its middle."""
    return viewed(base, low, high)


def within(cell: Cell, ball: float) -> bool:
    """Whether some turn of the cell is needed: one whose Rodrigues vector has a norm of order *ball* at most one.

    A free box needs those with |g|₁ ≤ 1 of the cube |g|∞ ≤ √2 − 1, the fundamental domain of its 24 turns; a round
    thing those with |g|₂ ≤ 1 of the square; infinity needs all.
    """
    nearest = np.maximum(np.maximum(cell.low, -cell.high), 0.0)
    return bool(np.linalg.norm(nearest, ball) <= 1.0 + 1e-12)


def halved(cell: Cell, sizes: Numbers) -> tuple[Cell, Cell]:
    """Return the two halves of a cell, cut across the side that moves a thing of *sizes*, (3,), most."""
    axis = int(np.argmax(_moves(cell, sizes)))
    middle = 0.5 * (cell.low[axis] + cell.high[axis])
    high, low = cell.high.copy(), cell.low.copy()
    high[axis] = low[axis] = middle
    return Cell(cell.base, cell.low, high), Cell(cell.base, low, cell.high)


def _moves(cell: Cell, sizes: Numbers) -> Numbers:
    """Return how far, squared and up to a factor, a thing's corners go while Rodrigues' vector goes along each side.

    Along side s of the axis e the thing turns by 2 (s e − middle × s e) / (1 + |middle|²).
    """
    aside, side = (0.5 * (cell.low + cell.high)) ** 2, cell.high - cell.low
    levers = (sizes**2).sum() - sizes**2
    after, last = [1, 2, 0], [2, 0, 1]
    moves: Numbers = side**2 * (levers + aside[last] * levers[after] + aside[after] * levers[last])
    return moves


def turned_by(frame: Numbers, omega: Numbers) -> Numbers:
    """Return frame · Q(omega), (3, 3)."""
    r = omega / 2
    cross = np.array([[0, -r[2], r[1]], [r[2], 0, -r[0]], [-r[1], r[0], 0]])
    turn: Numbers = frame @ (np.eye(3) + 2 / (1 + r @ r) * (cross + cross @ cross))
    return turn

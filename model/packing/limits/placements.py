"""All placements that a rule of turn allows, as cells: split, and without those that hold none."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.packing.limits.cells import Cells, Cores, Spread, empty, reached_least
from tapeloft.model.packing.turns import yaw
from tapeloft.model.proof.walls import Numbers

FLUSH = 1e-9  # m: how much farther than the walls things are let reach, for rounding
ABOUT = math.pi / 6  # rad: how wide the first cells are about the vertical


@dataclass(frozen=True, eq=False)
class Body:
    """A convex body within a thing, turned by one of the bases: all its placements are a yaw and a move away.

    narrow: grown by half the clearance, (m, 4) sides, and its corners, core; wide: grown by all of it, and its
    corners, (n, 3); around: corners of a body around the thing. period: the yaw, rad, after which it is the same,
    0 where it is not turned about the vertical.
    """

    narrow: Points
    core: Points
    wide: Points
    corners: Points
    around: Points
    period: float


@dataclass(frozen=True, eq=False)
class Space:
    """What things are placed in: the box around it, (2, 3), its hull's sides, (k, 4), and points not inside."""

    bounds: Points
    hull: Points
    pits: Spread


def cores(bodies: list[Body]) -> Cores:
    """Return bodies as the loops take them."""
    return Cores(
        np.vstack([body.narrow for body in bodies]),
        _starts([len(body.narrow) for body in bodies]),
        np.vstack([body.wide for body in bodies]),
        _starts([len(body.wide) for body in bodies]),
        np.vstack([body.corners for body in bodies]),
        _starts([len(body.corners) for body in bodies]),
    )


def first_cells(bodies: list[Body], bounds: Points) -> Cells:
    """Return cells, wide ones, that hold all placements of the bodies in an upright box."""
    rows = []
    for base, body in enumerate(bodies):
        many = max(1, round(body.period / ABOUT))
        spread = body.period / many / 2
        out = 2 * math.sin(spread / 2) * float(np.hypot(*body.corners[:, :2].T).max())
        for k in range(many):
            angle = (2 * k + 1) * spread
            turned = body.corners @ yaw(angle).T
            slack = np.array([out, out, 0.0]) + FLUSH
            low = bounds[0] - turned.min(axis=0) - slack
            high = bounds[1] - turned.max(axis=0) + slack
            if (low <= high).all():
                rows.append([base, angle, spread, *(low + high) / 2, *(high - low) / 2])
    table = np.array(rows, np.float64).reshape(-1, 9)
    return Cells(table[:, 0].astype(np.int64), table[:, 1:3].copy(), table[:, 3:6].copy(), table[:, 6:].copy())


def some(cells: Cells, which: NDArray[np.bool_]) -> Cells:
    """Return those cells for which *which* is true."""
    return Cells(cells.base[which], cells.angle[which], cells.place[which], cells.half[which])


def together(one: Cells, other: Cells) -> Cells:
    """Return the cells of both."""
    return Cells(
        np.concatenate([one.base, other.base]),
        np.concatenate([one.angle, other.angle]),
        np.concatenate([one.place, other.place]),
        np.concatenate([one.half, other.half]),
    )


def filled(cells: Cells, shape: Cores, space: Space) -> Cells:
    """Return the cells without those that surely hold no placement in the space."""
    turns, turned = np.unique(np.column_stack([cells.base, cells.angle]), axis=0, return_inverse=True)
    least = reached_least(turns[:, 0].astype(np.int64), turns[:, 1:].copy(), shape, space.hull)
    return some(cells, empty(cells, shape, space.pits, space.hull, least, turned.ravel()) == 0)


def halved(cells: Cells, bodies: list[Body]) -> Cells:
    """Return both halves of each cell, cut where it is widest for the size of its body."""
    wide = np.zeros((len(cells.base), 4))
    for base, body in enumerate(bodies):
        own = cells.base == base
        wide[own] = np.column_stack([cells.half[own], cells.angle[own, 1]]) / sizes(body)
    cut = wide.argmax(axis=1)
    steps = np.column_stack([cells.half, cells.angle[:, 1]]) / 2 * (np.arange(4) == cut[:, None])
    lower, upper = (
        Cells(
            cells.base,
            np.column_stack([cells.angle[:, 0] + way * steps[:, 3], cells.angle[:, 1] - steps[:, 3]]),
            cells.place + way * steps[:, :3],
            cells.half - steps[:, :3],
        )
        for way in (-1, 1)
    )
    return together(lower, upper)


def sizes(body: Body) -> Numbers:
    """Return how wide a cell is, along x, y and z and about the vertical, that spoils a body as much as any other."""
    half = np.ptp(body.corners, axis=0) / 2
    if body.period:
        level = np.abs(body.narrow[:, 2]) < 0.7
        half[:2] = body.narrow[level, 3].min()
    return np.append(half, half[0] / float(np.hypot(*body.corners[:, :2].T).max()))


def _starts(counts: list[int]) -> NDArray[np.int64]:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)

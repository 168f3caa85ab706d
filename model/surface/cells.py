"""The mesh of the surface between stations, taken apart into rows of corners: for checks before it is built.

A bay is the two ends of its N ribs, (2, N, 3) float64, m. Each cell, from rib k to k + 1, has a corner in its middle;
cut by rows of 3 N corners half-way and at the ends, the mesh is ruled between the rows: three straight lines a rib.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points, Triangles
from tapeloft.model.solid import triangulated
from tapeloft.model.surface.contacts import self_contacts
from tapeloft.model.surface.skin import pieces
from tapeloft.model.surface.sweeps import SAME

INWARD = 1e-3  # how far in, as a share of its bay, a section is looked at that may touch itself
BULKHEAD = -1  # the number, in place of a cell's, of the surface that closes an end

Place = tuple[float, float, float]
Cell = tuple[int, int]  # bay, and rib it begins at
Ends = tuple[bool, bool]  # whether something is done at the aft end of a bay, and at the forward one


@dataclass(frozen=True, eq=False)
class Patch:
    """Part of a mesh: vertices (n, 3) m; triangles (m, 3); cells (m, 2): the bay and the cell each comes from."""

    vertices: Points
    triangles: Triangles
    cells: Triangles


def moved_in(rows: Points, ends: Ends) -> Points:
    """Return the *rows* of a bay, (r, n, 3), evenly spaced, with the first or the last moved in where *ends* says so.

    >>> rows = np.array([[[0, 0, 0.0]], [[1, 1, 1.0]]])
    >>> moved_in(rows, (True, False))[:, 0, 0].tolist()
    [0.001, 1.0]
    """
    moved, inward = rows.copy(), INWARD * (len(rows) - 1)
    if ends[0]:
        moved[0] += inward * (rows[1] - rows[0])
    if ends[1]:
        moved[-1] += inward * (rows[-2] - rows[-1])
    return moved


def rows_of(bay: Points) -> Points:
    """Return the rows of a bay's mesh, (2 c + 1, 3 N, 3), cut along the ribs c times as the loft cuts it.

    >>> square = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1.0]])
    >>> rows_of(np.stack([square, square + [1, 0, 0]])).shape
    (3, 12, 3)
    """
    share = np.linspace(0, 1, 2 * pieces(bay) + 1)[:, None, None]
    here = (1 - share) * bay[0] + share * bay[1]
    following = np.roll(here, -1, axis=1)
    rows = np.stack([here, here, following], axis=2)
    rows[1::2, :, 1:] = ((here + following) / 2)[1::2, :, None]
    return rows.reshape(len(share), -1, 3)


def warp(bay: Points) -> float:
    """Return how far the cell least like a parallelogram is from one: the greatest |a − b + c − d|, m."""
    sides = np.roll(bay, -1, axis=1) - bay
    return float(np.linalg.norm(sides[1] - sides[0], axis=1).max())


def patch(number: int, rows: Points, capped: Ends) -> Patch:
    """Return the mesh of bay *number* between *rows*, with the bulkheads that close it where *capped* says so."""
    count, n = rows.shape[:2]
    a = np.arange((count - 1) * n).reshape(-1, n)
    b = np.roll(a, -1, axis=1)
    sides = np.stack([a, b, b + n, a, b + n, a + n], axis=2).reshape(-1, 3)
    cells = np.repeat(np.tile(np.arange(n) // 3, count - 1), 2)
    caps = [_cap(rows[row]) + row * n for row, wanted in ((0, capped[0]), (count - 1, capped[1])) if wanted]
    closing = sum(map(len, caps))
    cells = np.concatenate([cells, np.full(closing, BULKHEAD)])
    return Patch(
        rows.reshape(-1, 3), np.concatenate([sides, *caps]), np.column_stack([np.full_like(cells, number), cells])
    )


def overlaps(patches: Sequence[Patch]) -> dict[tuple[Cell, Cell], Place]:
    """Return the pairs of cells that meet, other than by corners shared within a patch, and about where."""
    before = np.cumsum([0, *(len(part.vertices) for part in patches[:-1])])
    vertices = np.concatenate([part.vertices for part in patches])
    triangles = np.concatenate([part.triangles + first for part, first in zip(patches, before, strict=True)])
    cells = np.concatenate([part.cells for part in patches])
    found: dict[tuple[Cell, Cell], Place] = {}
    for pair in self_contacts(vertices, triangles):
        corners = vertices[triangles[pair]]
        x, y, z = ((corners.min(axis=1).max(axis=0) + corners.max(axis=1).min(axis=0)) / 2).tolist()
        (bay, cell), (bay2, cell2) = cells[pair].tolist()
        found.setdefault(((bay, cell), (bay2, cell2)), (x, y, z))
    return found


def _cap(row: Points) -> Triangles:
    distinct = np.flatnonzero((np.abs(row - np.roll(row, 1, axis=0)) > SAME).any(axis=1))
    return distinct[triangulated([row[distinct, 1:]])] if len(distinct) > 2 else np.zeros((0, 3), np.int64)

"""Cells of placements: what every placement in one covers, and which cells hold none.

A placement of a thing is a rotation R = yaw(θ) · base and a place t. A cell is one base, the angles within ε of θ and
the places within δ of t. Where a point is inside the thing at every placement of a cell, the cell covers it; where it
covers a point that is not inside the space, no thing in the space is placed there.
"""

from typing import NamedTuple

import numpy as np

from tapeloft.model.packing.forms import Indices
from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.walls import Numbers, Walls
from tapeloft.model.proof.winding import winding

STRICT = 1e-9  # m: how far within every side a point must be to be covered


class Cells(NamedTuple):
    """Cells of placements."""

    base: Indices  # (n,)
    angle: Numbers  # (n, 2) θ and ε, rad
    place: Numbers  # (n, 3) t
    half: Numbers  # (n, 3) δ


class Cores(NamedTuple):
    """A convex body within the thing, turned by each base: sides (…, 4) and corners (…, 3) about its origin.

    sides are of the body grown by half the clearance, which no two things share; wide those of the body grown by all
    of it, which is in the space; corners those of the latter.
    """

    sides: Numbers
    first_side: Indices
    wide: Numbers
    first_wide: Indices
    corners: Numbers
    first_corner: Indices


class Spread(NamedTuple):
    """Points sorted into the boxes of a grid, (nx · ny · nz) boxes of one size from *low* on."""

    places: Numbers  # (n, 3)
    first: Indices  # (boxes + 1,)
    low: Numbers  # (3,)
    pitch: Numbers  # (3,)
    shape: Indices  # (3,)


class View(NamedTuple):
    """A cell made ready: each side at its middle, (m, 4), its offset less all that the cell can move it inward."""

    sides: Numbers
    many: int
    cos: float  # of ε
    sin: float
    low: Numbers  # (3,) the boxes of a grid that hold what the cell can cover, from the first
    high: Numbers  # (3,) to the one after the last


@compiled
def covered(cells: Cells, cores: Cores, nodes: Spread) -> tuple[Indices, Indices]:
    """Return the numbers of the nodes that each cell covers, one cell after another, and where each starts."""
    first = np.zeros(cells.base.size + 1, np.int64)
    found = np.empty(1024, np.int64)
    sides = np.empty((cores.sides.shape[0], 4))
    for c in range(cells.base.size):
        view = _viewed(cells, c, cores, cores.sides, cores.first_side, nodes, sides)
        count = first[c]
        for box in _boxes(view, nodes):
            for p in range(nodes.first[box], nodes.first[box + 1]):
                if _is_covered(cells, c, view, nodes.places, p):
                    if count == found.size:
                        found = np.append(found, np.empty(found.size, np.int64))
                    found[count] = p
                    count += 1
        first[c + 1] = count
    return found[: first[-1]].copy(), first


@compiled
def empty(cells: Cells, cores: Cores, pits: Spread, hull: Numbers, least: Numbers, turned: Indices) -> Indices:
    """Return 1 for each cell in which no thing is inside the space, else 0.

    pits: points that are not inside; hull: sides, (k, 4), that hold the space; least: what `reached_least` says for
    each turn, and turned which turn each cell has.
    """
    found = np.zeros(cells.base.size, np.int64)
    sides = np.empty((cores.wide.shape[0], 4))
    for c in range(cells.base.size):
        if _sticks_out(cells, c, hull, least[turned[c]]) or _holds_a_pit(cells, c, cores, pits, sides):
            found[c] = 1
    return found


@compiled
def reached_least(base: Indices, angle: Numbers, cores: Cores, hull: Numbers) -> Numbers:
    """Return how far along each side of the hull some corner of a body reaches at every angle of a turn, (n, k)."""
    found = np.full((base.size, hull.shape[0]), -np.inf)
    corners = cores.corners
    for t in range(base.size):
        cos, sin = np.cos(angle[t, 0]), np.sin(angle[t, 0])
        wide_cos, wide_sin = np.cos(angle[t, 1]), np.sin(angle[t, 1])
        for h in range(hull.shape[0]):
            nx, ny, nz = cos * hull[h, 0] + sin * hull[h, 1], cos * hull[h, 1] - sin * hull[h, 0], hull[h, 2]
            for v in range(cores.first_corner[base[t]], cores.first_corner[base[t] + 1]):
                along = nx * corners[v, 0] + ny * corners[v, 1]
                across = abs(nx * corners[v, 1] - ny * corners[v, 0])
                if along < 0 and across * wide_cos <= -along * wide_sin:
                    along = -np.hypot(along, across)
                else:
                    along = along * wide_cos - across * wide_sin
                found[t, h] = max(found[t, h], along + nz * corners[v, 2])
    return found


@part
def _sticks_out(cells: Cells, c: int, hull: Numbers, least: Numbers) -> bool:
    """Whether at every placement of a cell some corner of the body lies beyond one side of the hull."""
    for h in range(hull.shape[0]):
        along = least[h] - hull[h, 3] - STRICT
        for i in range(3):
            along += hull[h, i] * cells.place[c, i] - abs(hull[h, i]) * cells.half[c, i]
        if along > 0:
            return True
    return False


@part
def _holds_a_pit(cells: Cells, c: int, cores: Cores, pits: Spread, sides: Numbers) -> bool:
    view = _viewed(cells, c, cores, cores.wide, cores.first_wide, pits, sides)
    for box in _boxes(view, pits):
        for p in range(pits.first[box], pits.first[box + 1]):
            if _is_covered(cells, c, view, pits.places, p):
                return True
    return False


@part
def _viewed(cells: Cells, c: int, cores: Cores, given: Numbers, first: Indices, points: Spread, sides: Numbers) -> View:
    """Return a cell made ready; *given* are the sides of all bodies, *sides* is to work in."""
    base, turn, spread = cells.base[c], cells.angle[c, 0], cells.angle[c, 1]
    cos, sin = np.cos(turn), np.sin(turn)
    hx, hy, hz = cells.half[c, 0], cells.half[c, 1], cells.half[c, 2]
    swing = 2 * np.sin(spread / 2) * np.hypot(hx, hy)
    count = 0
    for s in range(first[base], first[base + 1]):
        nx, ny, nz = cos * given[s, 0] - sin * given[s, 1], sin * given[s, 0] + cos * given[s, 1], given[s, 2]
        moved = abs(nx) * hx + abs(ny) * hy + abs(nz) * hz + swing * np.hypot(nx, ny)
        sides[count, 0], sides[count, 1], sides[count, 2] = nx, ny, nz
        sides[count, 3] = given[s, 3] - STRICT - moved
        count += 1
    low, high = np.zeros(3), np.zeros(3)
    for i in range(3):
        under, over = 1e300, -1e300
        for v in range(cores.first_corner[base], cores.first_corner[base + 1]):
            along = cores.corners[v, 2]
            if i == 0:
                along = cos * cores.corners[v, 0] - sin * cores.corners[v, 1]
            elif i == 1:
                along = sin * cores.corners[v, 0] + cos * cores.corners[v, 1]
            under, over = min(under, along), max(over, along)
        at = cells.place[c, i] - points.low[i]
        low[i] = max(0.0, np.floor((at + under + cells.half[c, i]) / points.pitch[i]))
        high[i] = min(float(points.shape[i]), np.floor((at + over - cells.half[c, i]) / points.pitch[i]) + 1)
    return View(sides, count, np.cos(spread), np.sin(spread), low, high)


@part
def _boxes(view: View, points: Spread) -> Indices:
    """Return the boxes of points that a cell can cover any of."""
    across = np.empty(3, np.int64)
    for i in range(3):
        across[i] = max(int(view.high[i] - view.low[i]), 0)
    found = np.empty(across[0] * across[1] * across[2], np.int64)
    for k in range(found.size):
        z, rest = k % across[2], k // across[2]
        y, x = rest % across[1], rest // across[1]
        row = (int(view.low[0]) + x) * points.shape[1] + int(view.low[1]) + y
        found[k] = row * points.shape[2] + int(view.low[2]) + z
    return found


@part
def _is_covered(cells: Cells, c: int, view: View, points: Numbers, p: int) -> bool:
    """Whether a point is strictly within every side of the body at every placement of a cell."""
    x, y, z = points[p, 0] - cells.place[c, 0], points[p, 1] - cells.place[c, 1], points[p, 2] - cells.place[c, 2]
    sides = view.sides
    for s in range(view.many):
        along = sides[s, 0] * x + sides[s, 1] * y
        if view.sin > 0.0:
            across = abs(sides[s, 0] * y - sides[s, 1] * x)
            if along > 0 and across * view.cos <= along * view.sin:
                along = np.hypot(along, across)
            else:
                along = along * view.cos + across * view.sin
        if along + sides[s, 2] * z >= sides[s, 3]:
            return False
    return True


@compiled
def sides_of(surface: Walls, points: Numbers) -> Indices:
    """Return how often the walls wind round each of *points*: 1 inside, 0 outside, else unsure."""
    found = np.empty(points.shape[0], np.int64)
    for p in range(points.shape[0]):
        found[p] = winding(surface, points[p])
    return found

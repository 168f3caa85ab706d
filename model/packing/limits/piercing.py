"""At most how many, by weights: if every placement covers weight of at least 1, no more go in than all weigh.

Things in a space share no inner point, so the weights that they cover add up to no more than all. Weight lies on
points and on planes (`limits.levels`); a linear program finds weights that are least in all while each cell of
placements covers 1, as far as it covers a point, or an area, at every placement in it (`limits.cells`). Cells that
are short of weight are halved, which can only let them cover more. Whatever the solver's tolerance, the weights are
divided by what the lightest cell covers, so that the limit holds (`limits.weighing`).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tapeloft.model.packing.limits.cells import Cells, Cores, Spread, covered, sides_of
from tapeloft.model.packing.limits.levels import Planes, planes, taken_up
from tapeloft.model.packing.limits.placements import (
    Body,
    Space,
    cores,
    filled,
    first_cells,
    halved,
    sizes,
    some,
    together,
)
from tapeloft.model.packing.limits.sampling import hull, lattice, on_walls, spread
from tapeloft.model.packing.limits.weighing import weighed
from tapeloft.model.proof.walls import Numbers, walls
from tapeloft.model.solid import Solid

CLOSE = 0.25  # of a body's width: how near points on the walls lie to each other
CROWD = 5000  # points that bear weight, at most
FIRST, MOST = 4000, 30_000  # cells before the first program, and at most
WORK, EACH = 5e5, 20  # what cells cover in all programs, and for each cell besides, before the search ends
STEPS, MANY = 8, 40  # planes over the least size of a body, and at most
STALE, LITTLE = 4, 5e-3  # the search ends where so many programs make the limit no less than this share lower
HOPELESS = 1.15  # of what is known: where the first limit is more, the search ends
SHORT = 1e-6  # of 1: a cell that covers no more than the least and this is short of weight

Left = Callable[[], float]  # how many seconds are left


@dataclass(frozen=True, eq=False)
class Placements:
    """All that things in a space may be placed at: cells of placements of bodies, and where weight may lie."""

    bodies: list[Body]
    cells: Cells
    shape: Cores
    room: Space
    nodes: Spread


def placements(space: Solid, bodies: list[Body], left: Left = lambda: math.inf) -> Placements:
    """Return cells that hold all placements of *bodies* in a space: no cells where none of them goes in.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.packing.limits.within import bodies_within
    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.model.gear.turn import Turn
    >>> from tapeloft.shapes.polyhedron import box
    >>> cube = body(box((0, 0, 0), (1, 1, 1)))
    >>> len(placements(cube, bodies_within(Block(1.1, 0.2, 0.2), Turn.AS_GIVEN, 0.0)).cells.base)
    0
    """
    places = lattice(space.bounds, bodies)
    told = sides_of(walls(space.vertices[space.triangles]), places)
    width = min(float(sizes(body)[:3].min()) for body in bodies) * 2
    pits = np.vstack([places[told == 0], on_walls(space, CLOSE * width)])
    room = Space(space.bounds, hull(space), spread(pits, space.bounds, width))
    shape = cores(bodies)
    cells = filled(first_cells(bodies, space.bounds), shape, room)
    while 0 < len(cells.base) < FIRST and left() > 0:
        cells = filled(halved(cells, bodies), shape, room)
    return Placements(bodies, cells, shape, room, spread(places[told != 0], space.bounds, width))


def pierced(
    space: Solid,
    found: Placements,
    known: float = math.inf,
    work: float = WORK,
    left: Left = lambda: math.inf,
) -> float:
    """Return a limit on how many things go in a space, each at one of the placements, and hold their body there.

    known: a limit known already; work: see `WORK`. Infinite where none is found.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.packing.limits.within import bodies_within
    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.model.gear.turn import Turn
    >>> from tapeloft.shapes.polyhedron import box
    >>> cube = body(box((0, 0, 0), (1, 1, 1)))
    >>> math.floor(pierced(cube, placements(cube, bodies_within(Block(0.4, 0.4, 0.4), Turn.AS_GIVEN, 0.0))))
    8
    """
    if not len(found.cells.base):
        return 0.0
    if len(found.nodes.places) > CROWD:
        return math.inf
    axes = [2] if any(body.period for body in found.bodies) else [0, 1, 2]
    across = [planes(space, found.bodies, axis, STEPS, MANY) for axis in axes]
    return _lightest(_Weights(found, across), known, work, left)


@dataclass(frozen=True, eq=False)
class _Weights:
    """What weight lies on: points, and planes, each as heavy as what the largest section takes up of it."""

    found: Placements
    planes: list[Planes]

    @property
    def unit(self) -> float:
        return max(float(profile[1].max()) for some in self.planes for profile in some.profiles) ** 2

    @property
    def costs(self) -> Numbers:
        points = np.ones(len(self.found.nodes.places))
        return np.concatenate([points, *(some.areas / self.unit for some in self.planes)])

    def rows(self, cells: Cells) -> Any:
        """Return a sparse matrix: what of each node and plane each cell covers, (cells, nodes and planes)."""
        from scipy.sparse import csr_matrix, hstack

        numbers, first = covered(cells, self.found.shape, self.found.nodes)
        shape = (len(cells.base), len(self.found.nodes.places))
        points = csr_matrix((np.ones(len(numbers)), numbers, first), shape=shape)
        return hstack([points, *(csr_matrix(taken_up(some, cells) / self.unit) for some in self.planes)], format="csr")


def _lightest(weights: _Weights, known: float, work: float, left: Left) -> float:
    """Return the least limit met while cells short of weight are halved."""
    from scipy.sparse import vstack

    found, cells, met = weights.found, weights.found.cells, [math.inf]
    rows = weights.rows(cells)
    while len(cells.base) <= MOST and work > 0 and left() > 0:
        short = np.asarray(rows.sum(axis=1)).ravel() <= 0
        if not short.any():
            limit, covers = weighed(weights.costs, rows, left())
            work -= rows.nnz + EACH * rows.shape[0]
            met.append(min(met[-1], limit))
            if _is_over(met, known):
                break
            short = covers <= 1 + SHORT
        halves = filled(halved(some(cells, short), found.bodies), found.shape, found.room)
        cells = together(some(cells, ~short), halves)
        rows = vstack([rows[~short], weights.rows(halves)], format="csr")
        if not len(cells.base):
            return 0.0
    return met[-1]


def _is_over(met: list[float], known: float) -> bool:
    """Whether the limits met, the first of them infinite, show that no better one is near."""
    stale = len(met) > STALE and met[-1] > met[-STALE] * (1 - LITTLE)
    return stale or met[-1] > known * HOPELESS

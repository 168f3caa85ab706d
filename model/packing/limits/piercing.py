"""At most how many, by weights on points: if every placement covers weight of at least 1, no more fit than all weigh.

Things in a space share no inner point, so the weights that they cover add up to no more than all. Points lie on a
lattice; a linear program finds weights that are least in all while each cell of placements covers 1, as far as it
covers a point at every placement in it (`limits.cells`). Cells that are short of weight are halved, which can only
let them cover more. Whatever the solver's tolerance, the weights given out are divided by what the lightest cell
covers, so that the limit holds.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from tapeloft.model.moments import Points
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
from tapeloft.model.packing.limits.weighing import weighed
from tapeloft.model.proof.walls import Numbers, walls
from tapeloft.model.solid import Solid

NODES, CROWD = 1500, 6000  # points that bear weight, about and at most
LOOSEST = 0.5  # of a body's width: the widest pitch of points that bear weight
PITS, CLOSE = 12_000, 0.25  # points on the walls, at most, and of a body's width: how near they lie to each other
FIRST, MOST = 4000, 60_000  # cells before the first program, and at most
WORK = 2.5e6  # points covered, counted for each cell in each program, before the search ends
STEPS, MANY = 8, 40  # planes over the least size of a body, and at most
STALE, LITTLE = 5, 2e-3  # the search ends where so many programs make the limit no less than this share lower
SHORT = 1e-6  # of 1: a cell that covers no more than the least and this is short of weight

Going = Callable[[float], bool]  # told the limit so far; False to stop


@dataclass(frozen=True)
class Pierced:
    """No more than *limit* placements share no inner point; 0 where there is none at all, infinite if none is found.

    cells: how many cells of placements bear it out, points: on how many points weight may lie.
    """

    limit: float
    cells: int
    points: int


def pierced(space: Solid, bodies: list[Body], going: Going = lambda limit: True) -> Pierced:
    """Return a limit on how many things go in a space, each of which holds one of *bodies* somewhere.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.packing.limits.within import bodies_within
    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.model.gear.turn import Turn
    >>> from tapeloft.shapes.polyhedron import box
    >>> cube = body(box((0, 0, 0), (1, 1, 1)))
    >>> math.floor(pierced(cube, bodies_within(Block(0.4, 0.4, 0.4), Turn.AS_GIVEN, 0.0)).limit)
    8
    """
    places = _lattice(space.bounds, bodies)
    surface = walls(space.vertices[space.triangles])
    told = sides_of(surface, places)
    width = min(float(sizes(body)[:3].min()) for body in bodies) * 2
    pits = np.vstack([places[told == 0], _on_walls(space, CLOSE * width)])
    room = Space(space.bounds, _hull(space), _spread(pits, space.bounds, width))
    nodes, shape = _spread(places[told == 1], space.bounds, width), cores(bodies)
    cells = filled(first_cells(bodies, space.bounds), shape, room)
    while 0 < len(cells.base) < FIRST and going(math.inf):
        cells = filled(halved(cells, bodies), shape, room)
    if not len(cells.base):
        return Pierced(0.0, 0, len(nodes.places))
    across = [planes(space, bodies, axis, STEPS, MANY) for axis in range(3) if axis == 2 or not _is_yawed(bodies)]
    return _lightest(_Search(bodies, shape, room, nodes, across), cells, going)


def _is_yawed(bodies: list[Body]) -> bool:
    return any(body.period for body in bodies)


def _lightest(search: "_Search", cells: Cells, going: Going) -> Pierced:
    """Return the least limit met while cells short of weight are halved."""
    from scipy.sparse import vstack

    best, used, work, met = math.inf, 0, 0.0, [math.inf]
    rows = search.rows(cells)
    while len(cells.base) <= MOST and going(best):
        short = np.asarray(rows.sum(axis=1)).ravel() <= 0
        if not short.any():
            limit, covers = weighed(search.costs, rows)
            best, used = (limit, len(cells.base)) if limit < best else (best, used)
            work += rows.nnz
            met.append(best)
            if work > WORK or (len(met) > STALE and best > met[-STALE] * (1 - LITTLE)):
                break
            short = covers <= 1 + SHORT
        halves = filled(halved(some(cells, short), search.bodies), search.shape, search.room)
        cells = together(some(cells, ~short), halves)
        rows = vstack([rows[~short], search.rows(halves)], format="csr")
        if not len(cells.base):
            return Pierced(0.0, 0, len(search.nodes.places))
    return Pierced(best, used, len(search.nodes.places))


@dataclass(frozen=True, eq=False)
class _Search:
    """What does not change while cells are halved. Weight lies on points and on planes."""

    bodies: list[Body]
    shape: Cores
    room: Space
    nodes: Spread
    planes: list[Planes]

    @property
    def costs(self) -> Numbers:
        return np.concatenate([np.ones(len(self.nodes.places)), *(some.areas / self.unit for some in self.planes)])

    @property
    def unit(self) -> float:
        return max(float(one[1].max()) for some in self.planes for one in some.profiles) ** 2

    def rows(self, cells: Cells) -> Any:
        """Return a sparse matrix: what of each node and plane each cell covers, (cells, nodes and planes)."""
        from scipy.sparse import csr_matrix, hstack

        numbers, first = covered(cells, self.shape, self.nodes)
        points = csr_matrix((np.ones(len(numbers)), numbers, first), shape=(len(first) - 1, len(self.nodes.places)))
        return hstack([points, *(csr_matrix(taken_up(some, cells) / self.unit) for some in self.planes)], format="csr")


def _lattice(bounds: Points, bodies: list[Body]) -> Points:
    """Return points all over a box, (n, 3): about `NODES`, nearer to each other along what is short in the bodies."""
    length = bounds[1] - bounds[0]
    widths = 2 * np.min([sizes(body)[:3] for body in bodies], axis=0)
    share = min(LOOSEST, float(np.prod(length / widths) / NODES) ** (1 / 3))
    marks = []
    for axis in range(3):
        fixed = {round(float(np.ptp(b.corners[:, axis])), 9) for b in bodies if axis == 2 or not b.period}
        marks.append(_marks(bounds[:, axis], sorted(fixed), share * float(widths[axis])))
    return np.stack(np.meshgrid(*marks, indexing="ij"), axis=-1).reshape(-1, 3)


def _marks(reach: Numbers, sizes: list[float], pitch: float) -> Numbers:
    """Return marks within a reach: for each size as few as pierce all intervals so long, and between them a pitch."""
    length, middle = float(reach[1] - reach[0]), float(reach.mean())
    ends: list[Numbers] = [reach]
    for size in sizes:
        many = int(length / size + 1e-9)
        if 0 < many <= length / pitch:
            step = (max((length - 2 * size) / (many - 1), 0.0) + size) / 2 if many > 1 else 0.0
            ends.append(np.linspace(middle - (many - 1) / 2 * step, middle + (many - 1) / 2 * step, many))
    marks = np.unique(np.round(np.concatenate(ends), 9))
    between = [
        np.linspace(a, b, max(math.ceil((b - a) / pitch), 1 + (a == reach[0] or b == reach[1])) + 1)[1:]
        for a, b in pairwise(marks.tolist())
    ]
    return np.concatenate(between)[:-1]


def _on_walls(space: Solid, pitch: float) -> Points:
    """Return points on the surface, (n, 3): every corner, and between them a lattice on each triangle."""
    from tapeloft.model.moments import triangle_areas

    areas = triangle_areas(space.vertices, space.triangles)
    pitch = max(pitch, math.sqrt(2 * float(areas.sum()) / PITS))
    corners = space.vertices[space.triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    steps = np.minimum(np.ceil(longest / pitch), np.ceil(areas / pitch**2) + np.ceil(longest / pitch)).astype(int)
    points = [space.vertices]
    for count in np.unique(steps[steps > 1]).tolist():
        i, j = np.nonzero(np.add.outer(np.arange(count + 1), np.arange(count + 1)) <= count)
        shares = np.column_stack([i, j, count - i - j]) / count
        points.append((shares @ corners[steps == count]).reshape(-1, 3))
    return np.unique(np.round(np.concatenate(points), 12), axis=0)


def _hull(space: Solid) -> Points:
    """Return the sides of the hull of a space, (k, 4)."""
    from scipy.spatial import ConvexHull

    normals = np.unique(np.round(ConvexHull(space.vertices).equations[:, :3], 9), axis=0)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    return np.column_stack([normals, (space.vertices @ normals.T).max(axis=0)])


def _spread(points: Points, bounds: Points, pitch: float) -> Spread:
    """Return points sorted into boxes of a pitch or less."""
    length = bounds[1] - bounds[0]
    shape = np.maximum(np.ceil(length / pitch), 1).astype(np.int64)
    size = length / shape
    at = np.clip(np.floor((points - bounds[0]) / size).astype(np.int64), 0, shape - 1)
    box = (at[:, 0] * shape[1] + at[:, 1]) * shape[2] + at[:, 2]
    first = np.concatenate([[0], np.cumsum(np.bincount(box, minlength=int(shape.prod())))])
    return Spread(points[np.argsort(box, kind="stable")], first.astype(np.int64), bounds[0].copy(), size, shape)

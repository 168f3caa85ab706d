"""Best first: the branch with the highest bound is split until none can hold a box much larger than the best found."""

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np

from tapeloft.model.proof.branches import Branch, branched, followed, ways
from tapeloft.model.proof.climb import climbed
from tapeloft.model.proof.interior import KEPT, MOST, relaxed
from tapeloft.model.proof.program import MARGIN, NEVER, Halfspaces, Numbers, Wish
from tapeloft.model.proof.walls import Walls, walls
from tapeloft.model.proof.winding import told_apart
from tapeloft.model.solid import Solid

LATTICE = 12  # points a side that are told inside from outside
SEEDS = 16  # climbs from inside points, before the search
SPECK = 2e-3  # unit frame: half the side of the box that such a climb starts from
EAGER = 40  # nodes that each get a climb; later one in
SELDOM = 16

Going = Callable[[float, float], bool]  # told the best log volume and its limit; False to stop


@dataclass(frozen=True)
class Frame:
    """Where the unit frame lies: unit = (metres − middle) / diagonal."""

    middle: Numbers  # (3,) m
    diagonal: float  # m

    def inward(self, points: Numbers) -> Numbers:
        """Return points (…, 3), m, in the unit frame."""
        unit: Numbers = (points - self.middle) / self.diagonal
        return unit

    def outward(self, box: Numbers) -> Numbers:
        """Return a box, (6,), of the unit frame in metres."""
        metres: Numbers = box * self.diagonal + np.tile(self.middle, 2)
        return metres


@dataclass
class Best:
    """How far the search has come: the best clear one so far, and no other can be worth more than limit.

    What one is worth is the log of its volume, or how much larger a thing might be.
    """

    value: float
    box: Numbers | None = None
    limit: float = math.inf
    nodes: int = 0
    stopped: bool = False


@dataclass(frozen=True)
class Body:
    """One connected body to search, in the unit frame."""

    surface: Walls
    pits: Numbers  # (n, 3) points that are surely outside
    seeds: Numbers  # (n, 3) points that are surely inside
    hull: Halfspaces
    reach: Numbers  # (6,)


def surface(bodies: Sequence[Solid], frame: Frame) -> Walls:
    """Return the triangles of solids in the unit frame."""
    if not bodies:
        return Walls(np.empty((0, 3, 3)), np.empty((0, 6)), np.empty((0, 6)))
    return walls(np.concatenate([frame.inward(body.vertices)[body.triangles] for body in bodies]))


def halfspaces(body: Solid, frame: Frame) -> Halfspaces:
    """Return the half-spaces whose common part is the convex hull of *body*, each touching it from outside.

    Normals come from the hull's triangles; an offset is the farthest any vertex reaches along its normal, so that
    each half-space holds the whole body however rough the hull.
    """
    hull = body.hull()
    a, b, c = np.moveaxis(frame.inward(hull.vertices)[hull.triangles], 1, 0)
    across = np.cross(b - a, c - a)
    sizes = np.linalg.norm(across, axis=1)
    flat = sizes > 1e-14
    normals = np.unique(np.round(across[flat] / sizes[flat, None], 9), axis=0)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    vertices = frame.inward(body.vertices)
    parts = np.array_split(normals, max(1, len(normals) * len(vertices) // 4_000_000))
    limits = np.concatenate([(part @ vertices.T).max(axis=1) for part in parts]) + MARGIN
    return Halfspaces(np.hstack([np.minimum(normals, 0.0), np.maximum(normals, 0.0)]), limits)


def prepared(body: Solid, frame: Frame) -> Body:
    """Return a solid of one body, made ready to search."""
    outside, corners = surface([body], frame), frame.inward(body.vertices)
    reach = np.concatenate([corners.min(axis=0) - MARGIN, corners.max(axis=0) + MARGIN])
    pits, seeds = told_apart(outside, reach, LATTICE)
    return Body(outside, pits, seeds[:: max(1, len(seeds) // SEEDS)], halfspaces(body, frame), reach)


def search(body: Body, inside: Walls, wish: Wish, best: Best, tolerance: float, going: Going) -> None:
    """Look for the largest box in *body* and lower `best.limit` to an upper limit of any in it.

    Boxes given to *best* are clear of *inside*, a surface within the body or the same. Ends when the limit is within
    *tolerance*, a difference of log volumes, of the best; when it is that of a box in the body itself, so that it
    can come no lower; or when *going* says so, marked in *best*. `best.limit` holds at every moment.
    """
    heap, serial, room, closed = [_root(body, wish, tolerance)], count(1), ways(), NEVER
    _sow(body, inside, wish, best)
    while heap:
        best.limit = max(-heap[0][0], closed)
        if best.limit <= best.value + tolerance:
            return
        if not going(best.value, best.limit):
            best.stopped = True
            return
        _, _, branch = heapq.heappop(heap)
        best.nodes += 1
        if best.nodes < EAGER or best.nodes % SELDOM == 0:
            _climb(body, inside, wish, branch.box, best)
        enough = best.value + tolerance
        past = branched(body.surface, body.pits, body.hull, wish, branch, best.limit, enough, tolerance, room)
        if past == 0:
            _climb(body, inside, wish, branch.box, best)
            return
        for k in range(past):
            if room.bounds[k] > enough:
                heapq.heappush(heap, (-float(room.bounds[k]), next(serial), followed(branch, room, k)))
            else:
                closed = max(closed, float(room.bounds[k]))
    best.limit = closed


def _root(body: Body, wish: Wish, tolerance: float) -> tuple[float, int, Branch]:
    """Return the branch that holds every box in the body, with its bound, as it stands in the heap."""
    reach, none = body.reach, np.empty(0)
    branch = Branch(
        reach, np.roll(reach, 3), np.empty((0, 6)), none, np.empty(6), np.full(KEPT, -1), np.zeros(KEPT)
    )  # fmt: skip
    rows, limits, near = np.empty((MOST, 6)), np.empty(MOST), 0.01 * tolerance
    planes, weights, box = branch.planes, branch.weights, branch.box
    return -relaxed(body.hull, rows, limits, 0, reach, wish, NEVER, near, planes, weights, box), 0, branch


def _sow(body: Body, inside: Walls, wish: Wish, best: Best) -> None:
    """Climb from a small box round each of some inside points, as near to it as what is given allows."""
    half = np.where(np.isnan(wish.size), wish.grown / 2 + SPECK, wish.size / 2)
    for seed in body.seeds:
        low = np.where(np.isnan(wish.level), seed - half, wish.level)
        _climb(body, inside, wish, np.concatenate([low, low + 2 * half]), best)


def _climb(body: Body, inside: Walls, wish: Wish, start: Numbers, best: Best) -> None:
    """Climb from *start* and keep the box reached if it is the best."""
    box = start.copy()
    volume = climbed(inside, body.hull, wish, body.reach, best.value, box)
    if volume > best.value:
        best.value, best.box = float(volume), box

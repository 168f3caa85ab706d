"""The shortest way on the level from one place to another, where the middle of a thing may be in an area."""

import heapq
import math
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.walls import rings
from tapeloft.model.moments import Points

ON = 1e-5  # m: a path may stray by so much out of its area, by rounding
MOST = 120  # inner corners of an area that has more are thinned out

Spot = tuple[float, float]


def path(area: Polygon, start: Spot, end: Spot) -> tuple[Spot, ...] | None:
    """Return the corners of the shortest path within an area, both ends among them; None where none is found.

    Shortest paths in a polygon bend only at its reflex corners (D. Lee and F. Preparata, Networks 14, 1984).

    >>> bent = shapely.box(0, 0, 3, 1).union(shapely.box(2, 0, 3, 3))
    >>> path(bent, (0.0, 0.5), (2.5, 3.0))
    ((0.0, 0.5), (2.0, 1.0), (2.5, 3.0))
    """
    room = shapely.buffer(area, ON, join_style="mitre")
    shapely.prepare(room)
    if shapely.covers(room, shapely.linestrings([start, end])):
        return start, end
    spots = np.vstack([start, end, _reflex(area)])
    first, second = np.triu_indices(len(spots), 1)
    lines = shapely.linestrings(np.stack([spots[first], spots[second]], axis=1))
    seen = shapely.covers(room, lines)
    long = np.full((len(spots), len(spots)), math.inf)
    long[first[seen], second[seen]] = long[second[seen], first[seen]] = shapely.length(lines)[seen]
    chain = _shortest(long)
    return None if chain is None else tuple((float(x), float(y)) for x, y in spots[chain])


def _shortest(long: Points) -> list[int] | None:
    """Return the numbers of the points from the first to the second, by E. Dijkstra's algorithm."""
    best, before, waiting = {0: 0.0}, dict[int, int](), [(0.0, 0)]
    while waiting:
        far, one = heapq.heappop(waiting)
        if one == 1:
            break
        for other in np.flatnonzero(np.isfinite(long[one])).tolist():
            if far + long[one, other] < best.get(other, math.inf):
                best[other], before[other] = far + float(long[one, other]), one
                heapq.heappush(waiting, (best[other], other))
    if 1 not in before:
        return None
    chain = [1]
    while chain[-1]:
        chain.append(before[chain[-1]])
    return chain[::-1]


def _reflex(area: Polygon) -> Points:
    found = []
    for ring in rings(polygons(orient(area))):
        for (a, b), (_, c) in pairwise(pairwise([*ring, ring[1]])):
            (ux, uy), (vx, vy) = np.subtract(b, a), np.subtract(c, b)
            if ux * vy - uy * vx < 0:
                found.append(b)
    return np.array(found[:: 1 + len(found) // MOST]).reshape(-1, 2)

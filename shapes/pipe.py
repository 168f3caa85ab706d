"""A pipe or cable run: an exhaust hose, a bilge line, a conduit."""

import math
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Annotated

import numpy as np

from tapeloft.shapes.asked import size
from tapeloft.shapes.polyhedron import Bounds, Points, Polyhedron, Round, circle
from tapeloft.shapes.readings import AtX, AtY, AtZ, Length, Several
from tapeloft.shapes.registry import shape

SHARPEST = math.radians(150)  # a mitre reaches radius · tan(half the turn) along the pipe: 3.7 radii at this
ALONG_WALL = 0.1  # cosine below which a leg runs along a wall rather than through it


@shape("pipe")
@dataclass(frozen=True)
class Pipe:
    """A pipe or cable run, solid, through points on its centreline, mitred where it turns.

    An end that names a wall is carried through it. A run's volume is its section times its length.

    >>> run = Pipe(points=((0.0, 0.2, 0.1), (1.0, 0.2, 0.1), (1.0, 0.2, math.inf)), diameter=0.05)
    >>> len(run.bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE)[0].vertices)
    192
    """

    points: Annotated[tuple[tuple[AtX, AtY, AtZ], ...], Several("points along its centreline, in order")] = (
        (0.2, 0.3, 0.15),
        (1.1, 0.3, 0.2),
        (1.5, 0.7, 0.2),
        (1.5, 0.7, 0.8),
    )
    diameter: Annotated[float, Length("outside diameter, with its lagging")] = 0.06

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the run; ValueError where it turns too sharply, or runs into itself."""
        section = circle((0.0, 0.0), size(self.diameter, "its diameter") / 2, how)
        if len(self.points) < 2:
            raise ValueError("a run needs two points at least")
        line = _through_walls(self.points, space, float(np.linalg.norm(section[0])))
        along = _directions(line)
        rings = _mitred(section, line, along)
        _check_clear(line, along, rings)
        n = len(section)
        sides = [
            (k * n + i, k * n + (i + 1) % n, (k + 1) * n + (i + 1) % n, (k + 1) * n + i)
            for k in range(len(line) - 1)
            for i in range(n)
        ]
        last = (len(line) - 1) * n
        return (Polyhedron(np.concatenate(rings), (tuple(range(n))[::-1], tuple(range(last, last + n)), *sides)),)


def _through_walls(points: tuple[tuple[float, float, float], ...], space: Bounds, radius: float) -> Points:
    """Return the centreline, (n, 3), each end that names a wall so far through it that the whole end is."""
    named = np.isinf(np.array(points))
    if named[1:-1].any():
        raise ValueError("only the first and the last point of a run may name a wall")
    line = np.array([[space.at(axis, reading) for axis, reading in enumerate(point)] for point in points])
    for end, inner in ((0, 1), (-1, -2)):
        leg = line[end] - line[inner]
        for axis in np.flatnonzero(named[end]):
            lean = leg[axis] / (np.linalg.norm(leg) or 1.0) * math.copysign(1.0, points[end][axis])
            if lean < ALONG_WALL:
                raise ValueError(
                    f"the run's {'first' if end == 0 else 'last'} leg does not meet the wall that it names"
                )
            over = radius * math.sqrt(max(0.0, 1 - lean * lean)) / lean
            line[end] += leg / np.linalg.norm(leg) * over
    return line


def _directions(line: Points) -> Points:
    """Return the unit vectors along the legs; ValueError where two points coincide or the run turns back."""
    legs = np.diff(line, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    if not lengths.all():
        k = int(np.flatnonzero(lengths == 0)[0]) + 1
        raise ValueError(f"points {k} and {k + 1} of the run are the same")
    along: Points = legs / lengths[:, None]
    turned = (along[:-1] * along[1:]).sum(axis=1) < math.cos(SHARPEST)
    if turned.any():
        raise ValueError(f"the run turns back on itself at point {int(np.flatnonzero(turned)[0]) + 2}")
    return along


def _mitred(section: Points, line: Points, along: Points) -> list[Points]:
    """Return the ring of corners, (sides, 3), at each point: each side goes straight on to the mitre plane."""
    level = np.cross((0.0, 0.0, 1.0), along[0])
    u = level / np.linalg.norm(level) if np.linalg.norm(level) > 1e-6 else np.array([1.0, 0.0, 0.0])
    rings = [line[0] + section @ np.stack([u, np.cross(along[0], u)])]
    for k, leg in enumerate(along):
        mitre = leg + along[k + 1] if k + 1 < len(along) else leg
        travel = ((line[k + 1] - rings[-1]) @ mitre) / (leg @ mitre)
        if travel.min() <= 0:
            raise ValueError(f"the leg from point {k + 1} to {k + 2} is too short for the bends at its ends")
        rings.append(rings[-1] + travel[:, None] * leg)
    return rings


def _check_clear(line: Points, along: Points, rings: list[Points]) -> None:
    """Refuse a run whose legs meet, other than neighbours at their bend.

    Two legs, each convex, are clear when a plane parts them: one square to the shortest line between their axes, or
    the mitre at the end of the first or at the start of the second.
    """
    legs = [np.concatenate(ends) for ends in pairwise(rings)]
    boxes = [(leg.min(axis=0), leg.max(axis=0)) for leg in legs]
    for (i, one), (j, other) in combinations(enumerate(legs), 2):
        apart = j == i + 1 or (boxes[i][0] > boxes[j][1]).any() or (boxes[j][0] > boxes[i][1]).any()
        if apart:
            continue
        between = _shortest(line[i], line[i + 1], line[j], line[j + 1])
        normals = (between, along[i] + along[i + 1], along[j - 1] + along[j])
        if all((one @ normal).max() >= (other @ normal).min() for normal in normals):
            raise ValueError(
                f"the run meets itself: its leg from point {i + 1} to {i + 2} and the one from {j + 1} to {j + 2}; "
                "survey it as two runs"
            )


def _shortest(a: Points, b: Points, c: Points, d: Points) -> Points:
    """Return the shortest vector from the stretch a–b to the stretch c–d.

    Method: C. Ericson, Real-Time Collision Detection (2005), 5.1.9, from memory.

    >>> one, other = np.array([[0, 0, 0], [1, 0, 0.0]]), np.array([[3, -1, 2], [3, 1, 2.0]])
    >>> _shortest(*one, *other).tolist()
    [2.0, 0.0, 2.0]
    """
    p, q, gap = b - a, d - c, a - c
    pp, qq, pq, pg, qg = p @ p, q @ q, p @ q, p @ gap, q @ gap
    square = pp * qq - pq * pq
    s = float(np.clip((pq * qg - qq * pg) / square, 0, 1)) if square > 1e-12 * pp * qq else 0.0
    t = (pq * s + qg) / qq
    if not 0 <= t <= 1:
        t = np.clip(t, 0, 1)
        s = float(np.clip((pq * t - pg) / pp, 0, 1))
    shortest: Points = (c + t * q) - (a + s * p)
    return shortest

"""What lies within a distance of the walls of a solid: flat over its faces, round about its edges that stand out.

The points no farther than t from a surface are those in a prism t high over some face, in a wedge of a cylinder of
radius t along some edge that stands into the solid, or in a cone of a ball about such a corner (the offset of J.
Steiner, as it is for each part of a polyhedron). Over faces that is exact. Arcs are drawn by chords of no more than
TURN, and cones by what lies between their rims, both within the ball, so that nothing is taken that is farther than t;
what is missed at such an edge is no more than 1 − cos(TURN/2) of t. At edges that recede, two prisms meet: sharp.
"""

import math
from collections.abc import Iterator

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid, hulls

TURN = math.radians(15.0)
OVER = math.radians(0.5)  # that wedges reach beyond their faces, so that no crack is left between two
EDGED = 0.02  # radians: an edge that turns less needs no cone at its ends
FLAT = 1e-12  # m²: a triangle without area
RINGS = (0.33, 0.66)  # between a cone's rim and its middle


def near_walls(solid: Solid, distance: float) -> Solid:
    """Return a solid that holds all that is within *distance*, m, of a solid's walls on their inner side."""
    return hulls(_clouds(solid, distance))


def _clouds(solid: Solid, distance: float) -> Iterator[Points]:
    points, triangles = solid.vertices, solid.triangles
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    sizes = np.linalg.norm(normals, axis=1)
    normals = normals / np.maximum(sizes, 1e-300)[:, None]
    rims: dict[int, list[Points]] = {}
    pointed: set[int] = set()
    for k in np.flatnonzero(sizes > FLAT).tolist():
        yield np.vstack([corners[k], corners[k] - distance * normals[k]])
        for corner in triangles[k].tolist():
            rims.setdefault(corner, []).append(normals[k : k + 1])
    for a, b, one, other in _edges(triangles):
        if min(sizes[one], sizes[other]) <= FLAT:
            continue
        turn, arc = _arc(points[b] - points[a], normals[one], normals[other])
        if len(arc):
            yield np.vstack([points[[a, b]], points[a] - distance * arc, points[b] - distance * arc])
        if turn > EDGED:
            pointed |= {a, b}
            rims[a].append(arc)
            rims[b].append(arc)
    for corner in sorted(pointed):
        cone = _cone(np.vstack(rims[corner]))
        yield np.vstack([points[corner : corner + 1], points[corner] - distance * cone])


def _edges(triangles: np.ndarray[tuple[int, ...], np.dtype[np.int64]]) -> Iterator[tuple[int, int, int, int]]:
    """Yield each edge once: its ends, the triangle that it runs along with, and the one it runs against."""
    sides = {
        edge: k for k, (a, b, c) in enumerate(triangles.tolist()) for edge in ((a, b), (b, c), (c, a))
    }  # fmt: skip
    for (a, b), k in sides.items():
        if a < b:
            yield a, b, k, sides[b, a]


def _arc(along: Points, one: Points, other: Points) -> tuple[float, Points]:
    """Return by how much an edge stands out, radians, and the directions (n, 3) of its wedge; none where it recedes."""
    length = float(np.linalg.norm(along))
    if length < 1e-9:
        return 0.0, np.zeros((0, 3))
    along = along / length
    turn = math.atan2(float(-np.cross(one, other) @ along), float(one @ other))
    if turn < -EDGED:
        return turn, np.zeros((0, 3))
    aside = np.cross(one, along)
    steps = max(1, math.ceil((turn + 2 * OVER) / TURN))
    angles = np.linspace(-OVER, turn + OVER, steps + 1)[:, None]
    arc: Points = np.cos(angles) * one + np.sin(angles) * aside
    return turn, arc


def _cone(rim: Points) -> Points:
    """Return directions (n, 3) that fill a cone from its rim, all on the ball."""
    middle = rim.sum(axis=0)
    if np.linalg.norm(middle) < 1e-6:
        return rim
    middle = middle / np.linalg.norm(middle)
    rings = [rim * share + middle * (1 - share) for share in RINGS]
    every = np.vstack([rim, *rings, middle[None]])
    filled: Points = every / np.linalg.norm(every, axis=1)[:, None]
    return filled

"""A thing as a few convex pieces that cover it: what is clear of them is clear of the thing."""

from dataclasses import dataclass
from itertools import product
from typing import Any, Protocol

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.gear.forms import Symmetry
from tapeloft.model.moments import Points, triangle_areas
from tapeloft.model.solid import Solid, closed
from tapeloft.shapes.polyhedron import Polyhedron, Round

MOST = 8  # pieces
WORTH = 0.03  # of the thing's volume that a cut must save in the hulls of the pieces
CUTS = (0.25, 1 / 3, 0.5, 2 / 3, 0.75)  # of a piece's length, where cuts are tried
FEW, FINE, COARSE = 48, 8.0, 24.0  # sides of a piece, and degrees between the sides kept where they are large and small
LARGE = 0.004  # of the surface: a side at least so large is a large one
SAME = 1e-12  # of 1: two unit vectors with a product nearer than this to 1 are one
ON = 1e-7  # of the size: a corner this near a side lies on it


class Thing(Protocol):
    """What is packed: a form of `tapeloft.model.gear.forms`."""

    @property
    def symmetry(self) -> Symmetry:
        """What leaves it as it is."""

    def drawn(self, how: Round) -> Polyhedron:
        """Return a body within or around the true thing."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A convex body: sides (m, 4), a unit normal outward and the offset of each; corners (n, 3), m.

    edges (k, 3): the unit direction of each edge, parallel ones once.
    """

    sides: Points
    corners: Points
    edges: Points

    def turned(self, rotation: Points) -> "Piece":
        """Return it turned: p = rotation @ y."""
        sides = np.column_stack([self.sides[:, :3] @ rotation.T, self.sides[:, 3]])
        return Piece(sides, self.corners @ rotation.T, self.edges @ rotation.T)

    def grown(self, by: float) -> "Piece":
        """Return it with each side moved outward by so many m: it contains every point as near to it as that."""
        return self if by == 0 else _between(self.sides + np.array([0, 0, 0, by]), self.corners.mean(axis=0))


def covering(polyhedron: Polyhedron) -> tuple[Piece, ...]:
    """Return convex pieces that together contain *polyhedron*: one if it is nearly convex, `MOST` at most.

    A hollow thing is cut across where that makes the hulls of the parts smallest. Raises GeometryError where the
    faces do not close.

    >>> from tapeloft.shapes.polyhedron import box, prism
    >>> [len(piece.sides) for piece in covering(box((0, 0, 0), (2, 1, 0.5)))]
    [6]
    >>> angle = np.array([[0, 0], [1, 0], [1, 0.5], [0.5, 0.5], [0.5, 1], [0, 1.0]])
    >>> len(covering(prism(angle, 0, 1, 2)))
    2
    """
    whole = body(polyhedron)
    parts = [(whole, whole.hull().volume)]
    while len(parts) < MOST:
        gains = [_best_cut(part, hull) for part, hull in parts]
        k = int(np.argmax([gain for gain, _ in gains]))
        if gains[k][0] < WORTH * whole.volume:
            break
        parts[k : k + 1] = gains[k][1]
    return tuple(convex(part.vertices) for part, _ in parts)


def _best_cut(part: Solid, hull: float) -> tuple[float, list[tuple[Solid, float]]]:
    """Return what the best cut saves in the volume of the hulls, and its parts, each with that of its hull."""
    best: tuple[float, list[tuple[Solid, float]]] = (0.0, [])
    if hull - part.volume < 1e-3 * hull:
        return best
    low, high = part.bounds
    for normal, share in product(np.eye(3), CUTS):
        halves = part.split(normal.tolist(), float(normal @ (low + share * (high - low))))
        found = [(part, part.hull().volume) for half in halves for part in half.parts()]
        gain = hull - sum(volume for _, volume in found)
        if gain > best[0] * (1 + 1e-9):
            best = (gain, found)
    return best


def convex(points: Points) -> Piece:
    """Return the convex hull of *points*, (n, 3) m, or a slightly larger body of at most `FEW` sides.

    >>> corner = convex(np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]]))
    >>> len(corner.sides), len(corner.corners), len(corner.edges)
    (4, 4, 6)
    """
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points)
    corners = points[hull.vertices]
    normals, areas = _merged(hull)
    if len(normals) > FEW:
        normals = _fewer(normals, areas)
        sides = np.column_stack([normals, (corners @ normals.T).max(axis=0)])
        return _between(sides, corners.mean(axis=0))
    sides = np.column_stack([normals, (corners @ normals.T).max(axis=0)])
    return Piece(sides, corners, _edges(sides, corners))


def _between(sides: Points, middle: Points) -> Piece:
    """Return the body within *sides*, (m, 4), around a point that is well inside."""
    from scipy.spatial import HalfspaceIntersection

    met = HalfspaceIntersection(sides * [1, 1, 1, -1], middle).intersections
    size = float(np.ptp(met, axis=0).max())
    _, first = np.unique(np.round(met / (ON * size)), axis=0, return_index=True)
    corners = met[np.sort(first)]
    return Piece(sides, corners, _edges(sides, corners))


def _merged(hull: Any) -> tuple[Points, Points]:
    """Return the normals of a hull, those of triangles in one plane once, and the area of each."""
    normals = hull.equations[:, :3]
    areas = triangle_areas(hull.points, hull.simplices)
    kept: list[int] = []
    totals: list[float] = []
    for k in np.argsort(-areas, kind="stable").tolist():
        along = normals[kept] @ normals[k] if kept else np.empty(0)
        if len(along) and along.max() > 1 - SAME:
            totals[int(along.argmax())] += float(areas[k])
        else:
            kept.append(k)
            totals.append(float(areas[k]))
    found = normals[kept]
    snapped = np.round(found)
    upright = np.abs(found - snapped).max(axis=1) < 1e-12
    return np.where(upright[:, None], snapped, found), np.array(totals)


def _fewer(normals: Points, areas: Points) -> Points:
    """Return the axes and, farthest first, those of *normals* that leave no large gap."""
    fine = np.where(areas >= LARGE * areas.sum(), 1.0, FINE / COARSE)
    chosen = np.vstack([np.eye(3), -np.eye(3)])
    nearest = (normals @ chosen.T).max(axis=1)
    while len(chosen) < FEW:
        gaps = np.degrees(np.arccos(np.clip(nearest, -1, 1))) * fine
        k = int(gaps.argmax())
        if gaps[k] < FINE:
            break
        chosen = np.vstack([chosen, normals[k]])
        nearest = np.maximum(nearest, normals @ normals[k])
    return chosen


def _edges(sides: Points, corners: Points) -> Points:
    """Return the direction of each edge, parallel ones once: two corners that lie on two sides together bound one."""
    size = float(np.ptp(corners, axis=0).max())
    on = (np.abs(corners @ sides[:, :3].T - sides[:, 3]) < ON * size).astype(np.int64)
    one, other = np.nonzero(np.triu(on @ on.T >= 2, 1))
    ways = corners[other] - corners[one]
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    kept: list[int] = []
    for k in range(len(ways)):
        if not kept or np.abs(ways[kept] @ ways[k]).max() < 1 - SAME:
            kept.append(k)
    return ways[kept]


def hulled(corners: Points) -> Solid:
    """Return the solid hull of *corners*, (n, 3) m, not in one plane."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(corners)
    a, b, c = np.moveaxis(corners[hull.simplices], 1, 0)
    outward = (np.cross(b - a, c - a) * hull.equations[:, :3]).sum(axis=1) > 0
    return closed(corners, np.where(outward[:, None], hull.simplices, hull.simplices[:, ::-1]).astype(np.int64))

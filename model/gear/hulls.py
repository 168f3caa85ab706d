"""Convex bodies of few corners, around and within a body of very many."""

import math
from typing import Any

import numpy as np

from tapeloft.model.moments import Points, Triangles, volume_and_centroid
from tapeloft.shapes.polyhedron import Polyhedron

DIRECTIONS = 240
"""Ways in which a body is touched: for a ball, around and within it are then some 2 % of the radius apart."""
LARGEST = 60
"""How many of the largest faces of its hull a body around it keeps."""
GOOD = 0.96
"""A body within is worth having where it had to be drawn together by no more than this."""
ROUNDING = 1e-9
"""Of its size: what a body around another is carried outward, and one within inward, for the rounding of corners."""
AT_ONCE = 4096  # triangles


def convex_around(points: Points) -> Polyhedron:
    """Return a convex body of at most some hundred faces that contains all *points*, (n, 3) m, not in one plane.

    It touches them in evenly spread directions and in those of the largest faces of their hull.

    >>> ball = np.random.default_rng(1).normal(size=(5000, 3))
    >>> ball /= np.linalg.norm(ball, axis=1)[:, None]
    >>> around = convex_around(ball)
    >>> len(around.vertices) < 700, bool(np.linalg.norm(around.vertices, axis=1).max() < 1.05)
    (True, True)
    """
    from scipy.spatial import HalfspaceIntersection

    hull = _hull(points)
    ways = np.vstack([_spread(DIRECTIONS), _largest(hull)])
    corners, middle, size = _measured(hull)
    reach = (corners @ ways.T).max(axis=0) + ROUNDING * size
    return _outside(HalfspaceIntersection(np.column_stack([ways, -reach]), middle).intersections)


def convex_within(vertices: Points, triangles: Triangles) -> Polyhedron | None:
    """Return a convex body of some hundred corners within a closed mesh; None where none comes near to filling it.

    vertices (n, 3) m; triangles (m, 3), outward. The hull of corners of the mesh, drawn together about its middle
    until each triangle lies wholly beyond one of its sides: then no part of the surface is in it, and it lies either
    within the mesh or clear of it. It does not lie clear of it where the two together would be more than the hull.
    """
    hull = _hull(vertices)
    corners, middle, _ = _measured(hull)
    core = _hull(corners[np.unique((corners @ _spread(DIRECTIONS).T).argmax(axis=0))] - middle)
    normals, reach = core.equations[:, :3], -core.equations[:, 3]
    if reach.min() <= 0:
        return None
    share = _share((vertices - middle) @ (normals / reach[:, None]).T, triangles) - ROUNDING
    if share < GOOD or core.volume * share**3 + volume_and_centroid(vertices, triangles)[0] <= hull.volume:
        return None
    return _outside(middle + core.points * share)


def _share(beyond: Points, triangles: Triangles) -> float:
    """Return the least, over triangles, of how far beyond its best side of a core all three corners lie, 1 on it."""
    parts = np.array_split(triangles, math.ceil(len(triangles) / AT_ONCE))
    return float(min(beyond[part].min(axis=1).max(axis=1).min() for part in parts))


def _spread(count: int) -> Points:
    """Return unit vectors, (count + 6, 3): the axes, both ways, and a spiral that spreads evenly.

    The spiral turns by the golden angle as it goes up in even steps (Swinbank and Purser, Q. J. R. Meteorol. Soc.
    132 (2006), from memory).
    """
    up = 1 - (2 * np.arange(count) + 1) / count
    turn = np.arange(count) * math.pi * (3 - math.sqrt(5))
    out = np.sqrt(1 - up**2)
    return np.vstack([np.eye(3), -np.eye(3), np.column_stack([out * np.cos(turn), out * np.sin(turn), up])])


def _largest(hull: Any) -> Points:
    """Return the normals of the largest triangles of a hull, (k, 3)."""
    a, b, c = np.moveaxis(hull.points[hull.simplices], 1, 0)
    order = np.argsort(np.linalg.norm(np.cross(b - a, c - a), axis=1))[::-1]
    normals: Points = hull.equations[order[:LARGEST], :3]
    return normals


def _measured(hull: Any) -> tuple[Points, Points, float]:
    corners = hull.points[hull.vertices]
    return corners, corners.mean(axis=0), float(np.ptp(corners, axis=0).max())


def _hull(points: Points) -> Any:
    from scipy.spatial import ConvexHull

    return ConvexHull(points)


def _outside(points: Points) -> Polyhedron:
    """Return the hull of *points* as triangles, counter-clockwise from outside, with no corner that is in none."""
    hull = _hull(points)
    corners = hull.points[hull.simplices]
    inward = (np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) * hull.equations[:, :3]).sum(1) < 0
    faces = np.where(inward[:, None], hull.simplices[:, ::-1], hull.simplices)
    used, numbers = np.unique(faces, return_inverse=True)
    return Polyhedron(hull.points[used], tuple(map(tuple, numbers.reshape(-1, 3).tolist())))

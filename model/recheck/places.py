"""Where points and bodies lie to a closed mesh: by solid angles, by distance, by axes that separate."""

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]
AT_ONCE = 400_000  # pairs of a point and a triangle


def windings(points: Numbers, corners: Numbers) -> Numbers:
    """Return how often a mesh, (m, 3, 3), winds round each point: its solid angles over 4π.

    Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30 (1983), from memory.

    >>> from tapeloft.shapes.polyhedron import box
    >>> cube = box((0, 0, 0), (1, 1, 1))
    >>> mesh = np.concatenate([cube.vertices[[[f[0], f[k], f[k + 1]] for k in (1, 2)]] for f in cube.faces])
    >>> windings(np.array([[0.3, 0.4, 0.5], [1.5, 0.2, 0.1]]), mesh).round(9).tolist()
    [1.0, 0.0]
    """
    found = []
    for some in np.array_split(points, max(1, len(points) * len(corners) // AT_ONCE)):
        a, b, c = np.moveaxis(corners[None] - some[:, None, None], 2, 0)
        x, y, z = (np.linalg.norm(v, axis=-1) for v in (a, b, c))
        over = (a * np.cross(b, c)).sum(axis=-1)
        below = x * y * z + (a * b).sum(axis=-1) * z + (b * c).sum(axis=-1) * x + (c * a).sum(axis=-1) * y
        found.append(np.arctan2(over, below).sum(axis=1) / (2 * np.pi))
    return np.concatenate(found) if len(points) else np.empty(0)


def nearest(points: Numbers, corners: Numbers) -> Numbers:
    """Return how far each point is from the nearest triangle of a mesh, (m, 3, 3)."""
    found = []
    for some in np.array_split(points, max(1, len(points) * len(corners) // AT_ONCE)):
        p, best = some[:, None], np.full((len(some), len(corners)), np.inf)
        for i in range(3):
            start, along = corners[:, i], corners[:, (i + 1) % 3] - corners[:, i]
            length = np.maximum((along**2).sum(axis=1), 1e-300)
            share = np.clip(((p - start) * along).sum(axis=-1) / length, 0, 1)
            best = np.minimum(best, np.linalg.norm(p - start - share[..., None] * along, axis=-1))
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
        over = np.ones(best.shape, np.bool_)
        for i in range(3):
            edge = corners[:, (i + 1) % 3] - corners[:, i]
            over &= ((p - corners[:, i]) * np.cross(normal, edge)).sum(axis=-1) >= 0
        height = abs(((p - corners[:, 0]) * normal).sum(axis=-1))
        found.append(np.where(over, height, best).min(axis=1))
    return np.concatenate(found) if len(points) else np.empty(0)


def is_closed(triangles: Indices) -> bool:
    """Whether along every edge as many triangles run one way as the other."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    many = int(triangles.max()) + 1
    ahead, back = edges[:, 0] * many + edges[:, 1], edges[:, 1] * many + edges[:, 0]
    return bool((np.sort(ahead) == np.sort(back)).all())


def met(thing: Numbers, normals: Numbers, mesh: Numbers) -> Indices:
    """Return which triangles of a mesh, (m, 3, 3), no axis tried separates from the hull of *thing*, (k, 3).

    Tried are *normals*, those of the triangles, and those square to an edge of each: two convex bodies that are apart
    are parted by one of them. An axis that parts is a proof, wherever it comes from.
    """
    open_ones = np.flatnonzero(~_parted(thing, normals, mesh))
    own = np.cross(mesh[open_ones, 1] - mesh[open_ones, 0], mesh[open_ones, 2] - mesh[open_ones, 0])
    open_ones = np.array([t for t, n in zip(open_ones, own, strict=True) if not _parted(thing, n[None], mesh[[t]])[0]])
    edges = np.array([np.cross(a, b) for a, b in combinations(normals, 2)])
    edges = np.unique((edges[np.linalg.norm(edges, axis=1) > 1e-6]).round(9), axis=0)
    left = []
    for t in open_ones.astype(np.int64):
        axes = np.concatenate([np.cross(edges, mesh[t, (i + 1) % 3] - mesh[t, i]) for i in range(3)])
        if not _parted(thing, axes, mesh[[t]])[0]:
            left.append(t)
    return np.array(left, np.int64)


def _parted(thing: Numbers, axes: Numbers, mesh: Numbers) -> NDArray[np.bool_]:
    """Return for each triangle whether one of some axes, (a, 3), separates it from the hull of *thing*."""
    size = np.linalg.norm(axes, axis=1)
    axes = axes[size > 1e-12] / size[size > 1e-12, None]
    own, others = thing @ axes.T, mesh @ axes.T
    gap = np.maximum(others.min(axis=1) - own.max(axis=0), own.min(axis=0) - others.max(axis=1))
    return np.asarray((gap > 1e-12).any(axis=1))


def are_apart(one: Numbers, normals: Numbers, other: Numbers, others: Numbers) -> bool:
    """Whether an axis parts two boxes, (8, 3): the normal of a face of either, or one square to an edge of each.

    >>> from tapeloft.shapes.polyhedron import box
    >>> first, second = box((0, 0, 0), (1, 1, 1)).vertices, box((1.1, 0, 0), (2, 1, 1)).vertices
    >>> are_apart(first, np.eye(3), second, np.eye(3)), are_apart(first, np.eye(3), second - 0.2, np.eye(3))
    (True, False)
    """
    crossed = np.cross(normals[:, None], others[None]).reshape(-1, 3)
    return bool(_parted(one, np.concatenate([normals, others, crossed]), other[None])[0])


def is_hull(normals: Numbers, corners: Numbers) -> bool:
    """Whether {y: normals · y ≤ the most of the corners} is no more than the hull of *corners*, to 1e-9.

    Wherever three faces meet and no other cuts it off must be a corner; and the faces must leave no way out.
    """
    offsets = (corners @ normals.T).max(axis=0)
    threes = np.array(list(combinations(range(len(normals)), 3)))
    sound = abs(np.linalg.det(normals[threes])) > 1e-7
    points = np.linalg.solve(normals[threes[sound]], offsets[threes[sound]][..., None])[..., 0]
    points = points[(points @ normals.T <= offsets + 1e-10).all(axis=1)]
    far = [float(np.linalg.norm(corners - p, axis=1).min()) for p in points]
    return len(points) > 3 and max(far) < 1e-9 and _bounded(normals)


def _bounded(normals: Numbers) -> bool:
    """Whether every way on leads over some face: every edge direction of two faces is stopped both ways."""
    ways = np.array([np.cross(a, b) for a, b in combinations(normals, 2)])
    ways = ways[np.linalg.norm(ways, axis=1) > 1e-7]
    along = np.concatenate([ways, -ways]) @ normals.T
    return bool(np.linalg.matrix_rank(normals) == 3 and (along.max(axis=1) > 1e-9).all())

"""Points that weights lie on, and points on the walls that no thing may cover."""

import math
from itertools import pairwise

import numpy as np

from tapeloft.model.moments import Points, triangle_areas
from tapeloft.model.packing.limits.cells import Spread
from tapeloft.model.packing.limits.placements import Body, sizes
from tapeloft.model.proof.walls import Numbers
from tapeloft.model.solid import Solid

NODES = 1500  # points that bear weight, about
LOOSEST = 0.5  # of a body's width: the widest pitch of points that bear weight
PITS = 12_000  # points on the walls, at most


def lattice(bounds: Points, bodies: list[Body]) -> Points:
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


def on_walls(space: Solid, pitch: float) -> Points:
    """Return points on the surface, (n, 3): every corner, and between them a lattice on each triangle."""
    areas = triangle_areas(space.vertices, space.triangles)
    pitch = max(pitch, math.sqrt(2 * float(areas.sum()) / PITS))
    corners = space.vertices[space.triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    steps = np.ceil(np.minimum(longest, 2 * np.sqrt(areas) + pitch) / pitch).astype(int)  # few on a sliver
    points = [space.vertices]
    for count in np.unique(steps[steps > 1]).tolist():
        i, j = np.nonzero(np.add.outer(np.arange(count + 1), np.arange(count + 1)) <= count)
        shares = np.column_stack([i, j, count - i - j]) / count
        points.append((shares @ corners[steps == count]).reshape(-1, 3))
    return np.unique(np.round(np.concatenate(points), 12), axis=0)


def hull(space: Solid) -> Points:
    """Return the sides of the hull of a space, (k, 4)."""
    from scipy.spatial import ConvexHull

    normals = np.unique(np.round(ConvexHull(space.vertices).equations[:, :3], 9), axis=0)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    return np.column_stack([normals, (space.vertices @ normals.T).max(axis=0)])


def spread(points: Points, bounds: Points, pitch: float) -> Spread:
    """Return points sorted into boxes of a pitch or less."""
    length = bounds[1] - bounds[0]
    shape = np.maximum(np.ceil(length / pitch), 1).astype(np.int64)
    size = length / shape
    at = np.clip(np.floor((points - bounds[0]) / size).astype(np.int64), 0, shape - 1)
    box = (at[:, 0] * shape[1] + at[:, 1]) * shape[2] + at[:, 2]
    first = np.concatenate([[0], np.cumsum(np.bincount(box, minlength=int(shape.prod())))])
    return Spread(points[np.argsort(box, kind="stable")], first.astype(np.int64), bounds[0].copy(), size, shape)

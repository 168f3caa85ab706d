"""Where a closed surface runs through itself, which no count of its edges shows.

One place is enough to refuse a file, so this is the quick question for files of 10⁵ triangles; `model.contacts`
tells all pairs that so much as touch, at some ten times the cost.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles

Pairs = NDArray[np.int64]
CHUNK = 200_000  # pairs looked at in one go
CODE = 1023  # steps each way of the curve that triangles are sorted along


def crossing(vertices: Points, triangles: Triangles) -> Points | None:
    """Return a point, (3,), where an edge of one triangle passes through another, or None.

    An edge passes that has its ends on both sides of the other triangle's plane, by more than 1e-12 of the whole
    size, and meets the triangle or its rim. Where surfaces overlap in space some edge does; where they touch one may.
    Triangles that share an edge cannot cross but only fold, which encloses nothing.

    >>> a = np.array([[0, 0, 0], [4, 0, 0], [0, 4, 0.0]])
    >>> spear = np.array([[1, 1, -1], [1, 1, 2], [2, 1, 2.0]])
    >>> crossing(np.concatenate([a, spear]), np.arange(6).reshape(2, 3)).tolist()
    [1.0, 1.0, 0.0]
    """
    centre = (vertices.min(axis=0) + vertices.max(axis=0)) / 2
    local = vertices - centre
    near = 1e-12 * float(np.linalg.norm(np.ptp(vertices, axis=0)))
    for pairs in _close(local[triangles]):
        one, other = triangles[pairs[:, 0]], triangles[pairs[:, 1]]
        shared = one[:, :, None] == other[:, None, :]
        apart = shared.sum(axis=(1, 2)) < 2
        one, other, shared = one[apart], other[apart], shared[apart]
        for edges, face, common in ((one, other, shared.any(axis=2)), (other, one, shared.any(axis=1))):
            hits = _hits(local[edges], local[face], common, near)
            if len(hits):
                found: Points = hits[0] + centre
                return found
    return None


def _hits(edges: Points, face: Points, common: NDArray[np.bool_], near: float) -> Points:
    """Return the points where sides of the triangles *edges* pass through *face*, row by row, (k, 3, 3) each."""
    a, b, c = np.moveaxis(face, 1, 0)
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1)
    normal /= np.where(length > 0, length, 1.0)[:, None]
    over = np.einsum("kij,kj->ki", edges - a[:, None], normal)
    over[common | (np.abs(over) <= near)] = 0.0
    hits = []
    for i, j in ((0, 1), (1, 2), (2, 0)):
        through = np.flatnonzero(over[:, i] * over[:, j] < 0)
        share = over[through, i] / (over[through, i] - over[through, j])
        point = edges[through, i] + share[:, None] * (edges[through, j] - edges[through, i])
        hits.append(point[_within(point, face[through], normal[through], near)])
    return np.concatenate(hits)


def _within(point: Points, face: Points, normal: Points, near: float) -> NDArray[np.bool_]:
    inside = np.ones(len(point), bool)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        side = face[:, j] - face[:, i]
        left = np.einsum("ki,ki->k", np.cross(side, point - face[:, i]), normal)
        inside &= left >= -near * np.linalg.norm(side, axis=1)
    return inside


def _close(corners: Points) -> Iterator[Pairs]:
    """Yield the pairs of triangles, (k, 2), whose boxes overlap: a binary tree of boxes over a space-filling order."""
    order = _along_curve(corners.mean(axis=1))
    boxes = [_padded(corners[order])]
    while len(boxes[-1][0]) > 1:
        low, high = boxes[-1]
        boxes.append((low.reshape(-1, 2, 3).min(axis=1), high.reshape(-1, 2, 3).max(axis=1)))
    waiting = [(len(boxes) - 1, np.zeros((1, 2), np.int64))]
    while waiting:
        level, pairs = waiting.pop()
        if len(pairs) > CHUNK:
            waiting += [(level, pairs[CHUNK:])]
            pairs = pairs[:CHUNK]
        low, high = boxes[level]
        i, j = pairs.T
        pairs = pairs[((low[i] <= high[j]) & (low[j] <= high[i])).all(axis=1)]
        if level == 0:
            yield order[pairs]
        elif len(pairs):
            waiting.append((level - 1, _children(pairs, leaves=level == 1)))


def _children(pairs: Pairs, *, leaves: bool) -> Pairs:
    """Return each pair of a node's halves, none twice; of the leaves only those of two different ones."""
    halves = np.concatenate([2 * pairs + half for half in ((0, 0), (0, 1), (1, 0), (1, 1))])
    return halves[halves[:, 0] < halves[:, 1] if leaves else halves[:, 0] <= halves[:, 1]]


def _padded(corners: Points) -> tuple[Points, Points]:
    """Return the boxes, low and high, filled up to a power of two with boxes that meet nothing."""
    missing = (1 << (len(corners) - 1).bit_length()) - len(corners)
    low = np.concatenate([corners.min(axis=1), np.full((missing, 3), np.inf)])
    return low, np.concatenate([corners.max(axis=1), np.full((missing, 3), -np.inf)])


def _along_curve(points: Points) -> Pairs:
    """Return the order of *points* along a Z-shaped curve that fills space (Morton order)."""
    span = np.ptp(points, axis=0).max() or 1.0
    steps = ((points - points.min(axis=0)) / span * CODE).astype(np.int64)
    code = np.zeros(len(points), np.int64)
    for bit in range(CODE.bit_length()):
        for axis in range(3):
            code |= (steps[:, axis] >> bit & 1) << 3 * bit + axis
    order: Pairs = np.argsort(code, kind="stable")
    return order

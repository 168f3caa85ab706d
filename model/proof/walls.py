"""Triangles against an upright box: how deep they go into it, and what it can grow up to.

A box is (6,) float64: its lowest x, y, z, then its highest. A triangle that only touches a box is not in it.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part

Numbers = NDArray[np.float64]

BLOCK = 32  # triangles looked at together
CORNERS = 12  # a triangle cut by six planes has at most nine


class Walls(NamedTuple):
    """Triangles of a closed surface, neighbours next to each other, outward side counter-clockwise."""

    corners: Numbers  # (n, 3, 3)
    spans: Numbers  # (n, 6) upright box around each
    blocks: Numbers  # (⌈n / BLOCK⌉, 6) upright box around each BLOCK of them


def walls(triangles: Numbers) -> Walls:
    """Return *triangles*, (n, 3, 3), n > 0, as Walls, in an order that keeps neighbours together.

    >>> walls(np.array([[[0, 0, 0], [1, 0, 0], [0, 2, 0.5]]])).blocks.tolist()
    [[0.0, 0.0, 0.0, 1.0, 2.0, 0.5]]
    """
    middles = triangles.mean(axis=1)
    spread = np.ptp(middles, axis=0)
    cells = ((middles - middles.min(axis=0)) / np.where(spread > 0, spread, 1.0) * 1023).astype(np.int64)
    places = sum(((cells[:, axis] >> bit) & 1) << (3 * bit + axis) for bit in range(10) for axis in range(3))
    corners = np.ascontiguousarray(triangles[np.argsort(places, kind="stable")], np.float64)
    low, high = corners.min(axis=1), corners.max(axis=1)
    starts = np.arange(0, len(corners), BLOCK)
    blocks = np.hstack([np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)])
    return Walls(corners, np.hstack([low, high]), blocks)


@part
def apart(span: Numbers, box: Numbers) -> bool:
    """Whether two upright boxes have no inner point in common."""
    return bool(
        span[3] <= box[0] or span[0] >= box[3] or span[4] <= box[1] or span[1] >= box[4]
        or span[5] <= box[2] or span[2] >= box[5]
    )  # fmt: skip


@part
def clipped(triangle: Numbers, box: Numbers, polygon: Numbers) -> int:
    """Cut the part of a triangle that lies within *box* into polygon[0], (2, CORNERS, 3); return its corner count."""
    for k in range(3):
        for i in range(3):
            polygon[0, k, i] = triangle[k, i]
    count = int(triangle.shape[0])
    for side in range(6):
        count = _cut(polygon, side & 1, count, side % 3, box[side], 1.0 if side < 3 else -1.0)
        if count == 0:
            return 0
    return count


@part
def _cut(polygon: Numbers, source: int, count: int, axis: int, at: float, sign: float) -> int:
    """Copy what of polygon[source] lies strictly beyond the plane into the other half of *polygon*."""
    target = 1 - source
    kept = 0
    for k in range(count):
        after = k + 1 if k + 1 < count else 0
        here = sign * (polygon[source, k, axis] - at)
        there = sign * (polygon[source, after, axis] - at)
        if here > 0:
            for i in range(3):
                polygon[target, kept, i] = polygon[source, k, i]
            kept += 1
        if (here > 0) != (there > 0):
            share = here / (here - there)
            for i in range(3):
                start = polygon[source, k, i]
                polygon[target, kept, i] = start + share * (polygon[source, after, i] - start)
            polygon[target, kept, axis] = at
            kept += 1
    return kept


@part
def draw_in(box: Numbers, share: float, pad: float, inner: Numbers) -> None:
    """Set *inner* to *box* with each face moved inward by *pad*, then by that share of the way to the middle."""
    for i in range(3):
        step = pad + share * (0.5 * (box[3 + i] - box[i]) - pad)
        inner[i] = box[i] + step
        inner[3 + i] = box[3 + i] - step


@part
def depth(point: Numbers, box: Numbers) -> float:
    """Return how deep a point lies in *box*: 0 on its faces, 1 in the middle, negative outside."""
    least = 1e300
    for i in range(3):
        half = 0.5 * (box[3 + i] - box[i])
        least = min(least, min(point[i] - box[i], box[3 + i] - point[i]) / half)
    return least


@compiled
def deepest(surface: Walls, box: Numbers, least: float, point: Numbers) -> tuple[float, int]:
    """Find the point of any triangle that lies deepest in *box*, to a twentieth of its depth.

    Returns its depth, set in *point*, and its triangle; where none is deeper than *least*, that and −1.
    """
    best, found = least, -1
    inner = np.empty(6)
    polygon = np.empty((2, CORNERS, 3))
    if box[3] <= box[0] or box[4] <= box[1] or box[5] <= box[2]:
        return best, found
    draw_in(box, best, 0.0, inner)
    for block in range(surface.blocks.shape[0]):
        if apart(surface.blocks[block], inner):
            continue
        for t in range(block * BLOCK, min(surface.spans.shape[0], (block + 1) * BLOCK)):
            if not apart(surface.spans[t], inner) and clipped(surface.corners[t], inner, polygon) > 0:
                best, found = _deepened(surface.corners[t], box, best, point, polygon), t
                draw_in(box, best, 0.0, inner)
    return best, found


@part
def _deepened(triangle: Numbers, box: Numbers, least: float, point: Numbers, polygon: Numbers) -> float:
    """Return the depth of the deepest point of a triangle known to go deeper than *least*; set it in *point*."""
    inner = np.empty(6)
    middle = np.empty(3)
    low, high, trial = least, 1.0, least
    while high - low > 0.05 * high + 1e-9:
        draw_in(box, trial, 0.0, inner)
        count = clipped(triangle, inner, polygon)
        if count == 0:
            high = trial
        else:
            for i in range(3):
                middle[i] = 0.0
                for k in range(count):
                    middle[i] += polygon[0, k, i] / count
            low = max(trial, depth(middle, box))
            for i in range(3):
                point[i] = middle[i]
        trial = 0.5 * (low + high)
    return low


@part
def swept(surface: Walls, box: Numbers, side: int, end: float, pad: float) -> float:
    """Return how far out face *side* (0 to 2 low, 3 to 5 high) of a clear box may go before it meets a triangle.

    At most to *end*. Triangles within *pad* of the other faces are taken to slide by.
    """
    axis = side % 3
    polygon = np.empty((2, CORNERS, 3))
    way = np.empty(6)
    draw_in(box, 0.0, pad, way)
    if side < 3:
        way[axis], way[3 + axis] = end, box[axis] + 2 * pad
    else:
        way[axis], way[3 + axis] = box[3 + axis] - 2 * pad, end
    for block in range(surface.blocks.shape[0]):
        if apart(surface.blocks[block], way):
            continue
        for t in range(block * BLOCK, min(surface.spans.shape[0], (block + 1) * BLOCK)):
            if not apart(surface.spans[t], way):
                for k in range(clipped(surface.corners[t], way, polygon)):
                    met = polygon[0, k, axis]
                    way[side] = max(way[side], met) if side < 3 else min(way[side], met)
    return float(way[side])

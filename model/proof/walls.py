"""Triangles against an upright box: how deep they go into it, what it can grow up to, what is inside.

A box is (6,) float64: its lowest x, y, z, then its highest. A triangle that only touches a box is not in it.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part

Numbers = NDArray[np.float64]

BLOCK = 32  # triangles looked at together
CORNERS = 12  # a triangle cut by six planes has at most nine
UNSURE = -99  # a winding number that rounding could change
NEAR = 1e-12  # unit frame, squared: an upward ray this near an edge decides nothing


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


@part
def winding(surface: Walls, point: Numbers) -> int:
    """Return how often the surface winds round a point, by signed crossings of the ray upward; UNSURE near an edge."""
    turns = 0
    for block in range(surface.blocks.shape[0]):
        if _misses(surface.blocks[block], point):
            continue
        for t in range(block * BLOCK, min(surface.spans.shape[0], (block + 1) * BLOCK)):
            if not _misses(surface.spans[t], point):
                crossing = _crossing(surface.corners[t], point)
                if crossing == UNSURE:
                    return UNSURE
                turns += crossing
    return turns


@part
def _misses(span: Numbers, point: Numbers) -> bool:
    """Whether the ray upward from a point cannot meet what is within *span*."""
    return bool(
        span[0] > point[0] or span[3] < point[0] or span[1] > point[1] or span[4] < point[1] or span[5] < point[2]
    )


@part
def _crossing(triangle: Numbers, point: Numbers) -> int:
    """Return 1 where the ray upward from a point leaves through the triangle, −1 where it enters, 0, or UNSURE."""
    low, high, area, height = 1e300, -1e300, 0.0, 0.0
    for k in range(3):
        a, b = triangle[(k + 1) % 3], triangle[(k + 2) % 3]
        turn = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
        low, high = min(low, turn), max(high, turn)
        area += turn
        height += turn * triangle[k, 2]
    if low < -NEAR and high > NEAR:
        return 0
    if low <= NEAR and high >= -NEAR:
        return UNSURE
    above = height / area - point[2]
    if abs(above) < 1e-9:
        return UNSURE
    if above < 0:
        return 0
    return 1 if area > 0 else -1


@part
def middle_within(surface: Walls, box: Numbers, point: Numbers) -> int:
    """Return the winding number of a point near the middle of *box*, set in *point*; UNSURE if several tries are."""
    for k in range(5):
        for i in range(3):
            nudge = 0.0137 * (1.37 * k + 0.618 * i + 0.31)
            point[i] = 0.5 * (box[i] + box[3 + i]) + nudge * (box[3 + i] - box[i])
        turns = winding(surface, point)
        if turns != UNSURE:
            return turns
    return UNSURE


@compiled
def pits(surface: Walls, within: Numbers, count: int) -> Numbers:
    """Return those of count³ points spread evenly over the box *within* that are surely outside the surface, (k, 3)."""
    found = np.empty((count**3, 3))
    point = np.empty(3)
    kept = 0
    for number in range(count**3):
        cell = number
        for i in range(3):
            share = (cell % count + 0.5 + 0.0129 * (i - 0.7)) / count  # a little off, clear of symmetric edges
            point[i] = within[i] + share * (within[3 + i] - within[i])
            cell //= count
        if winding(surface, point) == 0:
            for i in range(3):
                found[kept, i] = point[i]
            kept += 1
    return found[:kept].copy()


@part
def separator(triangle: Numbers, box: Numbers, row: Numbers) -> float:
    """Set *row* to the plane with the widest gap between a clear box and a triangle; return its offset.

    Of the three axes, the triangle's normal and the nine products of axis and edge. The row, (6,), is as in
    `program`: a box keeps to its side of the plane where row · box ≤ offset; the clear box does.
    """
    widest, offset = -1e300, 0.0
    normal = np.empty(3)
    for kind in range(13):
        _direction(triangle, kind, normal)
        size = math.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
        if size < NEAR:
            continue
        for sign in (1.0 / size, -1.0 / size):
            nearest, reach = 1e300, 0.0
            for k in range(3):
                along = normal[0] * triangle[k, 0] + normal[1] * triangle[k, 1] + normal[2] * triangle[k, 2]
                nearest = min(nearest, sign * along)
            for i in range(3):
                reach += sign * normal[i] * (box[3 + i] if sign * normal[i] > 0 else box[i])
            if nearest - reach > widest:
                widest, offset = nearest - reach, max(nearest, reach)
                for i in range(3):
                    row[i], row[3 + i] = min(sign * normal[i], 0.0), max(sign * normal[i], 0.0)
    return offset


@part
def _direction(triangle: Numbers, kind: int, normal: Numbers) -> None:
    """Set *normal* to one of the 13 directions that can part a box and a triangle; zero where that one is none."""
    for i in range(3):
        normal[i] = 1.0 if i == kind else 0.0
    if kind == 3:
        for i in range(3):
            j, k = (i + 1) % 3, (i + 2) % 3
            ahead, aside = triangle[1], triangle[2]
            normal[i] = (ahead[j] - triangle[0, j]) * (aside[k] - triangle[0, k])
            normal[i] -= (ahead[k] - triangle[0, k]) * (aside[j] - triangle[0, j])
    elif kind > 3:
        edge, axis = divmod(kind - 4, 3)
        j, k, end = (axis + 1) % 3, (axis + 2) % 3, (edge + 1) % 3
        normal[j] = triangle[edge, k] - triangle[end, k]
        normal[k] = triangle[end, j] - triangle[edge, j]

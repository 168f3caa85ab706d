"""Inside or outside a closed surface, by the crossings of a ray upward; unsure where rounding could decide."""

import numpy as np

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.walls import BLOCK, Numbers, Walls

UNSURE = -99
NEAR = 1e-12  # unit frame, squared: a ray this near an edge decides nothing
LEVEL = 1e-9  # unit frame: nor does a triangle crossed this near the point


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
    if abs(above) < LEVEL:
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
def told_apart(surface: Walls, within: Numbers, count: int) -> tuple[Numbers, Numbers]:
    """Return those of count³ points spread evenly over the box *within* that are surely outside, and inside, (k, 3)."""
    found = np.empty((count**3, 3))
    point = np.empty(3)
    outside, inside = 0, count**3
    for number in range(count**3):
        cell = number
        for i in range(3):
            share = (cell % count + 0.5 + 0.0129 * (i - 0.7)) / count  # a little off, clear of symmetric edges
            point[i] = within[i] + share * (within[3 + i] - within[i])
            cell //= count
        turns = winding(surface, point)
        if turns == 0 or turns == 1:
            place = outside if turns == 0 else inside - 1
            outside += 1 - turns
            inside -= turns
            for i in range(3):
                found[place, i] = point[i]
    return found[:outside].copy(), found[inside:].copy()

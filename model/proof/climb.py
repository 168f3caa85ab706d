"""Boxes that are clear: one cut down until it is, stretched to the walls, then moved to where it is largest."""

import math

import numpy as np

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.interior import solved
from tapeloft.model.proof.parting import separator
from tapeloft.model.proof.program import NEVER, Halfspaces, Numbers, Wish, log_volume
from tapeloft.model.proof.walls import Walls, deepest, draw_in, swept
from tapeloft.model.proof.winding import middle_within

PAD = 2.5e-7  # unit frame: a box is clear when it is, drawn in by this much
CUTS = 200
CLIMBS = 4
PLANES = 48  # brought in for one move


@compiled
def climbed(surface: Walls, hull: Halfspaces, wish: Wish, reach: Numbers, least: float, box: Numbers) -> float:
    """Make *box* clear of the surface and as large as can be near by; return its log volume drawn in, or NEVER.

    NEVER where none of it is inside the surface, or where what is left is well below *least*.
    """
    point = np.empty(3)
    if not _cut_clear(surface, wish, box) or middle_within(surface, box, point) < 1:
        return NEVER
    _stretch(surface, wish, reach, box)
    if log_volume(box, wish, 1.0) < least - 0.1:
        return NEVER
    for _ in range(CLIMBS):
        if not _moved(surface, hull, wish, reach, box):
            break
        _stretch(surface, wish, reach, box)
    return log_volume(box, wish, 1.0)


@part
def _movable(wish: Wish, side: int) -> bool:
    """Whether a face may move by itself."""
    axis = side % 3
    return math.isnan(wish.size[axis]) and (side > 2 or math.isnan(wish.level[axis]))


@part
def _cut_clear(surface: Walls, wish: Wish, box: Numbers) -> bool:
    """Cut *box* back, each time at the face that costs least, until no triangle goes into it."""
    point, inner = np.empty(3), np.empty(6)
    for _ in range(CUTS):
        if log_volume(box, wish, 1.0) == NEVER:
            return False
        draw_in(box, 0.0, PAD, inner)
        if deepest(surface, inner, 0.0, point)[1] < 0:
            return True
        cheapest, cost = -1, 1.0
        for side in range(6):
            axis = side % 3
            share = abs(point[axis] - box[side]) / (box[3 + axis] - box[axis] - wish.grown[axis])
            if _movable(wish, side) and share < cost:
                cheapest, cost = side, share
        if cheapest < 0:
            return False
        box[cheapest] = point[cheapest % 3]
    return False


@part
def _stretch(surface: Walls, wish: Wish, reach: Numbers, box: Numbers) -> None:
    """Move each face out to the first triangle, twice round."""
    for turn in range(12):
        side = (turn % 2) * 3 + turn // 2 % 3
        if _movable(wish, side):
            end = swept(surface, box, side, reach[side], PAD)
            box[side] = min(box[side], end) if side < 3 else max(box[side], end)


@part
def _moved(surface: Walls, hull: Halfspaces, wish: Wish, reach: Numbers, box: Numbers) -> bool:
    """Move a clear *box* to the largest one that the same planes part from the triangles; False if it stays.

    Planes are brought in as they are needed: of the hull, and between the box as it stands and a triangle met.
    """
    rows, limits, weights = np.empty((PLANES, 6)), np.empty(PLANES), np.empty(PLANES)
    trial, inner, point = np.empty(6), np.empty(6), np.empty(3)
    for count in range(PLANES):
        solved(rows, limits, count, reach, wish, NEVER, 1e-7, trial, weights)
        plane = _most_broken(hull, trial)
        if plane >= 0:
            limits[count] = hull.limits[plane]
            for i in range(6):
                rows[count, i] = hull.rows[plane, i]
            continue
        draw_in(trial, 0.0, PAD, inner)
        triangle = deepest(surface, inner, 0.0, point)[1]
        if triangle < 0:
            break
        limits[count] = separator(surface.corners[triangle], box, rows[count])
    else:
        return False
    if log_volume(trial, wish, 0.0) < log_volume(box, wish, 0.0) + 1e-9 or middle_within(surface, trial, point) < 1:
        return False  # no larger, or carried past a thin wall to the outside
    for i in range(6):
        box[i] = trial[i]
    return True


@part
def _most_broken(hull: Halfspaces, box: Numbers) -> int:
    """Return the half-space that *box* breaks most, −1 for none."""
    worst, found = 1e-8, -1
    for p in range(hull.limits.shape[0]):
        over = -hull.limits[p]
        for i in range(6):
            over += hull.rows[p, i] * box[i]
        if over > worst:
            worst, found = over, p
    return found

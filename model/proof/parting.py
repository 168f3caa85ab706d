"""The planes that can part an upright box and a triangle."""

import math

import numpy as np

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.walls import Numbers

PARTINGS = 26
THIN = 1e-14  # of the longest edge, or of its square: a product smaller than this has no direction
ROUNDING = 2e-15  # on the direction of a normal, for each unit of the square of the longest edge over twice the area


@part
def separator(triangle: Numbers, box: Numbers, row: Numbers) -> float:
    """Set *row* to the plane with the widest gap between a clear box and a triangle; return its offset.

    The row, (6,), is as in `program`: a box keeps to its side of the plane where row · box ≤ offset; this one does.
    """
    widest, offset = -1e300, 0.0
    trial = np.empty(6)
    for kind in range(PARTINGS):
        limit = parting(triangle, kind, trial)
        reach = 0.0
        for i in range(6):
            reach += trial[i] * box[i]
        if limit - reach > widest:
            widest, offset = limit - reach, max(limit, reach)
            for i in range(6):
                row[i] = trial[i]
    return offset


@part
def parting(triangle: Numbers, kind: int, row: Numbers) -> float:
    """Set *row* to one of the planes that can part a box and a triangle; return its offset.

    The box and the triangle have no inner point in common exactly when one of the PARTINGS does, by the separating
    axis theorem: along the axes (0 to 5), the triangle's normal (6, 7), the products of axis and edge (8 to 25), each
    both ways. Where an edge runs along the axis or the triangle has no area, the offset is −1e300: no box is parted.
    The normal of a sliver is known only roughly; its plane is moved outward by what that can make in the unit frame.
    """
    normal = np.empty(3)
    _direction(triangle, kind // 2, normal)
    size = math.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
    length = _longest_edge(triangle)
    scale = length * length if kind // 2 == 3 else length
    if kind > 5 and size <= THIN * scale:
        for i in range(6):
            row[i] = 0.0
        return -1e300
    sign = (1.0 if kind % 2 == 0 else -1.0) / size
    nearest = 1e300
    for k in range(3):
        along = normal[0] * triangle[k, 0] + normal[1] * triangle[k, 1] + normal[2] * triangle[k, 2]
        nearest = min(nearest, sign * along)
    for i in range(3):
        row[i], row[3 + i] = min(sign * normal[i], 0.0), max(sign * normal[i], 0.0)
    return nearest + (ROUNDING * scale / size if kind // 2 == 3 else 0.0)


@part
def _longest_edge(triangle: Numbers) -> float:
    longest = 0.0
    for k in range(3):
        square = 0.0
        for i in range(3):
            square += (triangle[(k + 1) % 3, i] - triangle[k, i]) ** 2
        longest = max(longest, math.sqrt(square))
    return longest


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

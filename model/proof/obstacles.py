"""What a box would swallow: the thing to find a way past, and what each way past it costs the box."""

import numpy as np

from tapeloft.model.proof.climb import PAD
from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.walls import Numbers, Walls, deepest, depth, draw_in
from tapeloft.model.proof.winding import middle_within

NOTHING, POINT = -2, -1  # other than the number of a triangle
SHALLOW = 0.2  # depth below which the middle of the box is looked at too
COARSE = 1.5  # a triangle is passed as a whole where that costs so much more than passing its deepest point


@part
def obstacle(surface: Walls, pits: Numbers, box: Numbers, span: Numbers) -> int:
    """Return what *box* would swallow: a triangle, POINT or NOTHING; set *span*, (6,), to the box round it.

    The deepest point on a triangle, of the *pits*, (n, 3), or, where those are shallow, in the middle of the box if
    that is outside the surface; and the whole triangle of that point where it is coarse.
    """
    inner, point, middle = np.empty(6), np.empty(3), np.empty(3)
    draw_in(box, 0.0, PAD, inner)
    best = _deepest_pit(pits, inner, point)
    found = POINT if best > 0.0 else NOTHING
    best, triangle = deepest(surface, inner, best, point)
    if best < SHALLOW and middle_within(surface, inner, middle) == 0:
        found, triangle = POINT, -1
        for i in range(3):
            point[i] = middle[i]
    for i in range(3):
        span[i] = span[3 + i] = point[i]
    if triangle < 0:
        return found
    if _least_share(box, surface.spans[triangle]) <= COARSE * _least_share(box, span):
        return POINT
    for i in range(6):
        span[i] = surface.spans[triangle, i]
    return triangle


@part
def _deepest_pit(pits: Numbers, box: Numbers, point: Numbers) -> float:
    """Return the depth of the pit deepest in *box*, set in *point*; 0 for none."""
    best = 0.0
    for k in range(pits.shape[0]):
        deep = depth(pits[k], box)
        if deep > best:
            best = deep
            for i in range(3):
                point[i] = pits[k, i]
    return best


@part
def face_share(box: Numbers, span: Numbers, side: int) -> float:
    """Return what share of its side the box loses when face *side* is drawn back past *span*; at most 1."""
    axis = side % 3
    back = span[3 + axis] - box[axis] if side < 3 else box[3 + axis] - span[axis]
    return float(min(1.0, back / (box[3 + axis] - box[axis])))


@part
def _least_share(box: Numbers, span: Numbers) -> float:
    least = 1.0
    for side in range(6):
        least = min(least, face_share(box, span, side))
    return least


@part
def plane_share(box: Numbers, row: Numbers, limit: float) -> float:
    """Return what share of its width along a plane's normal the box loses when drawn back behind it; at most 1."""
    over, width = -limit, 0.0
    for i in range(3):
        over += row[i] * box[i] + row[3 + i] * box[3 + i]
        width += (row[3 + i] - row[i]) * (box[3 + i] - box[i])
    return min(1.0, over / width) if width > 0 else 1.0

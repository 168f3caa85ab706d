"""Where a box can stand: the flats of the sole, and the space over one in which its bottom is borne everywhere."""

import math

import numpy as np

from tapeloft.model.solid import Solid

RESTS = 0.01  # m: a box stands on a sole that is nowhere farther below its bottom than this
LEVEL = math.cos(math.radians(10.0))  # a flat slopes no more
LEAST = 0.01  # m²: a flat smaller than this is none


def flats(solid: Solid, most: int = 5) -> tuple[float, ...]:
    """Return the heights, z in m, of the flats of its sole on which a box can stand level, largest first.

    A flat is what of the sole lies within RESTS of a height and not above it; at least LEAST in area, level within
    ten degrees.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> flats(body(box((0, 0, 0), (2, 1, 1))) - body(box((1.5, -1, -1), (3, 2, 0.25))))
    (0.0, 0.25)
    """
    a, b, c = np.moveaxis(solid.vertices[solid.triangles], 1, 0)
    across = np.cross(b - a, c - a) / 2
    tops, bottoms = np.maximum(np.maximum(a, b), c)[:, 2], np.minimum(np.minimum(a, b), c)[:, 2]
    sole = (-across[:, 2] > LEVEL * np.linalg.norm(across, axis=1)) & (tops - bottoms <= RESTS)
    areas, tops, bottoms = -across[sole, 2], tops[sole], bottoms[sole]
    found: list[float] = []
    while len(tops) and len(found) < most:
        levels = np.unique(tops)
        borne = [areas[(tops <= level) & (bottoms >= level - RESTS)].sum() for level in levels]
        level = levels[int(np.argmax(borne))]
        if max(borne) < LEAST:
            break
        found.append(float(level))
        rest = (tops > level) | (bottoms < level - RESTS)
        areas, tops, bottoms = areas[rest], tops[rest], bottoms[rest]
    return tuple(found)


def room_over(level: float, space: Solid, sole: Solid) -> Solid:
    """Return what of *space* lies above the height *level*, m, less all that is above a drop in *sole*.

    Over a drop the space of *sole* goes on down, unbroken, for more than RESTS below the level. A box that is in the
    room returned and touches its bottom stands on the sole with the whole of its own.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> stepped = body(box((0, 0, 0), (2, 1, 1))) - body(box((1.5, -1, -1), (3, 2, 0.25)))
    >>> room_over(0.25, stepped, stepped).bounds.round(9).tolist()
    [[1.5, 0.0, 0.25], [2.0, 1.0, 1.0]]
    """
    over, _ = space.split((0, 0, 1), level)
    return over - sole.over_drops(level, RESTS)
